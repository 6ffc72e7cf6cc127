//! One hash for everything: which shard, which place in it, which place in the cache.

use std::hash::{BuildHasher, Hash};

use foldhash::quality::FixedState;

/// Bits of a hash, from the top, that name the shard.
const SHARD_BITS: u32 = 10;
/// How many shards there are. Many, so that one fits a core's own cache even when the
/// whole is large, and so that two workers seldom want the same one.
pub(super) const SHARDS: usize = 1 << SHARD_BITS;

/// Hashes states, the same way in every run.
#[derive(Clone, Debug)]
pub(super) struct Hasher {
    seed: FixedState,
    kept: u64,
}

impl Hasher {
    /// A hash of which the `bits` uppermost bits are kept, the others zero.
    pub(super) const fn new(bits: u32, seed: u64) -> Self {
        Self {
            seed: FixedState::with_seed(seed),
            kept: u64::MAX << (u64::BITS - bits),
        }
    }

    /// The hash of a state.
    pub(super) fn hash(&self, state: &impl Hash) -> u64 {
        self.seed.hash_one(state) & self.kept
    }
}

/// Which shard keeps the states with this hash.
pub(super) const fn shard(hash: u64) -> usize {
    (hash >> (u64::BITS - SHARD_BITS)) as usize
}

/// Where a search for this hash begins in a table of `places`: in proportion, so that a
/// table may have any size and grow by less than double.
pub(super) const fn place(hash: u64, places: usize) -> usize {
    let part = (hash << SHARD_BITS) >> 32;
    ((part as u128 * places as u128) >> 32) as usize
}

/// How many places a table has that must hold one more than it does, growing by half.
pub(super) const fn grown(places: usize) -> usize {
    if places < 16 { 16 } else { places + places / 2 }
}

/// Whether a table of `places` is too full to take one more than `held`: beyond three
/// quarters a search by trying the next place grows long.
pub(super) const fn full(held: usize, places: usize) -> bool {
    (held + 1) * 4 > places * 3
}
