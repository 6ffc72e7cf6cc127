//! A shard that keeps every state whole: nothing is ever missed.

use super::hash::Hasher;
use super::shard::{Shard, ShardLevels};
use super::space::Packed;
use super::table::Table;

/// States in the order of their levels, so that the set is the list of levels too.
#[derive(Debug)]
pub(super) struct Exact<P> {
    table: Table<P>,
    starts: Vec<u32>,
}

impl<P> Default for Exact<P> {
    fn default() -> Self {
        Self {
            table: Table::default(),
            starts: vec![0],
        }
    }
}

impl<P> Exact<P> {
    fn filling(&self) -> usize {
        self.starts.last().map_or(0, |&start| start as usize)
    }
}

impl<P: Packed> Shard<P> for Exact<P> {
    fn insert(&mut self, hasher: &Hasher, batch: &[P]) -> usize {
        let before = self.table.states().len();
        self.table.insert_all(|state| hasher.hash(state), batch);
        self.table.states().len() - before
    }

    fn frontier(&self) -> &[P] {
        let begin = self.starts.iter().rev().nth(1).copied().unwrap_or(0);
        &self.table.states()[begin as usize..self.filling()]
    }

    fn fresh(&self) -> &[P] {
        &self.table.states()[self.filling()..]
    }

    fn advance(&mut self) {
        // A table's numbers have 24 bits.
        self.starts.push(self.table.states().len() as u32);
    }

    fn bytes(&self) -> usize {
        self.table.bytes() + self.starts.len() * size_of::<u32>()
    }

    fn into_levels(self) -> Option<ShardLevels<P>> {
        Some(ShardLevels::from_parts(
            self.table.into_states(),
            self.starts,
        ))
    }
}
