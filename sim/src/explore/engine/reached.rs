//! The states that an exploration reached, level by level.

use std::fmt;

use super::hash::{Hasher, shard};
use super::shard::ShardLevels;
use super::space::Packed;

/// All reached states with the level each was first reached at.
pub struct Reached<P> {
    shards: Vec<ShardLevels<P>>,
    levels: usize,
    pub(super) hasher: Hasher,
}

impl<P> fmt::Debug for Reached<P> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { levels, .. } = self;
        f.debug_struct("Reached")
            .field("levels", levels)
            .finish_non_exhaustive()
    }
}

impl<P: Packed> Reached<P> {
    pub(super) const fn new(shards: Vec<ShardLevels<P>>, levels: usize, hasher: Hasher) -> Self {
        Self {
            shards,
            levels,
            hasher,
        }
    }

    /// How many levels there are.
    #[must_use]
    pub const fn levels(&self) -> usize {
        self.levels
    }

    /// The states of one level, in parts that can be looked at by many threads. In no
    /// particular order.
    pub fn level(&self, level: usize) -> impl Iterator<Item = &[P]> {
        self.shards.iter().map(move |shard| shard.level(level))
    }

    /// All states, in parts as above. In no particular order.
    pub fn parts(&self) -> impl Iterator<Item = &[P]> {
        self.shards.iter().map(ShardLevels::states)
    }

    /// The fewest transitions from an initial state to this one, if it was reached.
    #[must_use]
    pub fn level_of(&self, state: &P) -> Option<usize> {
        self.shards[shard(self.hasher.hash(state))].level_of(state)
    }

    /// Bytes held.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.shards.iter().map(ShardLevels::bytes).sum()
    }
}
