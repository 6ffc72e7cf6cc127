//! The same questions, put to the exploration of the real controller and of four that are
//! wrong on purpose.

use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::checks;
use mastwright_sim::explore::engine::{Ended, Limits, Options, Stop, explore};
use mastwright_sim::explore::explored::Explored as Controller;
use mastwright_sim::explore::space::Aircraft;

use super::{CHECKS, Case};
use crate::wrong::Number;

/// What an exploration found.
#[derive(Clone, Debug, PartialEq)]
pub struct Explored {
    /// Every state was found, and none of the checks is broken. None: not every state was
    /// found, and none of the checks was broken in those that were.
    pub holds: Option<bool>,
    /// The checks that are broken first, and at which depth.
    pub broken: Vec<(&'static str, u32)>,
    /// States found.
    pub states: u64,
    /// Transitions.
    pub transitions: u64,
    /// Time, s.
    pub seconds: f64,
    /// Transitions per second.
    pub rate: f64,
}

fn asked<C: Controller>(case: &Case, most: u64) -> Explored {
    let among: Vec<_> = case.trouble.into_iter().collect();
    let space = Aircraft::<C>::new(&Config::default(), among.len(), among);
    let bits = checks::CHECKS
        .iter()
        .enumerate()
        .filter(|(_, check)| CHECKS.contains(&check.id))
        .fold(0, |bits, (number, _)| bits | 1 << number);
    let options = Options {
        stop: Stop::Any(bits),
        limits: Limits {
            states: Some(most),
            ..Limits::default()
        },
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |_| ()).expect("no file is in use");
    let broken: Vec<_> = found
        .broken
        .iter()
        .filter(|&(check, _)| bits & 1 << check != 0)
        .map(|(check, how)| (checks::CHECKS[check as usize].id, how.depth))
        .collect();
    Explored {
        holds: match (broken.is_empty(), found.ended) {
            (false, _) => Some(false),
            (true, Ended::Whole) => Some(true),
            (
                true,
                Ended::Broken
                | Ended::StateLimit
                | Ended::MemoryLimit
                | Ended::DepthLimit
                | Ended::Interrupted,
            ) => None,
        },
        broken,
        states: found.states(),
        transitions: found.transitions,
        seconds: found.cost.elapsed.as_secs_f64(),
        rate: found.cost.rate(),
    }
}

/// The real controller.
#[must_use]
pub fn sound(case: &Case, most: u64) -> Explored {
    asked::<Sequencer>(case, most)
}

/// Number `N` of the wrong controllers.
#[must_use]
pub fn wrong<const N: usize>(case: &Case, most: u64) -> Explored {
    asked::<Number<N>>(case, most)
}
