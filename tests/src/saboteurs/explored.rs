//! Saboteurs in place of the real controller in the exploration.
//!
//! Responsibilities:
//! 1. Explore a saboteur until it breaks a check, and say how few steps that took; the
//!    honest controller must break none in as few.
//! 2. Which fault shows a saboteur, where it takes one, and which saboteurs cannot show
//!    in the abstract world by their nature.

use mastwright_core::config::Config;
use mastwright_core::{Inputs, Outputs, Sequencer};
use mastwright_sim::explore::checks::CHECKS;
use mastwright_sim::explore::engine::{Limits, Options, Stop, explore};
use mastwright_sim::explore::space::{Aircraft, Explored};
use mastwright_sim::explore::trouble::Trouble;

use super::Tamper;
use super::flown::tampered_limits;
use crate::sight::beside;

/// Most states that are looked at for one saboteur.
const STATES: u64 = 150_000;

/// What a saboteur breaks in the exploration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The checks that the shortest counterexamples break.
    pub broke: Vec<&'static str>,
    /// Their length.
    pub steps: u32,
    /// What is broken in them, if anything is.
    pub trouble: Option<Trouble>,
}

/// The real controller tampered with, without limits of its own: those come from the
/// space.
#[derive(Clone, Debug)]
struct Explorer<T> {
    real: Sequencer,
    tamper: T,
}

impl<T: Tamper> Explored for Explorer<T> {
    type Mind = u64;

    fn limits(config: &Config) -> Config {
        tampered_limits::<T>(config)
    }

    fn recall(real: Sequencer, mind: u64) -> Self {
        let tamper = T::from_mind(mind);
        Self { real, tamper }
    }

    fn memory(&self) -> (Sequencer, u64) {
        (self.real, self.tamper.mind())
    }

    fn step(&mut self, told: &Inputs, config: &Config) -> Outputs {
        self.tamper.step(&mut self.real, told, config)
    }
}

/// Explores a saboteur, first with nothing broken, then with each trouble of its own, until
/// it breaks one of the requirements that `breaks` names; any, if the exploration judges
/// none of them.
#[must_use]
pub fn look<T: Tamper>(name: &str, breaks: &[&str]) -> Option<Shown> {
    let own = bits(|id| breaks.contains(&id));
    let wanted = if own == 0 { bits(|_| true) } else { own };
    let troubles = beside(TROUBLES, name).unwrap_or_default();
    let sound = [None].into_iter().filter(|_| troubles.is_empty());
    let settings = sound.chain(troubles.iter().copied().map(Some));
    for trouble in settings {
        let Some((steps, broke)) = first::<Explorer<T>>(trouble, wanted, None) else {
            continue;
        };
        let honest = first::<Sequencer>(trouble, broke, Some(steps));
        if honest.is_none() {
            return Some(Shown {
                broke: names(broke),
                steps,
                trouble,
            });
        }
    }
    None
}

/// The first breach of `wanted`: after how many steps, and all that breaks there.
fn first<C: Explored>(
    trouble: Option<Trouble>,
    wanted: u64,
    depth: Option<u32>,
) -> Option<(u32, u64)> {
    let among: Vec<Trouble> = trouble.into_iter().collect();
    let space = Aircraft::<C>::new(&Config::default(), among.len(), among);
    let options = Options {
        threads: 1,
        stop: Stop::Any(wanted),
        limits: Limits {
            states: Some(STATES),
            depth,
            ..Limits::default()
        },
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |_| {}).expect("no file is used");
    let steps = found
        .broken
        .iter()
        .filter(|(bit, _)| wanted & 1 << bit != 0)
        .map(|(_, how)| how.depth)
        .min()?;
    let broke = found.broken.iter();
    let broke = broke.filter(|(bit, how)| how.depth == steps && wanted & 1 << bit != 0);
    Some((steps, broke.fold(0, |bits, (bit, _)| bits | 1 << bit)))
}

fn bits(wanted: impl Fn(&str) -> bool) -> u64 {
    let checks = CHECKS.iter().enumerate();
    let wanted = checks.filter(|(_, check)| wanted(check.id));
    wanted.fold(0, |bits, (bit, _)| bits | 1 << bit)
}

fn names(bits: u64) -> Vec<&'static str> {
    let checks = CHECKS.iter().enumerate();
    let chosen = checks.filter(|(bit, _)| bits & 1 << bit != 0);
    chosen.map(|(_, check)| check.id).collect()
}

/// Saboteurs that show only when something is broken, and what.
pub const TROUBLES: &[(&str, &[Trouble])] = &[
    ("misses-lost-lock", &[Trouble::SpindleFree]),
    ("trusts-one-angle", &[Trouble::AngleA]),
    ("blind-to-insulation", &[Trouble::InsulationLow]),
    ("believes-stale", &[Trouble::LockSwitch]),
    ("trusts-one-track", &[Trouble::ThrottleB]),
    ("trusts-position", &[Trouble::StowedSwitch]),
    ("hides-contradiction", &[Trouble::StowedSwitch]),
    ("pushes-on", &[Trouble::MastStuck]),
    ("moves-in-halt", &[Trouble::StowedSwitch]),
    ("never-late", &[Trouble::LateTicks]),
    ("forgets-on-press", &[Trouble::StowedSwitch]),
    ("never-sounds", &[Trouble::StowedSwitch]),
    ("blind-to-weld", &[Trouble::MainWelded]),
    ("closes-on-fault", &[Trouble::MainWelded]),
];

/// Saboteurs that the exploration cannot see, and why.
pub const OUT_OF_REACH: &[(&str, &str)] = &[
    ("short-rest", NO_TIME),
    ("patient", NO_TIME),
    (
        "feels-no-current",
        "an overload never felt is a time that never runs out",
    ),
    (
        "forgets-in-time",
        "its two seconds are 200 steps, more than are gone",
    ),
    ("waits-for-ever", ONE_STEP),
    ("ignores-stow", ONE_STEP),
    ("shows-stowed", ONE_STEP),
    (
        "hides-fans",
        "fans and rates of rise are not in the abstract world",
    ),
    (
        "deaf-to-heat",
        "the heat warning is apart from the controller",
    ),
    (
        "dies-with-power",
        "the heat warning is apart from the controller",
    ),
    ("stays-halted", ONE_STEP),
    (
        "indexes-blindly",
        "each reading is one of a class, none is out of range",
    ),
    (
        "adds-blindly",
        "each reading is one of a class, none is out of range",
    ),
    (
        "never-looks-at-the-clock",
        "a board; the exploration is of the controller",
    ),
    (
        "keeps-one-slot",
        "a journal; the exploration is of the controller",
    ),
    (
        "keeps-no-checksum",
        "a journal; the exploration is of the controller",
    ),
];

const NO_TIME: &str = "wrong in a time, and the abstract world has none";
const ONE_STEP: &str = "what it breaks shows along a way, not in one step";
