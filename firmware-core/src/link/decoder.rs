//! From bytes, one at a time, to frames.
//!
//! Total: whatever comes in, the decoder neither fails nor stays lost; the next zero
//! sets it right. Zeros with nothing between them say nothing.

use super::bound::FRAME_MAX;
use super::frame::{DELIMITER, Frame, MARK};
use super::message::Trouble;

/// Collects bytes until a zero closes them.
#[derive(Clone, Debug)]
pub struct Decoder {
    bytes: [u8; FRAME_MAX],
    /// How many bytes have come since the last zero; more than there is room for
    /// means too many.
    used: usize,
}

impl Default for Decoder {
    fn default() -> Self {
        Self::new()
    }
}

impl Decoder {
    /// A decoder that has seen nothing.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            bytes: [0; FRAME_MAX],
            used: 0,
        }
    }

    /// Takes one byte. A frame comes out, or word of what was none, when one is closed.
    pub fn feed(&mut self, byte: u8) -> Option<Result<Frame<'_>, Trouble>> {
        if byte != DELIMITER {
            if let Some(place) = self.bytes.get_mut(self.used) {
                *place = byte;
            }
            self.used = self.used.saturating_add(1).min(FRAME_MAX.saturating_add(1));
            return None;
        }
        match core::mem::take(&mut self.used) {
            0 => None,
            used => Some(self.close(used)),
        }
    }

    /// True while a frame, or what may become one, has begun and is not closed.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.used > 0
    }

    /// Forgets what has come in since the last zero.
    pub const fn forget(&mut self) {
        self.used = 0;
    }

    fn close(&mut self, used: usize) -> Result<Frame<'_>, Trouble> {
        let encoded = self.bytes.get_mut(..used).ok_or(Trouble::TooLong)?;
        // Behind the first byte of the encoding the mark shows as it is.
        let ours = encoded.get(1..3) == Some(&MARK);
        let length = cobs::decode_in_place(encoded).map_err(|_| {
            if ours {
                Trouble::Torn
            } else {
                Trouble::Foreign
            }
        })?;
        Frame::of(encoded.get(..length).unwrap_or(&[]))
    }
}
