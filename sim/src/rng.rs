//! A small deterministic generator for sensor noise.
//!
//! Source: the mixing function known as SplitMix64, after Steele, Lea, Flood, "Fast
//! splittable pseudorandom number generators", 2014 (constants from memory). Not for
//! secrets.

/// A generator; equal seeds give equal sequences on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rng(u64);

impl Rng {
    /// A generator started from a seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next 64 bits.
    pub const fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Two independent errors in (-1, 1), triangular about zero.
    ///
    /// The difference of two even numbers is triangular: no logarithm, no cosine, and
    /// a hard bound, as a data sheet gives one.
    pub fn pair(&mut self) -> [f64; 2] {
        let bits = self.bits();
        [triangular(bits as u32), triangular((bits >> 32) as u32)]
    }
}

fn triangular(bits: u32) -> f64 {
    let high = (bits >> 16) as i32;
    let low = (bits & 0xFFFF) as i32;
    f64::from(high - low) * (1.0 / 65_536.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_seeds_agree_and_different_seeds_do_not() {
        let (mut a, mut b, mut c) = (Rng::new(7), Rng::new(7), Rng::new(8));
        let first = a.bits();
        assert_eq!(first, b.bits());
        assert_ne!(first, c.bits());
    }

    #[test]
    fn errors_are_bounded_centred_and_spread_as_a_triangle() {
        let mut rng = Rng::new(1);
        let (mut sum, mut square) = (0.0, 0.0);
        for _ in 0..50_000 {
            for error in rng.pair() {
                assert!(error.abs() < 1.0);
                sum += error;
                square += error * error;
            }
        }
        assert!((sum / 100_000.0_f64).abs() < 0.01);
        // The variance of a triangle on (-1, 1) is 1/6.
        assert!((square / 100_000.0_f64 - 1.0 / 6.0).abs() < 0.005);
    }
}
