//! Fingerprints of states, as fast as the processor sums them: one in each tick.

use crc32fast::Hasher;
use mastwright_core::Sequencer;
use mastwright_core::link::fingerprint::each_bytes;

/// The same as [`fingerprint`](fn@mastwright_core::link::fingerprint).
pub(super) fn fingerprint(sequencer: &Sequencer) -> u32 {
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
        for tick in 0..50 {
            assert_eq!(
                fingerprint(&sequencer),
                link::fingerprint(&sequencer),
                "tick {tick}"
            );
            sequencer.step(&Inputs::default(), &config);
        }
    }
}
