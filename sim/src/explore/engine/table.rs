//! An open-addressed table of numbered states: four bytes for each place.

use std::hint::black_box;

use super::hash::{full, grown, place};
use super::shard::ABREAST;
use super::space::Packed;
use super::variants::Variants;

/// Bits of a place that hold a state's number plus one; 0 is an empty place.
const NUMBER: u32 = (1 << 24) - 1;
/// Most states in one table.
const MOST: usize = NUMBER as usize - 1;

/// A set of states, each with the number of its arrival and the variants it is known in.
///
/// The states stand in one list, without gaps; the table beside it holds their numbers
/// with eight bits of their hash, so that a search looks at a state only when it is
/// almost surely the one. A general hash table would keep the states themselves in its
/// places, and the levels a second copy of them: nearly twice the memory. Their variants
/// stand in a list of their own: beside a state of sixteen bytes they would take sixteen.
#[derive(Clone, Debug)]
pub(super) struct Table<P> {
    states: Vec<P>,
    known: Vec<Variants>,
    places: Vec<u32>,
}

impl<P> Default for Table<P> {
    fn default() -> Self {
        Self {
            states: Vec::new(),
            known: Vec::new(),
            places: Vec::new(),
        }
    }
}

const fn tag(hash: u64) -> u32 {
    (hash as u32) << 24
}

impl<P: Packed> Table<P> {
    /// The states, in the order of arrival.
    pub(super) fn states(&self) -> &[P] {
        &self.states
    }

    /// The variants of each, in the same order.
    pub(super) fn known(&self) -> &[Variants] {
        &self.known
    }

    /// The states and the variants of each.
    pub(super) fn into_lists(self) -> (Vec<P>, Vec<Variants>) {
        (self.states, self.known)
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.states.capacity() * size_of::<P>()
            + self.known.capacity() * size_of::<Variants>()
            + self.places.capacity() * size_of::<u32>()
    }

    /// Adds what is new of `batch`. Calls `new` for each state that arrives in variants it
    /// was not known in: with its number, those it was known in, and the new ones.
    pub(super) fn insert_all(
        &mut self,
        hash_of: impl Fn(&P) -> u64,
        batch: &[(P, Variants)],
        mut new: impl FnMut(u32, Variants, Variants),
    ) {
        let mut hashes = [0; ABREAST];
        for group in batch.chunks(ABREAST) {
            let mut seen = 0;
            for (hash, (state, _)) in hashes.iter_mut().zip(group) {
                *hash = hash_of(state);
                seen ^= self
                    .places
                    .get(place(*hash, self.places.len()))
                    .copied()
                    .unwrap_or(0);
            }
            // Reads every first place before the first is needed: memory answers all at
            // once instead of one after the other.
            black_box(seen);
            for (hash, (state, variants)) in hashes.iter().zip(group) {
                let number = match self.find(*hash, state) {
                    Ok(number) => number,
                    Err(place) => self.add(&hash_of, *hash, place, state),
                };
                let known = &mut self.known[number as usize];
                let (before, more) = (*known, *variants - *known);
                if !more.is_empty() {
                    *known = before | more;
                    new(number, before, more);
                }
            }
        }
    }

    /// The number of a state; or where it belongs, if it is not in.
    fn find(&self, hash: u64, state: &P) -> Result<u32, usize> {
        let places = &self.places[..];
        let mut at = place(hash, places.len());
        loop {
            let Some(&held) = places.get(at) else {
                if places.is_empty() {
                    return Err(0);
                }
                at = 0;
                continue;
            };
            if held == 0 {
                return Err(at);
            }
            let number = (held & NUMBER) - 1;
            if held & !NUMBER == tag(hash) && self.states[number as usize] == *state {
                return Ok(number);
            }
            at += 1;
        }
    }

    /// Adds a state that is not in, known in no variant yet; its number.
    fn add(&mut self, hash_of: impl Fn(&P) -> u64, hash: u64, place: usize, state: &P) -> u32 {
        let place = if full(self.states.len(), self.places.len()) {
            self.grow(hash_of);
            empty(&self.places, hash)
        } else {
            place
        };
        let number = self.states.len();
        assert!(
            number < MOST,
            "{MOST} states in a shard: their Hash does not spread"
        );
        self.places[place] = tag(hash) | (number as u32 + 1);
        self.states.push(*state);
        self.known.push(Variants::EMPTY);
        number as u32
    }

    /// More places, and room for as many states: sizes depend on the count alone.
    fn grow(&mut self, hash_of: impl Fn(&P) -> u64) {
        let places = grown(self.places.len());
        let room = places * 3 / 4;
        self.places = vec![0; places];
        for (number, state) in (1..).zip(&self.states) {
            let hash = hash_of(state);
            let at = empty(&self.places, hash);
            self.places[at] = tag(hash) | number;
        }
        self.states.reserve_exact(room - self.states.len());
        self.known.reserve_exact(room - self.known.len());
    }
}

/// The first empty place for a hash.
fn empty(places: &[u32], hash: u64) -> usize {
    let mut at = place(hash, places.len());
    while places[at] != 0 {
        at += 1;
        if at == places.len() {
            at = 0;
        }
    }
    at
}
