//! A part of a space as a graph of numbers.
//!
//! Each state is one node, whatever its variants, and has the transitions of all of them:
//! a way in the graph may change its variant as it goes, where no way in the space does,
//! so what holds of all ways in the graph holds of those in each variant.

use std::collections::HashMap;

use foldhash::fast::FixedState;
use rayon::iter::ParallelIterator;
use rayon::slice::{ParallelSlice, ParallelSliceMut};

use super::space::{Packed, Space};
use super::variants::Variants;

/// Nodes whose edges stand in one list.
const CHUNK: usize = 4096;

/// The states of a part, in order, and the transitions among them: four bytes for each.
pub(super) struct Graph<P> {
    states: Vec<(P, Variants)>,
    chunks: Vec<Edges>,
}

/// The transitions out of some nodes.
struct Edges {
    /// Where each node's successors end in `to`.
    ends: Vec<u32>,
    to: Vec<u32>,
    /// The greatest weight of a transition that leaves the part.
    exits: Vec<Option<u32>>,
}

impl<P: Packed> Graph<P> {
    /// The graph of these states, each given once with all its variants; all others are outside. A transition's weight is
    /// needed here only if it leaves.
    pub(super) fn new<S: Space<State = P>>(
        space: &S,
        mut states: Vec<(P, Variants)>,
        weight: &(impl Fn(&P, &P) -> u32 + Sync),
    ) -> Self {
        states.par_sort_unstable();
        let numbers = (0..)
            .zip(&states)
            .map(|(number, (state, _))| (*state, number));
        let numbers: HashMap<P, u32, FixedState> = numbers.collect();
        let chunks = states.par_chunks(CHUNK);
        let chunks = chunks.map(|states| Edges::new(space, states, &numbers, weight));
        Self {
            chunks: chunks.collect(),
            states,
        }
    }

    /// How many nodes there are.
    pub(super) const fn len(&self) -> usize {
        self.states.len()
    }

    /// The state of a node.
    pub(super) fn state(&self, node: u32) -> &P {
        &self.states[node as usize].0
    }

    /// The variants of a node.
    pub(super) fn variants(&self, node: u32) -> Variants {
        self.states[node as usize].1
    }

    /// The successors of a node inside, in order, each once.
    pub(super) fn successors(&self, node: u32) -> &[u32] {
        let edges = &self.chunks[node as usize / CHUNK];
        let at = node as usize % CHUNK;
        let begin = if at == 0 { 0 } else { edges.ends[at - 1] };
        &edges.to[begin as usize..edges.ends[at] as usize]
    }

    /// The greatest weight of a transition from a node to the outside, if there is one.
    pub(super) fn exit(&self, node: u32) -> Option<u32> {
        self.chunks[node as usize / CHUNK].exits[node as usize % CHUNK]
    }

    /// Whether a state is inside.
    pub(super) fn holds(&self, state: &P) -> bool {
        self.states
            .binary_search_by_key(state, |(state, _)| *state)
            .is_ok()
    }
}

impl Edges {
    fn new<S: Space>(
        space: &S,
        states: &[(S::State, Variants)],
        numbers: &HashMap<S::State, u32, FixedState>,
        weight: &impl Fn(&S::State, &S::State) -> u32,
    ) -> Self {
        let mut edges = Self {
            ends: Vec::with_capacity(states.len()),
            to: Vec::new(),
            exits: Vec::with_capacity(states.len()),
        };
        let (mut tally, mut successors) = (S::Tally::default(), Vec::new());
        for (from, variants) in states {
            let mut exit = None;
            space.expand(
                from,
                *variants,
                &mut tally,
                &mut |to, variants, _| match numbers.get(&to) {
                    _ if variants.is_empty() => {}
                    Some(&number) => successors.push(number),
                    None => exit = exit.max(Some(weight(from, &to))),
                },
            );
            successors.sort_unstable();
            successors.dedup();
            edges.to.append(&mut successors);
            // A chunk's transitions are far fewer than 2^32.
            edges.ends.push(edges.to.len() as u32);
            edges.exits.push(exit);
        }
        edges.to.shrink_to_fit();
        edges
    }
}
