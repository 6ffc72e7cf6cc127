//! The non-volatile memory of the simulated board: two slots that outlive power.

use mastwright_core::journal::{NonVolatile, SLOT_BYTES, Slot};

/// Two slots, blank at first, as erased flash is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Memory([[u8; SLOT_BYTES]; 2]);

impl Default for Memory {
    fn default() -> Self {
        Self([[0xff; SLOT_BYTES]; 2])
    }
}

impl Memory {
    /// Two slots that hold these bytes.
    #[must_use]
    pub const fn of(slots: [[u8; SLOT_BYTES]; 2]) -> Self {
        Self(slots)
    }

    /// Both slots as they are.
    #[must_use]
    pub const fn slots(&self) -> &[[u8; SLOT_BYTES]; 2] {
        &self.0
    }

    fn slot(&mut self, slot: Slot) -> &mut [u8; SLOT_BYTES] {
        let [a, b] = &mut self.0;
        match slot {
            Slot::A => a,
            Slot::B => b,
        }
    }
}

impl NonVolatile for Memory {
    type Error = std::convert::Infallible;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Self::Error> {
        into.copy_from_slice(self.slot(slot));
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Self::Error> {
        self.slot(slot).copy_from_slice(bytes);
        Ok(())
    }
}
