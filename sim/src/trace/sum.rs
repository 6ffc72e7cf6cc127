//! Fingerprints of states: one in each tick, summed anew only where the state is another.

use crc32fast::Hasher;
use mastwright_core::Sequencer;
use mastwright_core::link::fingerprint::each_bytes;

/// Fingerprints of states that follow one another.
#[derive(Clone, Debug)]
pub(super) struct Fingerprints {
    /// The last state, and its fingerprint: most ticks leave the controller as it was, and to see
    /// that takes a small part of the time that it takes to bring it into bytes.
    last: Option<(Sequencer, u32)>,
}

impl Fingerprints {
    /// With no state seen yet.
    pub(super) const fn new() -> Self {
        Self { last: None }
    }

    /// The same as [`fingerprint`](fn@mastwright_core::link::fingerprint).
    pub(super) fn of(&mut self, sequencer: &Sequencer) -> u32 {
        match self.last {
            Some((last, sum)) if last == *sequencer => sum,
            Some(_) | None => {
                let sum = fingerprint(sequencer);
                self.last = Some((*sequencer, sum));
                sum
            }
        }
    }
}

/// As fast as the processor sums.
fn fingerprint(sequencer: &Sequencer) -> u32 {
    let mut sum = Hasher::new();
    each_bytes(sequencer, |bytes| sum.update(bytes));
    sum.finalize()
}

#[cfg(test)]
mod tests {
    use mastwright_core::{Config, Faults, Inputs, link};

    use super::*;

    #[test]
    fn a_fingerprint_is_that_of_the_core() {
        let config = Config::default();
        let mut sequencer = Sequencer::wake(Faults::empty(), &config);
        let mut fingerprints = Fingerprints::new();
        let mut unchanged = 0;
        for tick in 0..1_000 {
            let before = sequencer;
            assert_eq!(
                fingerprints.of(&sequencer),
                link::fingerprint(&sequencer),
                "tick {tick}"
            );
            sequencer.step(&Inputs::default(), &config);
            unchanged += u32::from(sequencer == before);
        }
        assert!((100..900).contains(&unchanged), "{unchanged}");
    }
}
