//! A serial line: polled, with an interrupt only to be woken by.

use crate::register::Register;

/// A serial line of the board.
#[derive(Clone, Copy, Debug)]
pub struct Uart {
    data: Register,
    state: Register,
    control: Register,
    interrupt: Register,
    divisor: Register,
}

/// A byte has come in.
const RECEIVED: u32 = 2;

/// How often it is looked for the next byte of a frame before it is slept for.
const LOOKS: u32 = 32;
/// Cycles between two looks. The emulator brings the next byte only while nobody looks.
const BETWEEN_LOOKS: u32 = 400;

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
                interrupt: Register::at(base + 12),
                divisor: Register::at(base + 16),
            }
        }
    }

    /// Switches it on, in both directions; a byte that comes in makes its interrupt
    /// pending.
    pub fn start(self) {
        // The emulator does not pace the line; the divisor only has to be allowed.
        self.divisor.write(16);
        self.control.write(0b1011);
        // The emulator brings what came while the line was off only once it is read. The
        // zero before the first frame, which alone can get lost here, says nothing.
        let _ = self.data.read();
    }

    /// Takes back the interrupt of the bytes that have come in so far.
    pub fn quiet(self) {
        self.interrupt.write(RECEIVED);
    }

    /// The byte that has come in, if any.
    #[must_use]
    pub fn read(self) -> Option<u8> {
        let has_come = self.state.read() & 2 != 0;
        has_come.then(|| self.data.read().to_le_bytes()[0])
    }

    /// The byte that has come in, or comes in a moment. To sleep between any two bytes of
    /// a frame would take the emulator longer than everything else together.
    #[must_use]
    pub fn read_soon(self) -> Option<u8> {
        for _ in 0..LOOKS {
            let byte = self.read();
            if byte.is_some() {
                return byte;
            }
            cortex_m::asm::delay(BETWEEN_LOOKS);
        }
        None
    }

    /// Sends bytes, waiting for room.
    pub fn write(self, bytes: &[u8]) {
        self.write_while(bytes, || {});
    }

    /// Sends bytes, doing something while it waits for room.
    pub fn write_while(self, bytes: &[u8], mut wait: impl FnMut()) {
        for &byte in bytes {
            while self.state.read() & 1 != 0 {
                wait();
            }
            self.data.write(byte.into());
        }
    }
}
