//! The states that an exploration reached, level by level.

use std::fmt;

use super::hash::{Hasher, shard};
use super::shard::ShardLevels;
use super::space::Packed;
use super::variants::Variants;

/// All reached states, with the level each was first reached at in each of its variants.
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

    /// The entries of one level: states, each with the variants in which it was first
    /// reached there; in parts that can be looked at by many threads. In no particular
    /// order. A state is on as many levels as there are at which it was reached in
    /// variants that were new.
    pub fn level(
        &self,
        level: usize,
    ) -> impl Iterator<Item = impl ExactSizeIterator<Item = (P, Variants)> + Send> {
        self.shards.iter().map(move |shard| shard.level(level))
    }

    /// All states, each once, with all variants in which it was reached; in parts as
    /// above. In no particular order.
    pub fn parts(
        &self,
    ) -> impl Iterator<Item = impl ExactSizeIterator<Item = (P, Variants)> + Send> {
        self.shards.iter().map(ShardLevels::states)
    }

    /// The variants in which a state was reached.
    #[must_use]
    pub fn variants_of(&self, state: &P) -> Variants {
        self.shards[shard(self.hasher.hash(state))].variants_of(state)
    }

    /// The fewest transitions from an initial state to this one in this variant, if it was
    /// reached.
    #[must_use]
    pub fn level_of(&self, state: &P, variant: u8) -> Option<usize> {
        self.shards[shard(self.hasher.hash(state))].level_of(state, variant)
    }

    /// Bytes held.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.shards.iter().map(ShardLevels::bytes).sum()
    }
}
