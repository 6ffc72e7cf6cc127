//! One thread's part in expanding a level.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::found::Ended;
use super::hash::{Hasher, SHARDS, shard};
use super::shard::Shard;
use super::space::{Packed, Space};
use super::variants::Variants;

/// States for one shard that are handed over together: a lock and the shard's way into
/// the core's cache are paid once for all of them.
const BATCH: usize = 512;
/// Entries of the frontier that a worker takes at once.
pub(super) const PIECE: usize = 512;
/// Recent states that a worker remembers, a power of two: what fits beside the rest in a
/// core's own cache.
const RECENT: usize = 1 << 14;

/// A part of a level: entries of one shard's frontier.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) shard: usize,
    pub(super) entries: Range<usize>,
}

/// The level being expanded, as all workers see it.
pub(super) struct Level<'a, D> {
    pub(super) shards: &'a [Mutex<D>],
    pub(super) hasher: &'a Hasher,
    pub(super) pieces: &'a [Piece],
    pub(super) next: AtomicUsize,
    /// New pairs of state and variant and bytes of the level being filled, and what there may
    /// be of them.
    pub(super) added: AtomicU64,
    pub(super) added_most: u64,
    pub(super) bytes: AtomicU64,
    pub(super) bytes_most: u64,
    /// For the progress shown meanwhile.
    pub(super) expanded: AtomicU64,
    pub(super) transitions: AtomicU64,
    pub(super) interrupt: Option<&'a AtomicBool>,
}

impl<D> Level<'_, D> {
    /// Why the level cannot be completed, if so. Once there is a reason, there is one for
    /// good.
    pub(super) fn why_lost(&self) -> Option<Ended> {
        if self.added.load(Ordering::Relaxed) > self.added_most {
            Some(Ended::StateLimit)
        } else if self.bytes.load(Ordering::Relaxed) > self.bytes_most {
            Some(Ended::MemoryLimit)
        } else if self
            .interrupt
            .is_some_and(|flag| flag.load(Ordering::Relaxed))
        {
            Some(Ended::Interrupted)
        } else {
            None
        }
    }
}

/// A shard, whoever else has panicked with it: then the whole exploration does.
pub(super) fn lock<D>(shard: &Mutex<D>) -> MutexGuard<'_, D> {
    shard.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A worker: what it counted, and the states it has not handed over yet.
pub(super) struct Worker<S: Space> {
    counts: Counts<S::Tally>,
    /// Recent states, each with the variants in which it was handed over.
    recent: Vec<(S::State, Variants)>,
    batches: Vec<Vec<(S::State, Variants)>>,
    frontier: Vec<(S::State, Variants)>,
}

/// What a worker counted in a level.
pub(super) struct Counts<T> {
    pub(super) transitions: u64,
    /// Transitions that break each check.
    pub(super) broken: [u64; 64],
    pub(super) tally: T,
}

impl<T: Default> Default for Counts<T> {
    fn default() -> Self {
        Self {
            transitions: 0,
            broken: [0; 64],
            tally: T::default(),
        }
    }
}

impl<S: Space> Worker<S> {
    /// A worker that handed nothing over yet; any state will do.
    pub(super) fn new(any: S::State) -> Self {
        Self {
            counts: Counts::default(),
            recent: vec![(any, Variants::EMPTY); RECENT],
            batches: (0..SHARDS).map(|_| Vec::new()).collect(),
            frontier: Vec::with_capacity(PIECE),
        }
    }

    /// What was counted since it was last taken.
    pub(super) fn take_counts(&mut self) -> Counts<S::Tally> {
        std::mem::take(&mut self.counts)
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        let batches: usize = self.batches.iter().map(Vec::capacity).sum();
        (batches + self.recent.len() + self.frontier.capacity()) * size_of::<(S::State, Variants)>()
    }

    /// Expands pieces of the level until none is left.
    pub(super) fn work<D: Shard<S::State>>(&mut self, space: &S, level: &Level<'_, D>) {
        while level.why_lost().is_none() {
            let next = level.next.fetch_add(1, Ordering::Relaxed);
            let Some(piece) = level.pieces.get(next) else {
                break;
            };
            let mut frontier = std::mem::take(&mut self.frontier);
            frontier.clear();
            // A copy: the shard may grow and move while its states are expanded.
            lock(&level.shards[piece.shard]).copy_entries(piece.entries.clone(), &mut frontier);
            let before = self.counts.transitions;
            let mut expanded = 0;
            for (state, variants) in &frontier {
                self.expand(space, level, state, *variants);
                expanded += variants.len();
            }
            let count = |total: &AtomicU64, more| total.fetch_add(more, Ordering::Relaxed);
            count(&level.expanded, expanded);
            count(&level.transitions, self.counts.transitions - before);
            self.frontier = frontier;
        }
        for (shard, batch) in self.batches.iter_mut().enumerate() {
            if !batch.is_empty() {
                hand_over(level, shard, batch);
            }
        }
    }

    fn expand<D: Shard<S::State>>(
        &mut self,
        space: &S,
        level: &Level<'_, D>,
        from: &S::State,
        variants: Variants,
    ) {
        let Self {
            counts:
                Counts {
                    transitions,
                    broken,
                    tally,
                },
            recent,
            batches,
            ..
        } = self;
        space.expand(from, variants, tally, &mut |to, variants, checks| {
            *transitions += variants.len();
            if checks != 0 {
                count_checks(broken, checks, variants.len());
            }
            let hash = level.hasher.hash(&to);
            let (last, handed) = &mut recent[hash as usize % RECENT];
            if *last != to {
                (*last, *handed) = (to, Variants::EMPTY);
            }
            let new = variants - *handed;
            if new.is_empty() {
                return;
            }
            *handed = *handed | new;
            let shard = shard(hash);
            let batch = &mut batches[shard];
            batch.push((to, new));
            if batch.len() == BATCH {
                hand_over(level, shard, batch);
            }
        });
    }
}

#[cold]
fn count_checks(broken: &mut [u64; 64], mut checks: u64, times: u64) {
    while checks != 0 {
        broken[checks.trailing_zeros() as usize] += times;
        checks &= checks - 1;
    }
}

/// Gives a shard the states that are its.
pub(super) fn hand_over<P: Packed, D: Shard<P>>(
    level: &Level<'_, D>,
    shard: usize,
    batch: &mut Vec<(P, Variants)>,
) {
    let mut shard = lock(&level.shards[shard]);
    let before = shard.bytes();
    let new = shard.insert(level.hasher, batch);
    let grown = shard.bytes().saturating_sub(before);
    drop(shard);
    level.added.fetch_add(new, Ordering::Relaxed);
    level.bytes.fetch_add(grown as u64, Ordering::Relaxed);
    batch.clear();
}
