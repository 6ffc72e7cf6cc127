//! A part of the set of visited states: those whose hash begins alike.

use std::ops::Range;

use super::entries::Entries;
use super::hash::Hasher;
use super::space::Packed;
use super::variants::Variants;

/// How many searches are begun together: enough that their waits for memory overlap.
pub(super) const ABREAST: usize = 16;

/// A part of the visited set, and of the levels that states were first found at, in each
/// of their variants.
///
/// What it holds, and how much memory it takes, depends only on which states it was
/// given in which variants at which level, never on their order: that makes results the
/// same at any thread count.
pub(super) trait Shard<P>: Default + Send {
    /// Adds what is new of `batch` to the level being filled; how many pairs of state and
    /// variant.
    fn insert(&mut self, hasher: &Hasher, batch: &[(P, Variants)]) -> u64;

    /// How many entries the last complete level has: states, each with the variants that
    /// were new at it.
    fn entries(&self) -> usize;

    /// Appends some entries of the last complete level to a list.
    fn copy_entries(&self, range: Range<usize>, to: &mut Vec<(P, Variants)>);

    /// Completes the level being filled; how many pairs of state and variant it has.
    fn advance(&mut self) -> u64;

    /// Bytes held.
    fn bytes(&self) -> usize;

    /// All complete levels, for a search backwards; none if they were not kept.
    fn into_levels(self) -> Option<ShardLevels<P>>;
}

/// The states of a shard, each with all its variants, and its entries level after level.
#[derive(Clone, Debug)]
pub(super) struct ShardLevels<P> {
    states: Vec<P>,
    known: Vec<Variants>,
    entries: Entries,
}

impl<P: Packed> ShardLevels<P> {
    /// The entries of one level.
    pub(super) fn level(
        &self,
        level: usize,
    ) -> impl ExactSizeIterator<Item = (P, Variants)> + Send {
        let (numbers, variants) = self.entries.level(level);
        let entries = numbers.iter().zip(variants);
        entries.map(|(&number, variants)| (self.states[number as usize], *variants))
    }

    /// All states.
    pub(super) fn states(&self) -> impl ExactSizeIterator<Item = (P, Variants)> + Send {
        self.states.iter().copied().zip(self.known.iter().copied())
    }

    /// The variants in which a state was reached.
    pub(super) fn variants_of(&self, state: &P) -> Variants {
        let number = self.number_of(state);
        number.map_or(Variants::EMPTY, |number| self.known[number])
    }

    /// The level at which a state was first reached in a variant.
    pub(super) fn level_of(&self, state: &P, variant: u8) -> Option<usize> {
        // A table's numbers have 24 bits.
        let number = self.number_of(state)? as u32;
        self.entries.level_of(number, variant)
    }

    fn number_of(&self, state: &P) -> Option<usize> {
        self.states.iter().position(|known| known == state)
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.states.capacity() * size_of::<P>()
            + self.known.capacity() * size_of::<Variants>()
            + self.entries.bytes()
    }

    /// Of a shard's lists; the level being filled is dropped.
    pub(super) fn from_parts(
        mut states: Vec<P>,
        mut known: Vec<Variants>,
        mut entries: Entries,
    ) -> Self {
        let complete = entries.withdraw(&mut known);
        states.truncate(complete);
        known.truncate(complete);
        Self {
            states,
            known,
            entries,
        }
    }
}
