//! A shard that keeps every state whole: nothing is ever missed.

use std::ops::Range;

use super::entries::Entries;
use super::hash::Hasher;
use super::shard::{Shard, ShardLevels};
use super::space::Packed;
use super::table::Table;
use super::variants::Variants;

/// Each state once, and the levels as lists of numbers of states.
#[derive(Debug)]
pub(super) struct Exact<P> {
    table: Table<P>,
    entries: Entries,
}

impl<P> Default for Exact<P> {
    fn default() -> Self {
        Self {
            table: Table::default(),
            entries: Entries::default(),
        }
    }
}

impl<P: Packed> Shard<P> for Exact<P> {
    fn insert(&mut self, hasher: &Hasher, batch: &[(P, Variants)]) -> u64 {
        let Self { table, entries } = self;
        let mut pairs = 0;
        let hash_of = |state: &P| hasher.hash(state);
        table.insert_all(hash_of, batch, |number, before, new| {
            pairs += new.len();
            entries.note(number, before);
        });
        pairs
    }

    fn entries(&self) -> usize {
        self.entries.last().0.len()
    }

    fn copy_entries(&self, range: Range<usize>, to: &mut Vec<(P, Variants)>) {
        let (numbers, variants) = self.entries.last();
        let entries = numbers[range.clone()].iter().zip(&variants[range]);
        let states = self.table.states();
        to.extend(entries.map(|(&number, variants)| (states[number as usize], *variants)));
    }

    fn advance(&mut self) -> u64 {
        self.entries.complete(self.table.known())
    }

    fn bytes(&self) -> usize {
        self.table.bytes() + self.entries.bytes()
    }

    fn into_levels(self) -> Option<ShardLevels<P>> {
        let (states, known) = self.table.into_lists();
        Some(ShardLevels::from_parts(states, known, self.entries))
    }
}
