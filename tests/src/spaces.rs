//! Made-up spaces whose size is known by counting, to test and to time the explorer.

pub mod adapter;
pub mod drawn;
pub mod varied;

use mastwright_sim::explore::engine::{Space, Variants};

/// Five counters, each from 0 to `most`; each transition counts one of them on by one.
///
/// `(most + 1)^5` states, `5 * most * (most + 1)^4` transitions, depth `5 * most`: a
/// state's neighbours lie close together, and each is found up to five times.
#[derive(Clone, Copy, Debug)]
pub struct Counters {
    /// The last value of each counter, up to 255.
    pub most: u8,
}

impl Counters {
    /// How many states there are.
    #[must_use]
    pub const fn states(&self) -> u64 {
        (self.most as u64 + 1).pow(5)
    }

    /// How many transitions there are.
    #[must_use]
    pub const fn transitions(&self) -> u64 {
        5 * self.most as u64 * (self.most as u64 + 1).pow(4)
    }

    /// The counters of a state.
    pub fn values(state: u128) -> impl Iterator<Item = u8> {
        (0..5).map(move |counter| (state >> (8 * counter)) as u8)
    }
}

impl Space for Counters {
    type State = u128;
    type Tally = ();

    fn initial(&self, found: &mut impl FnMut(u128, Variants)) {
        found(0, Variants::FIRST);
    }

    fn expand(
        &self,
        state: &u128,
        variants: Variants,
        (): &mut (),
        found: &mut impl FnMut(u128, Variants, u64),
    ) {
        for (counter, value) in Self::values(*state).enumerate() {
            if value < self.most {
                found(state + (1 << (8 * counter)), variants, 0);
            }
        }
    }
}

/// `2^bits` states, each with eight transitions to anywhere: nothing lies close to
/// anything, the worst there is for caches.
///
/// Each transition is `x -> a x + c`, modulo `2^bits`, a permutation as `a` is odd. The
/// first alone passes through all states (a linear congruential generator with `a - 1`
/// divisible by four and `c` odd has the full period: from memory, the theorem of Hull
/// and Dobell), so every state is reached; there are `8 * 2^bits` transitions.
#[derive(Clone, Copy, Debug)]
pub struct Scatter {
    /// The logarithm of the number of states, to base 2.
    pub bits: u32,
}

impl Scatter {
    /// Transitions out of each state.
    pub const WAYS: u64 = 8;

    /// How many states there are.
    #[must_use]
    pub const fn states(&self) -> u64 {
        1 << self.bits
    }

    /// How many transitions there are.
    #[must_use]
    pub const fn transitions(&self) -> u64 {
        Self::WAYS * self.states()
    }
}

impl Space for Scatter {
    type State = u128;
    type Tally = ();

    fn initial(&self, found: &mut impl FnMut(u128, Variants)) {
        found(0, Variants::FIRST);
    }

    fn expand(
        &self,
        state: &u128,
        variants: Variants,
        (): &mut (),
        found: &mut impl FnMut(u128, Variants, u64),
    ) {
        let x = *state as u64;
        for way in 0..Self::WAYS {
            let a = (0x9e37_79b9_7f4a_7c15_u64.wrapping_mul(2 * way + 1) & !3) + 1;
            let to = a.wrapping_mul(x).wrapping_add(2 * way + 1);
            found(u128::from(to & (self.states() - 1)), variants, 0);
        }
    }
}
