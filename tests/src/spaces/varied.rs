//! A drawn graph whose edges depend on a variant, explored in two ways: with the variant
//! beside the state, or as a part of it. Both must count the same.

use mastwright_sim::explore::engine::{Space, Variants};

use super::drawn::Expanded;
use crate::draw::Draw;

/// An edge out of a state.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// The state it leads to.
    pub to: u32,
    /// The variants in which there is this edge.
    pub within: Variants,
    /// The variant it leads to; the same, if none.
    pub becomes: Option<u8>,
    /// The checks it breaks.
    pub checks: u64,
}

/// The graph, its variants beside its states.
#[derive(Clone, Debug)]
pub struct Varied {
    /// The edges out of each state.
    pub edges: Vec<Vec<Edge>>,
    /// The variants in which it begins, in state 0.
    pub begin: Variants,
}

/// The same with its variants within its states: the number of the variant below that of
/// the state, so that both have the same order.
#[derive(Clone, Copy, Debug)]
pub struct Within<'a>(pub &'a Varied);

impl Within<'_> {
    /// A state and a variant as one.
    #[must_use]
    pub const fn join(state: u32, variant: u8) -> u64 {
        (state as u64) << 8 | variant as u64
    }

    /// The state and the variant that were joined.
    #[must_use]
    pub const fn part(joined: u64) -> (u32, u8) {
        ((joined >> 8) as u32, joined as u8)
    }
}

impl Varied {
    /// A graph of so many states in so many variants, three edges out of each state.
    #[must_use]
    pub fn drawn(states: u32, variants: u8, seed: u64) -> Self {
        let mut draw = Draw::new(seed);
        let all = u64::MAX >> (64 - u32::from(variants));
        let some = |draw: &mut Draw| {
            let bits = u64::from(draw.below(u32::MAX)) << 32 | u64::from(draw.below(u32::MAX));
            Variants::from_bits(bits & all)
        };
        let edge = |draw: &mut Draw| {
            let within = match draw.chance(70) {
                true => Variants::from_bits(all),
                false => some(draw),
            };
            let becomes = draw.chance(10).then(|| draw.below(variants.into()) as u8);
            let checks = match draw.below(4000) {
                check @ 0..5 => 1 << check,
                _ => 0,
            };
            Edge {
                to: draw.below(states),
                within,
                becomes,
                checks,
            }
        };
        let edges = (0..states).map(|_| (0..3).map(|_| edge(&mut draw)).collect());
        Self {
            edges: edges.collect(),
            begin: Variants::of(variants / 2) | Variants::FIRST,
        }
    }
}

impl Space for Varied {
    type State = u32;
    type Tally = Expanded;

    fn initial(&self, found: &mut impl FnMut(u32, Variants)) {
        found(0, self.begin);
    }

    fn expand(
        &self,
        state: &u32,
        variants: Variants,
        tally: &mut Expanded,
        found: &mut impl FnMut(u32, Variants, u64),
    ) {
        tally.times += variants.len();
        tally.sum += variants.len() * u64::from(*state);
        for edge in &self.edges[*state as usize] {
            let taken = variants & edge.within;
            match edge.becomes {
                None => found(edge.to, taken, edge.checks),
                Some(variant) => {
                    for _ in taken.iter() {
                        found(edge.to, Variants::of(variant), edge.checks);
                    }
                }
            }
        }
    }
}

impl Space for Within<'_> {
    type State = u64;
    type Tally = Expanded;

    fn initial(&self, found: &mut impl FnMut(u64, Variants)) {
        for variant in (0..64).filter(|variant| self.0.begin.contains(*variant)) {
            found(Self::join(0, variant), Variants::FIRST);
        }
    }

    fn expand(
        &self,
        joined: &u64,
        _: Variants,
        tally: &mut Expanded,
        found: &mut impl FnMut(u64, Variants, u64),
    ) {
        let (state, variant) = Self::part(*joined);
        tally.times += 1;
        tally.sum += u64::from(state);
        for edge in &self.0.edges[state as usize] {
            if edge.within.contains(variant) {
                let to = Self::join(edge.to, edge.becomes.unwrap_or(variant));
                found(to, Variants::FIRST, edge.checks);
            }
        }
    }
}
