//! What is counted on the way: steps, how often each check was put to the test, and the
//! states and transitions of the sequencer that were seen.

use mastwright_core::State;
use mastwright_core::walk::Choice;
use serde::{Deserialize, Serialize};

use super::checks::CHECKS;
use super::engine;

const STATES: usize = State::COUNT as usize;

/// The counts of an exploration.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Steps of the real controller.
    pub steps: u64,
    /// How many of them put each check to the test.
    pub tested: Vec<u64>,
    /// How many states of the space had each state of the sequencer.
    pub seen: Vec<u64>,
    /// For each state of the sequencer, the others it went to, one bit each.
    pub went: Vec<u32>,
}

impl Default for Tally {
    fn default() -> Self {
        Self {
            steps: 0,
            tested: vec![0; CHECKS.len()],
            seen: vec![0; STATES],
            went: vec![0; STATES],
        }
    }
}

impl Tally {
    /// Counts a state of the space.
    pub fn saw(&mut self, state: State) {
        self.seen[usize::from(state.number())] += 1;
    }

    /// Notes a transition of the sequencer, or that it stayed.
    pub fn went(&mut self, from: State, to: State) {
        self.went[usize::from(from.number())] |= 1 << to.number();
    }
}

impl engine::Tally for Tally {
    fn merge(&mut self, other: Self) {
        self.steps += other.steps;
        for (mine, theirs) in self.tested.iter_mut().zip(other.tested) {
            *mine += theirs;
        }
        for (mine, theirs) in self.seen.iter_mut().zip(other.seen) {
            *mine += theirs;
        }
        for (mine, theirs) in self.went.iter_mut().zip(other.went) {
            *mine |= theirs;
        }
    }
}
