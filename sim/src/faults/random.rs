//! A small generator of random numbers, seeded explicitly.

/// SplitMix64. Source: Steele, Lea, Flood, "Fast splittable pseudorandom number
/// generators", 2014 (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Random(u64);

impl Random {
    const GAMMA: u64 = 0x9E37_79B9_7F4A_7C15;

    /// The generator of stream number `stream` of `seed`.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        let mut start = Self(seed ^ stream.wrapping_add(1).wrapping_mul(Self::GAMMA));
        Self(start.next())
    }

    /// The next 64 random bits.
    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(Self::GAMMA);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number in [0, 1).
    pub(super) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A number in [-1, 1).
    pub(super) fn sign(&mut self) -> f64 {
        self.unit() * 2.0 - 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_of_one_seed_differ_and_repeat() {
        let take = |seed, stream| {
            let mut random = Random::new(seed, stream);
            [random.next(), random.next()]
        };
        assert_eq!(take(7, 0), take(7, 0));
        assert_ne!(take(7, 0), take(7, 1));
        assert_ne!(take(7, 0), take(8, 0));
    }

    #[test]
    fn numbers_fill_their_interval_evenly() {
        let mut random = Random::new(1, 0);
        let numbers: Vec<f64> = (0..10_000).map(|_| random.sign()).collect();
        assert!(numbers.iter().all(|n| (-1.0..1.0).contains(n)));
        let mean = numbers.iter().sum::<f64>() / 10_000.0;
        assert!(mean.abs() < 0.03, "{mean}");
        assert!(numbers.iter().any(|n| *n > 0.99) && numbers.iter().any(|n| *n < -0.99));
    }
}
