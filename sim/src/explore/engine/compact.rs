//! A shard that keeps only hashes: less memory, and a chance to miss states.
//!
//! A new state whose hash is that of a stored one is taken for it, and missed in the
//! variants in which that one is known, and with it whatever only it leads to. For hashes
//! that spread evenly over `2^k` values, `n` states are free of such a pair with
//! probability `(1 - 1/2^k)(1 - 2/2^k)...(1 - (n-1)/2^k)`, so the chance of one pair or
//! more is at most the sum `0/2^k + 1/2^k + ... + (n-1)/2^k = n(n-1)/2^(k+1)`, which is
//! also the number of pairs to expect (the birthday bound, computed here). No pair: no
//! state missed, and the number found is `n`, or more where states count in several
//! variants; the bound computed from it holds for fewer states too.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::ops::Range;

use super::hash::{Hasher, full, grown, place};
use super::shard::{Shard, ShardLevels};
use super::space::Packed;
use super::variants::Variants;

/// What a compact exploration may have missed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Missed {
    /// Bits of hash that were kept for each state.
    pub bits: u32,
    /// Pairs of states to expect that were taken for one.
    pub expected: f64,
}

impl Missed {
    /// For `states` found with hashes of `bits`.
    #[must_use]
    pub fn of(states: u64, bits: u32) -> Self {
        let n = states as f64;
        let expected = n * (n - 1.0).max(0.0) / 2.0 / f64::from(bits).exp2();
        Self { bits, expected }
    }

    /// The greatest chance that any state was missed, 0 to 1.
    #[must_use]
    pub const fn chance(self) -> f64 {
        self.expected.min(1.0)
    }
}

/// Hashes of all states, each with the variants it is known in; the states themselves only
/// of two levels.
#[derive(Debug)]
pub(super) struct Compact<P> {
    /// Hashes, 0 being an empty place.
    places: Vec<(u64, Variants)>,
    held: usize,
    frontier: Vec<(P, Variants)>,
    fresh: Vec<(P, Variants)>,
    /// Of a hash, where in `fresh` its state is, and the variants it was known in before.
    at: HashMap<u64, (usize, Variants), foldhash::fast::FixedState>,
}

impl<P> Default for Compact<P> {
    fn default() -> Self {
        Self {
            places: Vec::new(),
            held: 0,
            frontier: Vec::new(),
            fresh: Vec::new(),
            at: HashMap::default(),
        }
    }
}

impl<P> Compact<P> {
    /// The variants a hash is known in; none, if it was not in.
    fn known(&mut self, hash: u64) -> &mut Variants {
        if full(self.held, self.places.len()) {
            let more = vec![(0, Variants::EMPTY); grown(self.places.len())];
            for (hash, known) in std::mem::replace(&mut self.places, more) {
                if hash != 0 {
                    let at = find(&self.places, hash);
                    self.places[at] = (hash, known);
                }
            }
        }
        let at = find(&self.places, hash);
        let (held, known) = &mut self.places[at];
        self.held += usize::from(*held == 0);
        *held = hash;
        known
    }
}

/// Where a hash is in a table that has room, or where it belongs.
fn find(places: &[(u64, Variants)], hash: u64) -> usize {
    let mut at = place(hash, places.len());
    while places[at].0 != 0 && places[at].0 != hash {
        at += 1;
        if at == places.len() {
            at = 0;
        }
    }
    at
}

impl<P: Packed> Compact<P> {
    /// Adds a state in some variants; in how many its hash was not known yet.
    ///
    /// Of several states with one hash at one level the smallest is kept, in its own
    /// variants, so that what is missed does not depend on who came first, and nothing is
    /// found that is not there.
    fn add(&mut self, hash: u64, state: P, variants: Variants) -> u64 {
        let known = self.known(hash);
        let so_far = *known;
        *known = so_far | variants;
        let more = variants - so_far;
        match self.at.entry(hash) {
            Entry::Vacant(entry) if !more.is_empty() => {
                entry.insert((self.fresh.len(), so_far));
                self.fresh.push((state, more));
            }
            Entry::Vacant(_) => {}
            Entry::Occupied(entry) => {
                let (at, before) = *entry.get();
                let (new, kept) = (variants - before, &mut self.fresh[at]);
                if kept.0 == state {
                    kept.1 = kept.1 | new;
                } else if state < kept.0 && !new.is_empty() {
                    *kept = (state, new);
                }
            }
        }
        more.len()
    }
}

impl<P: Packed> Shard<P> for Compact<P> {
    fn insert(&mut self, hasher: &Hasher, batch: &[(P, Variants)]) -> u64 {
        let mut pairs = 0;
        for (state, variants) in batch {
            // 0 is an empty place: the two hashes 0 and 1 become one.
            pairs += self.add(hasher.hash(state).max(1), *state, *variants);
        }
        pairs
    }

    fn entries(&self) -> usize {
        self.frontier.len()
    }

    fn copy_entries(&self, range: Range<usize>, to: &mut Vec<(P, Variants)>) {
        to.extend_from_slice(&self.frontier[range]);
    }

    fn advance(&mut self) -> u64 {
        self.frontier = std::mem::take(&mut self.fresh);
        self.at = HashMap::default();
        self.frontier
            .iter()
            .map(|(_, variants)| variants.len())
            .sum()
    }

    fn bytes(&self) -> usize {
        // A general table takes 25 bytes for an entry of 24, and is 7/16 full or more.
        let entries = self.fresh.len() * 25 * 16 / 7;
        let states = (self.fresh.len() + self.frontier.len()) * size_of::<(P, Variants)>();
        self.places.len() * size_of::<(u64, Variants)>() + entries + states
    }

    fn into_levels(self) -> Option<ShardLevels<P>> {
        None
    }
}
