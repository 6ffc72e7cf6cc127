//! A serial line, polled.

use crate::register::Register;

/// A serial line of the board.
#[derive(Clone, Copy, Debug)]
pub struct Uart {
    data: Register,
    state: Register,
    control: Register,
    divisor: Register,
}

impl Uart {
    /// The line to the host.
    pub const LINK: Self = Self::at(0x4000_4000);
    /// The line of trial orders.
    pub const TRIAL: Self = Self::at(0x4000_5000);

    const fn at(base: usize) -> Self {
        // SAFETY: the registers of the board's first or second serial line.
        unsafe {
            Self {
                data: Register::at(base),
                state: Register::at(base + 4),
                control: Register::at(base + 8),
                divisor: Register::at(base + 16),
            }
        }
    }

    /// Switches it on, in both directions.
    pub fn start(self) {
        // The emulator does not pace the line; the divisor only has to be allowed.
        self.divisor.write(16);
        self.control.write(3);
    }

    /// The byte that has come in, if any.
    #[must_use]
    pub fn read(self) -> Option<u8> {
        let has_come = self.state.read() & 2 != 0;
        has_come.then(|| self.data.read().to_le_bytes()[0])
    }

    /// Sends bytes, waiting for room.
    pub fn write(self, bytes: &[u8]) {
        for &byte in bytes {
            while self.state.read() & 1 != 0 {}
            self.data.write(byte.into());
        }
    }
}
