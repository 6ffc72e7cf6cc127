//! The levels of a shard: which state was first reached in which variants at which level.

use super::hash::grown;
use super::variants::Variants;

/// An entry for each state and level at which it was reached in variants that were new:
/// its number in the shard, and these.
///
/// Of an entry of the level being filled, what was known of the state *before* is kept in
/// place of what is new. So whatever else arrives for that state needs only be known: its
/// entry is not looked for, and a level that is dropped can be undone.
#[derive(Clone, Debug)]
pub(super) struct Entries {
    numbers: Vec<u32>,
    variants: Vec<Variants>,
    /// Where each level begins, the one being filled too.
    starts: Vec<u32>,
    /// States that there were before the level being filled: those with a lower number.
    old: usize,
    /// Which of these have an entry in it, a bit for each.
    met: Vec<u64>,
}

impl Default for Entries {
    fn default() -> Self {
        Self {
            numbers: Vec::new(),
            variants: Vec::new(),
            starts: vec![0],
            old: 0,
            met: Vec::new(),
        }
    }
}

impl Entries {
    /// Notes that the state of a number, so far known in the variants `before`, arrived in
    /// others.
    pub(super) fn note(&mut self, number: u32, before: Variants) {
        let at = number as usize;
        let first = if at < self.old {
            let bits = &mut self.met[at / 64];
            let bit = 1 << (at % 64);
            let first = *bits & bit == 0;
            *bits |= bit;
            first
        } else {
            before.is_empty()
        };
        if first {
            self.push(number, before);
        }
    }

    /// Sizes depend on the count alone.
    fn push(&mut self, number: u32, before: Variants) {
        if self.numbers.len() == self.numbers.capacity() {
            let more = grown(self.numbers.len()) - self.numbers.len();
            self.numbers.reserve_exact(more);
            self.variants.reserve_exact(more);
        }
        self.numbers.push(number);
        self.variants.push(before);
    }

    /// Completes the level being filled, all states being `known` in these variants; how
    /// many pairs of state and variant it has.
    pub(super) fn complete(&mut self, known: &[Variants]) -> u64 {
        let begin = self.filling();
        let mut pairs = 0;
        let fresh = self.numbers[begin..]
            .iter()
            .zip(&mut self.variants[begin..]);
        for (&number, variants) in fresh {
            *variants = known[number as usize] - *variants;
            pairs += variants.len();
        }
        // As many as fit into 32 bits: at most 64 for each of 2^24 states.
        self.starts.push(self.numbers.len() as u32);
        self.old = known.len();
        self.met.clear();
        self.met.resize(self.old.div_ceil(64), 0);
        pairs
    }

    /// Takes back the level being filled; how many states are left.
    pub(super) fn withdraw(&mut self, known: &mut [Variants]) -> usize {
        let begin = self.filling();
        for (&number, before) in self.numbers[begin..].iter().zip(&self.variants[begin..]) {
            known[number as usize] = *before;
        }
        self.numbers.truncate(begin);
        self.variants.truncate(begin);
        self.met = Vec::new();
        self.old
    }

    /// Numbers and variants of a complete level.
    pub(super) fn level(&self, level: usize) -> (&[u32], &[Variants]) {
        let level = self.starts[level] as usize..self.starts[level + 1] as usize;
        (&self.numbers[level.clone()], &self.variants[level])
    }

    /// Numbers and variants of the last complete level, if there is one.
    pub(super) fn last(&self) -> (&[u32], &[Variants]) {
        match self.starts.len().checked_sub(2) {
            Some(last) => self.level(last),
            None => (&[], &[]),
        }
    }

    /// The level at which the state of a number was first reached in a variant.
    pub(super) fn level_of(&self, number: u32, variant: u8) -> Option<usize> {
        let mut entries = self.numbers.iter().zip(&self.variants);
        let is_it = |(&of, variants): (&u32, &Variants)| of == number && variants.contains(variant);
        let at = entries.position(is_it)?;
        Some(self.starts.partition_point(|&start| start as usize <= at) - 1)
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.numbers.capacity() * size_of::<u32>()
            + self.variants.capacity() * size_of::<Variants>()
            + self.starts.len() * size_of::<u32>()
            + self.met.capacity() * size_of::<u64>()
    }

    fn filling(&self) -> usize {
        self.starts.last().map_or(0, |&start| start as usize)
    }
}
