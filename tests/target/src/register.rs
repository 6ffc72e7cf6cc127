//! A register of the board: the one place that touches memory by address.

/// A 32-bit register.
#[derive(Clone, Copy, Debug)]
pub struct Register(usize);

impl Register {
    /// The register at this address.
    ///
    /// # Safety
    /// `address` must be that of a register of the board, aligned to four bytes, that
    /// no Rust object occupies.
    #[must_use]
    pub const unsafe fn at(address: usize) -> Self {
        Self(address)
    }

    /// Reads it.
    #[must_use]
    pub fn read(self) -> u32 {
        // SAFETY: a register by the promise of `at`; reading it is what it is for.
        unsafe { core::ptr::with_exposed_provenance::<u32>(self.0).read_volatile() }
    }

    /// Writes it.
    pub fn write(self, value: u32) {
        // SAFETY: as in `read`; no Rust object is changed by it.
        unsafe { core::ptr::with_exposed_provenance_mut::<u32>(self.0).write_volatile(value) }
    }
}
