//! Worlds that are alike but for what is broken, taken together.
//!
//! Most of what comes of a world does not ask what is broken. So the cases of one world are
//! explored as one: each reading, each timer that runs out and each move of the plant is
//! told with the cases in which it can be, and what can be in all of them is done once.

use enumset::EnumSet;

use super::engine::Variants;
use super::trouble::{Trouble, Troubles};

/// What may be broken, each of it a case; [`Trouble::None`] is the case of nothing.
pub type Cases = EnumSet<Trouble>;

/// The cases of a world: what is broken in all of them, and in each one thing more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Several {
    common: Trouble,
    each: Cases,
}

impl Several {
    /// One case alone.
    #[must_use]
    pub fn one(troubles: Troubles) -> Self {
        let [common, case] = troubles.both();
        Self {
            common,
            each: Cases::only(case),
        }
    }

    /// These cases, `common` broken besides.
    #[must_use]
    pub const fn of(common: Trouble, each: Cases) -> Self {
        Self { common, each }
    }

    /// What is broken in all of them.
    #[must_use]
    pub const fn common(self) -> Trouble {
        self.common
    }

    /// All of them.
    #[must_use]
    pub const fn all(self) -> Cases {
        self.each
    }

    /// Those in which any of this is broken.
    #[must_use]
    pub fn with_any(self, of: Cases) -> Cases {
        if of.contains(self.common) {
            self.each
        } else {
            self.each & of
        }
    }

    /// Those in which this is broken.
    #[must_use]
    pub fn with(self, trouble: Trouble) -> Cases {
        self.with_any(trouble.into())
    }
}

/// The cases that a state was reached in.
#[must_use]
pub fn cases(variants: Variants) -> Cases {
    Cases::from_u64_truncated(variants.bits())
}

/// The same for the engine.
#[must_use]
pub fn variants(cases: Cases) -> Variants {
    Variants::from_bits(cases.as_u64())
}
