//! What one picture of the screen shows: plain borrowed data, nothing that moves.
//!
//! Responsibilities:
//! 1. Hold all that [`super::draw`] needs, so that the same view gives the same picture.
//! 2. Belong to whoever flies: the screen keeps nothing between two pictures but the
//!    clickable areas of the last one.

use mastwright_core::Config;

use super::theme::Theme;
use crate::frame::Frame;
use crate::report::timeline::Entry;

/// Everything shown in one picture.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The tick shown: truth, hands, inputs and outputs.
    pub frame: &'a Frame,
    /// The controller's limits.
    pub config: &'a Config,
    /// How some figures came to be what they are, up to the tick shown.
    pub trends: Trends<'a>,
    /// What happened on this branch, in order; what lies after the tick shown (rewound)
    /// may be among it and is told apart by its time.
    pub tape: &'a [Entry],
    /// Where the session stands.
    pub session: Session<'a>,
    /// Truth and belief side by side.
    pub compare: bool,
    /// Injected faults are hidden: this is the trainee's screen, not the trainer's.
    pub trainee: bool,
    /// The lesson being flown.
    pub lesson: Option<Lesson<'a>>,
    /// Caption of the demonstration.
    pub caption: Option<&'a str>,
    /// What the program itself has to say, such as that a file could not be written.
    pub notice: Option<&'a str>,
    /// What lies over the flight.
    pub overlay: Overlay<'a>,
    /// Keys worth knowing now: key, what it does. As many are shown as there is room for,
    /// the first first.
    pub hints: &'a [(String, String)],
    /// Colours and signs.
    pub theme: Theme,
}

/// Samples taken at equal distances, the latest last. Each may be empty.
#[derive(Clone, Copy, Debug, Default)]
pub struct Trends<'a> {
    /// Time between two samples, s.
    pub every: f64,
    /// Motor windings, deg C.
    pub motor: &'a [f32],
    /// Motor controller, deg C.
    pub controller: &'a [f32],
    /// Hottest cell of each pack, deg C.
    pub packs: [&'a [f32]; 2],
    /// Charge of each pack, 0 to 1.
    pub charge: [&'a [f32]; 2],
    /// Bus voltage, V.
    pub bus: &'a [f32],
    /// Shaft speed, rpm.
    pub shaft: &'a [f32],
}

/// How time passes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Speed {
    /// It stands still.
    Paused,
    /// So many times as fast as the clock.
    Times(f64),
}

/// Where the session stands.
#[derive(Clone, Copy, Debug)]
pub struct Session<'a> {
    /// Name of the scenario.
    pub scenario: &'a str,
    /// How time passes.
    pub speed: Speed,
    /// The earliest tick that can be gone back to: what lies before it in a long flight
    /// was forgotten.
    pub earliest: u64,
    /// The latest tick there is on this branch; the tick shown is `View::frame`'s.
    pub latest: u64,
    /// The tick at which the scenario ends, if it does.
    pub end: Option<u64>,
    /// Number of the branch, counted from 1.
    pub branch: u32,
    /// The tick at which this branch left the one before it.
    pub branched_at: Option<u64>,
}

/// A lesson under way.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lesson<'a> {
    /// Its title.
    pub title: &'a str,
    /// The step asked for now, counted from 1, and how many there are.
    pub step: Option<(usize, usize)>,
    /// What to read before it begins; shown over the flight while it is given.
    pub briefing: Option<&'a str>,
    /// What is asked for now.
    pub cue: Option<&'a str>,
    /// Time left for it, s.
    pub left: Option<f64>,
    /// A hint, once asked for or due.
    pub hint: Option<&'a str>,
}

/// What lies over the flight.
#[derive(Clone, Copy, Debug, Default)]
pub enum Overlay<'a> {
    /// Nothing.
    #[default]
    None,
    /// Every key, from the table of keys.
    Help(Help<'a>),
    /// The fault desk.
    Desk(Desk<'a>),
    /// What was done when, after a lesson or demonstration.
    Debrief(Debrief<'a>),
}

/// The help.
#[derive(Clone, Copy, Debug, Default)]
pub struct Help<'a> {
    /// Keys and what they do. A row without keys is a heading.
    pub rows: &'a [(String, String)],
    /// Rows scrolled past.
    pub scroll: usize,
}

/// The fault desk.
#[derive(Clone, Copy, Debug, Default)]
pub struct Desk<'a> {
    /// What is searched for.
    pub search: &'a str,
    /// The faults that match.
    pub rows: &'a [DeskRow<'a>],
    /// How many faults there are in all.
    pub total: usize,
    /// How the chosen fault would begin, last and how strong it is, in words.
    pub order: &'a str,
    /// The list in which a row is chosen.
    pub focus: DeskList,
    /// The row chosen in that list.
    pub selected: usize,
    /// Faults that wait for their moment, in words.
    pub armed: &'a [String],
    /// Faults that act now, in words.
    pub active: &'a [String],
}

/// One fault there is.
#[derive(Clone, Copy, Debug, Default)]
pub struct DeskRow<'a> {
    /// Its name, target and kind.
    pub name: &'a str,
    /// What it is, in words.
    pub words: &'a str,
}

/// The lists of the fault desk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DeskList {
    /// Faults that match the search.
    #[default]
    Matches,
    /// Faults that wait for their moment.
    Armed,
    /// Faults that act.
    Active,
}

/// Pages of text. A line that begins with `# ` is a heading; one that begins with
/// `yes ` or `NO ` tells that something held or did not.
#[derive(Clone, Copy, Debug, Default)]
pub struct Debrief<'a> {
    /// Its title.
    pub title: &'a str,
    /// The pages.
    pub pages: &'a [String],
    /// The page shown, counted from 0.
    pub page: usize,
    /// Lines scrolled past.
    pub scroll: usize,
}
