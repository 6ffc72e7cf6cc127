//! What can be explored: states, the transitions between them, the checks they break.

use std::hash::Hash;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::variants::Variants;

/// Something that can be explored exhaustively.
///
/// A state may be reached in several *variants*: what can be told of it apart, such as
/// which thing is broken, and leaves most of what comes of it the same. A space without
/// variants knows [`Variants::FIRST`] alone.
///
/// `initial` and `expand` must depend on their arguments alone: the engine calls `expand` again
/// for the same state when it looks for a path, and relies on the same answer.
pub trait Space: Sync {
    /// A state, packed: the thing that is stored. Its variant is no part of it.
    type State: Packed;
    /// What is counted on the way.
    type Tally: Tally;

    /// Calls `found` for each state the space can begin in, with the variants in which it
    /// can.
    fn initial(&self, found: &mut impl FnMut(Self::State, Variants));

    /// Calls `found` for the transitions out of `state` in these `variants`: a successor,
    /// the variants *of the successor* that one transition each leads to, and the checks
    /// that each of these very transitions breaks, one bit for each of up to 64 (0: none).
    ///
    /// What comes of several variants must be what comes of each alone, taken together:
    /// the same successors in the same variants, as often, with the same checks. So where two
    /// variants lead to one, `found` is called twice. Into `tally` may go once what is done
    /// once for several.
    /// How transitions are grouped into calls, and their order, does not matter; a call
    /// with no variant is of no transition.
    ///
    /// The engine expands each reached state once in each of its variants for the count,
    /// so what goes into `tally` is counted once.
    fn expand(
        &self,
        state: &Self::State,
        variants: Variants,
        tally: &mut Self::Tally,
        found: &mut impl FnMut(Self::State, Variants, u64),
    );

    /// The variants out of which a transition may lead to a state in this one. All, unless
    /// the space knows better: then a path is found sooner.
    fn before(&self, _variant: u8) -> Variants {
        Variants::from_bits(u64::MAX)
    }

    /// The variants out of which a transition may break a check (the number of its bit), by
    /// what was counted. All, unless the space knows better: then a path is found sooner. One
    /// that names too few finds none.
    fn breaking(&self, _tally: &Self::Tally, _check: u32) -> Variants {
        Variants::from_bits(u64::MAX)
    }
}

/// A state in its stored form.
///
/// Small and plain: an integer or two. The order has no meaning, but decides which of
/// several equally short paths is shown. `Hash` should write whole integers: it is called
/// for every transition.
pub trait Packed: Copy + Eq + Ord + Hash + Send + Sync {
    /// Its bytes in a file: an array.
    type Bytes: AsRef<[u8]> + AsMut<[u8]> + Default;

    /// The state as bytes, the same on every machine.
    fn to_bytes(&self) -> Self::Bytes;

    /// The state from the bytes that [`Packed::to_bytes`] gave.
    fn from_bytes(bytes: &Self::Bytes) -> Self;
}

/// What workers count while they expand.
///
/// Every worker has its own; the sum must not depend on who counted what, nor on the
/// order in which the parts are merged. Stored with serde, so that an interrupted
/// exploration resumes its counts.
pub trait Tally: Default + Send + Serialize + DeserializeOwned {
    /// Takes the counts of `other` in.
    fn merge(&mut self, other: Self);
}

impl Tally for () {
    fn merge(&mut self, (): Self) {}
}

macro_rules! packed_integer {
    ($($integer:ty),*) => {$(
        impl Packed for $integer {
            type Bytes = [u8; size_of::<$integer>()];

            fn to_bytes(&self) -> Self::Bytes {
                self.to_le_bytes()
            }

            fn from_bytes(bytes: &Self::Bytes) -> Self {
                Self::from_le_bytes(*bytes)
            }
        }
    )*};
}

packed_integer!(u32, u64, u128);
