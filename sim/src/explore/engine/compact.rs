//! A shard that keeps only hashes: less memory, and a chance to miss states.
//!
//! A new state whose hash is that of a stored one is taken for it, and missed, and with
//! it whatever only it leads to. For hashes that spread evenly over `2^k` values, `n`
//! states are free of such a pair with probability
//! `(1 - 1/2^k)(1 - 2/2^k)...(1 - (n-1)/2^k)`, so the chance of one pair or more is at
//! most the sum `0/2^k + 1/2^k + ... + (n-1)/2^k = n(n-1)/2^(k+1)`, which is also the
//! number of pairs to expect (the birthday bound, computed here). No pair: no state
//! missed, and `n` is then the number found.

use std::collections::HashMap;

use super::hash::{Hasher, full, grown, place};
use super::shard::{Shard, ShardLevels};
use super::space::Packed;

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

/// Hashes of all states; the states themselves only of two levels.
#[derive(Debug)]
pub(super) struct Compact<P> {
    /// Hashes, 0 being an empty place.
    places: Vec<u64>,
    held: usize,
    frontier: Vec<P>,
    fresh: Vec<P>,
    /// Where in `fresh` the state of a hash is.
    at: HashMap<u64, usize, foldhash::fast::FixedState>,
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
    /// Adds a hash; whether it is new.
    fn add(&mut self, hash: u64) -> bool {
        if full(self.held, self.places.len()) {
            let more = vec![0; grown(self.places.len())];
            for hash in std::mem::replace(&mut self.places, more) {
                if hash != 0 {
                    put(&mut self.places, hash);
                }
            }
        }
        let new = put(&mut self.places, hash);
        self.held += usize::from(new);
        new
    }
}

/// Puts a hash into a table that has room; whether it was not in.
fn put(places: &mut [u64], hash: u64) -> bool {
    let mut at = place(hash, places.len());
    while places[at] != 0 {
        if places[at] == hash {
            return false;
        }
        at += 1;
        if at == places.len() {
            at = 0;
        }
    }
    places[at] = hash;
    true
}

impl<P: Packed> Shard<P> for Compact<P> {
    /// Of several states with one hash at one level the smallest is kept, so that what is
    /// missed does not depend on who came first.
    fn insert(&mut self, hasher: &Hasher, batch: &[P]) -> usize {
        let before = self.fresh.len();
        for state in batch {
            // 0 is an empty place: the two hashes 0 and 1 become one.
            let hash = hasher.hash(state).max(1);
            if self.add(hash) {
                self.at.insert(hash, self.fresh.len());
                self.fresh.push(*state);
            } else if let Some(&at) = self.at.get(&hash) {
                self.fresh[at] = self.fresh[at].min(*state);
            }
        }
        self.fresh.len() - before
    }

    fn frontier(&self) -> &[P] {
        &self.frontier
    }

    fn fresh(&self) -> &[P] {
        &self.fresh
    }

    fn advance(&mut self) {
        self.frontier = std::mem::take(&mut self.fresh);
        self.at = HashMap::default();
    }

    fn bytes(&self) -> usize {
        // A general table takes 17 bytes for an entry of 16, and is 7/16 full or more.
        let entries = self.fresh.len() * 17 * 16 / 7;
        let states = (self.fresh.len() + self.frontier.len()) * size_of::<P>();
        self.places.len() * size_of::<u64>() + entries + states
    }

    fn into_levels(self) -> Option<ShardLevels<P>> {
        None
    }
}
