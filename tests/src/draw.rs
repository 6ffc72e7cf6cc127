//! Random choices, all from one number.

use mastwright_sim::rng::Rng;

/// Draws; equal seeds give equal draws.
#[derive(Clone, Copy, Debug)]
pub struct Draw(Rng);

impl Draw {
    /// Draws that follow from `seed`.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(Rng::new(seed))
    }

    /// A whole number below `limit`; 0 if that is 0.
    pub fn below(&mut self, limit: u32) -> u32 {
        // The high half of a product is even enough for limits far below 2^32.
        (((self.0.bits() >> 32) * u64::from(limit)) >> 32) as u32
    }

    /// A whole number from `least` to `most`.
    pub fn between(&mut self, least: u32, most: u32) -> u32 {
        least + self.below(most - least + 1)
    }

    /// A number in 0..1.
    pub fn unit(&mut self) -> f64 {
        f64::from(self.below(1 << 24)) / f64::from(1 << 24)
    }

    /// True in so many of a hundred draws.
    pub fn chance(&mut self, percent: u32) -> bool {
        self.below(100) < percent
    }

    /// One of several.
    ///
    /// # Panics
    /// When there is none.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len() as u32) as usize]
    }

    /// One of several, each with its weight.
    ///
    /// # Panics
    /// When there is none.
    pub fn weighted<T: Copy>(&mut self, of: &[(u32, T)]) -> T {
        let total = of.iter().map(|(weight, _)| weight).sum();
        let mut left = self.below(total);
        for (weight, choice) in of {
            if left < *weight {
                return *choice;
            }
            left -= weight;
        }
        unreachable!("the draw lies below the sum of the weights")
    }
}
