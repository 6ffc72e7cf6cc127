//! What is counted on the way: steps, how often each check was put to the test, and the
//! states and transitions of the sequencer that were seen.

use mastwright_core::State;
use mastwright_core::walk::Choice;
use serde::{Deserialize, Serialize};

use super::checks::CHECKS;
use super::engine;
use super::trouble::{Trouble, Troubles};

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
    /// For each trouble, by its number, what it came to: the first of them where there are
    /// two, none at 0.
    shares: Vec<Share>,
}

/// What the nodes with one trouble came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// States.
    pub states: u64,
    /// Transitions out of them.
    pub transitions: u64,
    /// Steps of the real controller.
    pub steps: u64,
    /// The checks that are broken, one bit each.
    pub broken: u64,
}

impl Share {
    fn add(&mut self, other: Self) {
        self.states += other.states;
        self.transitions += other.transitions;
        self.steps += other.steps;
        self.broken |= other.broken;
    }
}

impl Default for Tally {
    fn default() -> Self {
        Self {
            steps: 0,
            tested: vec![0; CHECKS.len()],
            seen: vec![0; STATES],
            went: vec![0; STATES],
            shares: vec![Share::default(); Trouble::ALL.len() + 1],
        }
    }
}

impl Tally {
    /// What a trouble came to.
    #[must_use]
    pub fn of(&self, trouble: Trouble) -> &Share {
        &self.shares[usize::from(trouble.number())]
    }

    /// Counts what a node with these troubles came to.
    pub fn add(&mut self, troubles: Troubles, share: Share) {
        let [first, _] = troubles.both();
        self.shares[usize::from(first.number())].add(share);
    }

    /// Counts a state of the space.
    pub fn saw(&mut self, state: State) {
        self.seen[usize::from(state.number())] += 1;
    }

    /// True when a state of the sequencer was seen, each safe halt by its reason.
    #[must_use]
    pub fn entered(&self, number: u8) -> bool {
        self.seen[usize::from(number)] > 0 || self.went.iter().any(|to| to >> number & 1 == 1)
    }

    /// Notes a transition of the sequencer, or that it stayed.
    pub fn went(&mut self, from: State, to: State) {
        self.went[usize::from(from.number())] |= 1 << to.number();
    }
}

impl engine::Tally for Tally {
    fn merge(&mut self, other: Self) {
        self.steps += other.steps;
        for (mine, theirs) in self.shares.iter_mut().zip(other.shares) {
            mine.add(theirs);
        }
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
