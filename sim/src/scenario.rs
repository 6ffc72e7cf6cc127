//! Scenarios: a start, a pilot, faults, and what must come of it.
//!
//! A scenario is a TOML file. Whatever is wrong with one is refused with the file,
//! the line, the column and a remedy; a key that is not known is wrong. The format is
//! described in `docs/scenario-format.md`.

pub mod deed;
pub mod expect;
pub(crate) mod file;
pub mod injection;
pub mod moment;
pub mod problem;
pub mod quantity;
pub mod script;
pub(crate) mod setup;
pub mod shipped;
pub mod words;

use std::path::Path;

use mastwright_core::Config;

use crate::frame::TICK;
use crate::lesson::section::Section;
use crate::plant;
use deed::Deed;
use expect::Expect;
use injection::Injection;
use moment::Moment;
use problem::Problem;

/// Longest scenario, s.
pub const LONGEST: f64 = 7200.0;
/// Greatest magnitude of a number in a moment.
const MAGNITUDE: f64 = 1.0e6;

/// A checked scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Its name: that of its file, without the ending.
    pub name: String,
    /// One line.
    pub title: String,
    /// What the reader should know before it runs.
    pub briefing: String,
    /// Its file, as it stands.
    pub text: String,
    /// Seed of everything random in it.
    pub seed: u64,
    /// Its length in ticks.
    pub ticks: u64,
    /// Where it starts.
    pub setup: plant::setup::Setup,
    /// The controller's limits.
    pub config: Config,
    /// What the pilot and crew do.
    pub actions: Vec<Action>,
    /// What fails.
    pub faults: Vec<Injection>,
    /// What must come of it.
    pub expect: Expect,
    /// What it teaches, if it is a lesson.
    pub lesson: Option<Section>,
}

/// Something done at its time.
#[derive(Clone, Debug, PartialEq)]
pub struct Action {
    /// When.
    pub cue: Cue,
    /// What.
    pub deed: Deed,
    /// What, in the words of the scenario.
    pub words: String,
}

/// When something begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    /// The time or the moment.
    pub start: Start,
    /// Ticks to wait after it.
    pub delay: u64,
}

/// A time or a moment.
#[derive(Clone, Debug, PartialEq)]
pub enum Start {
    /// A tick, counted from the start.
    At(u64),
    /// The first time the moment comes.
    When(Moment),
}

impl Scenario {
    /// Reads a scenario from its text; `file` names it in errors.
    ///
    /// # Errors
    /// The first thing wrong with it, its place and a remedy.
    pub fn parse(file: &str, text: &str) -> Result<Self, Problem> {
        let name = Path::new(file).file_stem().map_or_else(
            || file.to_owned(),
            |stem| stem.to_string_lossy().into_owned(),
        );
        file::read(name, text).map_err(|complaint| Problem::new(file, text, complaint))
    }
}

/// Whole ticks in so many seconds, rounded to the nearest. Not negative.
#[must_use]
pub fn ticks(seconds: f64) -> u64 {
    let ticks = (seconds / TICK).round();
    debug_assert!(ticks >= 0.0, "times are checked before they are counted");
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float to integer conversion saturates"
    )]
    let ticks = ticks as u64;
    ticks
}
