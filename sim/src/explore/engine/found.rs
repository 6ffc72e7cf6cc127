//! What an exploration found.

use std::fmt;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::compact::Missed;
use super::reached::Reached;
use super::space::Space;

/// What an exploration found. The same in every run, but for `cost`.
///
/// What is counted of states is counted of pairs of a state and a variant it was reached
/// in, and a transition in each of its variants: the same as if the variant were part of
/// the state.
pub struct Found<S: Space> {
    /// Why it ended.
    pub ended: Ended,
    /// Pairs of state and variant of each level: those first reached by so many transitions. If it did not
    /// end as [`Ended::Whole`], the last level is found but not expanded.
    pub levels: Vec<u64>,
    /// Transitions out of all expanded states, those to known states included.
    pub transitions: u64,
    /// Which checks are broken, and how soon.
    pub broken: Broken,
    /// What the space counted.
    pub tally: S::Tally,
    /// What may have been missed; nothing, if states were kept whole.
    pub missed: Option<Missed>,
    /// The states themselves, if they were kept whole.
    pub reached: Option<Reached<S::State>>,
    /// The part of a file that was resumed from.
    pub resumed: Option<Resumed>,
    /// What it took.
    pub cost: Cost,
}

impl<S: Space> fmt::Debug for Found<S> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Found")
            .field("ended", &self.ended)
            .field("levels", &self.levels)
            .field("transitions", &self.transitions)
            .field("broken", &self.broken)
            .field("missed", &self.missed)
            .field("resumed", &self.resumed)
            .field("cost", &self.cost)
            .finish_non_exhaustive()
    }
}

impl<S: Space> Found<S> {
    /// How many states were found, each counted in each of its variants.
    #[must_use]
    pub fn states(&self) -> u64 {
        self.levels.iter().sum()
    }

    /// The number of transitions to the states farthest from the initial ones.
    #[must_use]
    pub const fn depth(&self) -> usize {
        self.levels.len().saturating_sub(1)
    }
}

/// Why an exploration ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// Every state was found and expanded.
    Whole,
    /// The checks asked for are broken; there may be more states. Not finished.
    Broken,
    /// The next level would hold too many states. Not finished.
    StateLimit,
    /// The next level would take too much memory. Not finished.
    MemoryLimit,
    /// The next level is deeper than allowed. Not finished.
    DepthLimit,
    /// Interrupted from outside. Not finished.
    Interrupted,
}

/// The checks that are broken.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Broken(Vec<(u32, Break)>);

/// How a check is broken first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Break {
    /// The fewest transitions that break it, the breaking one counted.
    pub depth: u32,
    /// How many transitions break it at that depth.
    pub transitions: u64,
}

impl Broken {
    /// How a check is broken, if it is; its bit's number, 0 to 63.
    #[must_use]
    pub fn get(&self, check: u32) -> Option<Break> {
        self.iter()
            .find(|&(bit, _)| bit == check)
            .map(|(_, how)| how)
    }

    /// All broken checks, in the order of their bits.
    pub fn iter(&self) -> impl Iterator<Item = (u32, Break)> {
        self.0.iter().copied()
    }

    /// The bits of all broken checks.
    #[must_use]
    pub fn checks(&self) -> u64 {
        self.iter().fold(0, |bits, (check, _)| bits | 1 << check)
    }

    /// Takes in what broke at a depth, unless it broke earlier.
    pub(super) fn add(&mut self, depth: u32, counts: &[u64; 64]) {
        for (check, &transitions) in (0..).zip(counts) {
            if transitions > 0 && self.get(check).is_none() {
                self.0.push((check, Break { depth, transitions }));
            }
        }
        self.0.sort_unstable_by_key(|&(check, _)| check);
    }
}

/// The part of a file that an exploration resumed from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resumed {
    /// Levels that were whole.
    pub levels: usize,
    /// States in them, each counted in each of its variants.
    pub states: u64,
    /// Bytes after them that were not whole, and dropped.
    pub dropped: u64,
}

/// What an exploration took. Of the run, not of the space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cost {
    /// Threads that worked.
    pub threads: usize,
    /// Time of this run.
    pub elapsed: Duration,
    /// Transitions of this run, without those resumed from.
    pub transitions: u64,
    /// Bytes held at the end, by the visited set and the workers.
    pub bytes: u64,
}

impl Cost {
    /// Transitions per second.
    #[must_use]
    pub fn rate(&self) -> f64 {
        self.transitions as f64 / self.elapsed.as_secs_f64().max(1e-9)
    }
}
