//! A graph drawn by hand, or by chance: any numbers, any edges.

use std::collections::BTreeMap;

use mastwright_sim::explore::engine::{Space, Tally, Variants};
use serde::{Deserialize, Serialize};

/// The states are numbers; the space begins in 0.
#[derive(Clone, Debug, Default)]
pub struct Drawn {
    /// Edges from and to, each with its weight and the checks it breaks.
    pub edges: BTreeMap<(u32, u32), (u32, u64)>,
}

/// How often states were expanded, and the sum of their numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Expanded {
    /// How often.
    pub times: u64,
    /// The sum.
    pub sum: u64,
}

impl Tally for Expanded {
    fn merge(&mut self, other: Self) {
        self.times += other.times;
        self.sum += other.sum;
    }
}

impl Drawn {
    /// A graph of weighted edges that break nothing.
    #[must_use]
    pub fn weighted(edges: &[(u32, u32, u32)]) -> Self {
        let edges = edges.iter();
        Self {
            edges: edges
                .map(|&(from, to, weight)| ((from, to), (weight, 0)))
                .collect(),
        }
    }

    /// A graph of edges that break checks.
    #[must_use]
    pub fn breaking(edges: &[(u32, u32, u64)]) -> Self {
        let edges = edges.iter();
        Self {
            edges: edges
                .map(|&(from, to, checks)| ((from, to), (0, checks)))
                .collect(),
        }
    }

    /// The weight of an edge that is there.
    #[must_use]
    pub fn weight(&self, from: u32, to: u32) -> u32 {
        self.edges[&(from, to)].0
    }
}

impl Space for Drawn {
    type State = u32;
    type Tally = Expanded;

    fn initial(&self, found: &mut impl FnMut(u32, Variants)) {
        found(0, Variants::FIRST);
    }

    fn expand(
        &self,
        state: &u32,
        variants: Variants,
        tally: &mut Expanded,
        found: &mut impl FnMut(u32, Variants, u64),
    ) {
        tally.times += 1;
        tally.sum += u64::from(*state);
        for (&(_, to), &(_, checks)) in self.edges.range((*state, 0)..=(*state, u32::MAX)) {
            found(to, variants, checks);
        }
    }
}
