//! What is counted on the way: steps, how often each check was put to the test, and the
//! states and transitions of the sequencer that were seen.

use mastwright_core::State;
use mastwright_core::walk::Choice;
use serde::{Deserialize, Serialize};

use super::cases::{Cases, Several};
use super::checks::CHECKS;
use super::engine;
use super::trouble::Trouble;

const STATES: usize = State::COUNT as usize;
const SHARES: usize = Trouble::ALL.len() + 1;

/// The counts of an exploration.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Steps of the real controller; one that is the same in several cases is one.
    pub steps: u64,
    /// How many of them put each check to the test.
    pub tested: Vec<u64>,
    /// How many states of the space had each state of the sequencer.
    pub seen: Vec<u64>,
    /// For each state of the sequencer, the others it went to, one bit each.
    pub went: Vec<u32>,
    /// For each trouble, by its number, what it came to alone; none at 0.
    shares: Vec<Share>,
}

/// What the nodes with one trouble alone came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// States.
    pub states: u64,
    /// Transitions out of them in which nothing breaks.
    pub transitions: u64,
    /// The checks that are broken, one bit each.
    pub broken: u64,
}

impl Share {
    fn add(&mut self, other: Self) {
        self.states += other.states;
        self.transitions += other.transitions;
        self.broken |= other.broken;
    }
}

/// The transitions out of one node, for each of its cases. Most of them are of the same cases
/// as the one before: those are counted together.
#[derive(Debug)]
pub struct Led {
    shares: [Share; SHARES],
    row: (Cases, Share),
}

impl Default for Led {
    fn default() -> Self {
        Self {
            shares: [Share::default(); SHARES],
            row: (Cases::empty(), Share::default()),
        }
    }
}

impl Led {
    /// Counts a transition in these cases that breaks these checks.
    pub fn count(&mut self, cases: Cases, checks: u64) {
        if self.row.0 != cases {
            self.close();
            self.row.0 = cases;
        }
        self.row.1.transitions += 1;
        self.row.1.broken |= checks;
    }

    fn close(&mut self) {
        let (cases, share) = self.row;
        for case in cases {
            self.shares[usize::from(case.number())].add(share);
        }
        self.row.1 = Share::default();
    }
}

impl Default for Tally {
    fn default() -> Self {
        Self {
            steps: 0,
            tested: vec![0; CHECKS.len()],
            seen: vec![0; STATES],
            went: vec![0; STATES],
            shares: vec![Share::default(); SHARES],
        }
    }
}

impl Tally {
    /// What a trouble came to.
    #[must_use]
    pub fn of(&self, trouble: Trouble) -> &Share {
        &self.shares[usize::from(trouble.number())]
    }

    /// Counts what the cases of a node came to, where what is broken in each is alone.
    pub fn add(&mut self, broken: Several, mut led: Led) {
        led.close();
        if broken.common() != Trouble::None {
            return;
        }
        for case in broken.all() {
            let number = usize::from(case.number());
            let share = Share {
                states: 1,
                ..led.shares[number]
            };
            self.shares[number].add(share);
        }
    }

    /// Counts a state of the space in these cases.
    pub fn saw(&mut self, state: State, cases: Cases) {
        self.seen[usize::from(state.number())] += cases.len() as u64;
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
