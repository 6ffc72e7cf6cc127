//! A part of the set of visited states: those whose hash begins alike.

use super::hash::Hasher;
use super::space::Packed;

/// How many searches are begun together: enough that their waits for memory overlap.
pub(super) const ABREAST: usize = 16;

/// A part of the visited set, and of the levels that states were first found at.
///
/// What it holds, and how much memory it takes, depends only on which states it was
/// given at which level, never on their order: that makes results the same at any
/// thread count.
pub(super) trait Shard<P>: Default + Send {
    /// Adds the states of `batch` that are new to the level being filled; how many.
    fn insert(&mut self, hasher: &Hasher, batch: &[P]) -> usize;

    /// The states of the last complete level.
    fn frontier(&self) -> &[P];

    /// The states of the level being filled.
    fn fresh(&self) -> &[P];

    /// Completes the level being filled: it becomes the frontier.
    fn advance(&mut self);

    /// Bytes held.
    fn bytes(&self) -> usize;

    /// All complete levels, for a search backwards; none if they were not kept.
    fn into_levels(self) -> Option<ShardLevels<P>>;
}

/// The states of a shard, level after level.
#[derive(Clone, Debug)]
pub(super) struct ShardLevels<P> {
    states: Vec<P>,
    /// Where each level begins; a level ends where the next begins.
    starts: Vec<u32>,
}

impl<P: Packed> ShardLevels<P> {
    /// The states of one level.
    pub(super) fn level(&self, level: usize) -> &[P] {
        &self.states[self.starts[level] as usize..self.starts[level + 1] as usize]
    }

    /// All states.
    pub(super) fn states(&self) -> &[P] {
        &self.states
    }

    /// The level at which a state was found.
    pub(super) fn level_of(&self, state: &P) -> Option<usize> {
        let at = self.states.iter().position(|known| known == state)?;
        Some(self.starts.partition_point(|&start| start as usize <= at) - 1)
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.states.capacity() * size_of::<P>() + self.starts.capacity() * size_of::<u32>()
    }

    pub(super) fn from_parts(mut states: Vec<P>, starts: Vec<u32>) -> Self {
        states.truncate(starts.last().map_or(0, |&end| end as usize));
        Self { states, starts }
    }
}
