//! A short number for a whole state: the same on host and target.

use crc::Digest;
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
    // What derives its serialisation from fields alone cannot fail, and this flavour
    // takes every byte.
    postcard::serialize_with_flavor(value, Sum(CHECKSUM.digest())).unwrap_or(0)
}

/// Sums up bytes instead of keeping them.
struct Sum(Digest<'static, u32>);

impl Flavor for Sum {
    type Output = u32;

    fn try_push(&mut self, byte: u8) -> postcard::Result<()> {
        self.try_extend(&[byte])
    }

    fn try_extend(&mut self, bytes: &[u8]) -> postcard::Result<()> {
        self.0.update(bytes);
        Ok(())
    }

    fn finalize(self) -> postcard::Result<u32> {
        Ok(self.0.finalize())
    }
}
