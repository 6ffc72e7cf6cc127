//! A short number for a whole state: the same on host and target.

use postcard::ser_flavors::Flavor;
use serde::Serialize;

use super::frame::CHECKSUM;

/// CRC-32/ISO-HDLC over the postcard bytes of `value`.
///
/// Postcard writes numbers in a form that depends neither on word size nor on byte
/// order, so host and target come to the same number. Two values whose bytes differ
/// within 32 neighbouring bits never share it; others do once in about 4 billion.
#[must_use]
pub fn fingerprint<T: Serialize + ?Sized>(value: &T) -> u32 {
    let mut sum = CHECKSUM.digest();
    each_bytes(value, |bytes| sum.update(bytes));
    sum.finalize()
}

/// Gives `take` the bytes that [`fingerprint`] sums up, some at a time: a host may sum them
/// faster.
pub fn each_bytes<T: Serialize + ?Sized>(value: &T, take: impl FnMut(&[u8])) {
    let bytes = Bytes {
        some: [0; SOME],
        len: 0,
        take,
    };
    // What derives its serialisation from fields alone cannot fail, and this flavour takes
    // every byte.
    let _ = postcard::serialize_with_flavor(value, bytes);
}

/// How many bytes are given at once; more than a sequencer has, since a host sums many faster.
const SOME: usize = 192;

/// Gathers bytes, and gives them on.
struct Bytes<F> {
    some: [u8; SOME],
    len: usize,
    take: F,
}

impl<F: FnMut(&[u8])> Bytes<F> {
    fn give(&mut self) {
        (self.take)(self.some.get(..self.len).unwrap_or_default());
        self.len = 0;
    }
}

impl<F: FnMut(&[u8])> Flavor for Bytes<F> {
    type Output = ();

    fn try_push(&mut self, byte: u8) -> postcard::Result<()> {
        if self.len == SOME {
            self.give();
        }
        if let Some(place) = self.some.get_mut(self.len) {
            *place = byte;
            self.len = self.len.saturating_add(1);
        }
        Ok(())
    }

    fn finalize(mut self) -> postcard::Result<()> {
        self.give();
        Ok(())
    }
}
