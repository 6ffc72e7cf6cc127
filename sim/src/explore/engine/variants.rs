//! In which variants of a space a state is reached.

use std::ops::{BitAnd, BitOr, Sub};

/// A set of up to 64 variants, one bit for each.
///
/// A variant is what can be told of a state apart from it: the same state may be reached
/// in many, and what comes of it is then found for all of them together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Variants(u64);

impl Variants {
    /// No variant.
    pub const EMPTY: Self = Self(0);
    /// The first variant alone: the only one of a space without variants.
    pub const FIRST: Self = Self(1);

    /// The variant of this number alone, 0 to 63.
    ///
    /// # Panics
    /// When there is no such number.
    #[must_use]
    pub const fn of(number: u8) -> Self {
        assert!(number < 64, "a variant has a number below 64");
        Self(1 << number)
    }

    /// The variants whose bits are set.
    #[must_use]
    pub const fn from_bits(bits: u64) -> Self {
        Self(bits)
    }

    /// One bit for each variant.
    #[must_use]
    pub const fn bits(self) -> u64 {
        self.0
    }

    /// Whether the variant of this number is among them.
    #[must_use]
    pub const fn contains(self, number: u8) -> bool {
        number < 64 && self.0 & 1 << number != 0
    }

    /// How many there are.
    #[must_use]
    pub const fn len(self) -> u64 {
        self.0.count_ones() as u64
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Their numbers, from the smallest.
    pub fn iter(self) -> impl Iterator<Item = u8> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let number = left.trailing_zeros();
            // Takes the lowest bit away.
            left &= left.checked_sub(1)?;
            Some(number as u8)
        })
    }
}

impl BitOr for Variants {
    type Output = Self;

    /// Those of either.
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl BitAnd for Variants {
    type Output = Self;

    /// Those of both.
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl Sub for Variants {
    type Output = Self;

    /// Those of the first that the other has not.
    fn sub(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
}

#[cfg(test)]
mod tests {
    use super::Variants;

    #[test]
    fn a_set_holds_what_was_put_in_and_nothing_else() {
        let set = Variants::of(0) | Variants::of(5) | Variants::of(63);
        assert_eq!(set.iter().collect::<Vec<_>>(), [0, 5, 63]);
        assert_eq!((set.len(), set.bits()), (3, 1 | 1 << 5 | 1 << 63));
        assert!(set.contains(63) && !set.contains(62) && !set.contains(64));
        assert_eq!(Variants::from_bits(set.bits()), set);
        assert!(Variants::EMPTY.is_empty() && !set.is_empty());
        assert_eq!(Variants::EMPTY.iter().next(), None);
        assert_eq!(Variants::of(0), Variants::FIRST);
    }

    #[test]
    fn sets_are_joined_met_and_subtracted() {
        let (low, high) = (Variants::from_bits(0b011), Variants::from_bits(0b110));
        assert_eq!((low | high).bits(), 0b111);
        assert_eq!((low & high).bits(), 0b010);
        assert_eq!((low - high).bits(), 0b001);
    }
}
