//! Memory that outlives a reset: RAM that start-up leaves alone. It stands in for flash.
//!
//! A trial can cut the power at any byte of a write: the processor then resets itself
//! with that many bytes written.

use core::cell::UnsafeCell;
use core::convert::Infallible;
use core::mem::MaybeUninit;

use cortex_m::peripheral::SCB;
use mastwright_core::journal::{NonVolatile, SLOT_BYTES, Slot};

type Slots = [[u8; SLOT_BYTES]; 2];

struct Kept(UnsafeCell<MaybeUninit<Slots>>);

// SAFETY: only `Memory` reaches it, of which there is one, and which is not shared.
unsafe impl Sync for Kept {}

#[unsafe(link_section = ".uninit.record")]
static KEPT: Kept = Kept(UnsafeCell::new(MaybeUninit::uninit()));

/// The two slots. At the emulator's start they are zero, which is blank.
#[derive(Debug)]
pub struct Memory {
    /// Bytes that can still be written before the power is cut.
    left: Option<usize>,
}

impl Memory {
    /// The memory.
    ///
    /// # Safety
    /// To be called once.
    #[must_use]
    pub const unsafe fn take() -> Self {
        Self { left: None }
    }

    /// Cuts the power once this many more bytes are written.
    pub const fn cut_after(&mut self, bytes: usize) {
        self.left = Some(bytes);
    }

    /// Both slots as they are.
    #[must_use]
    pub fn slots(&self) -> Slots {
        let [mut a, mut b] = [[0; SLOT_BYTES]; 2];
        for (place, byte) in a.iter_mut().enumerate() {
            *byte = self.byte(Slot::A, place);
        }
        for (place, byte) in b.iter_mut().enumerate() {
            *byte = self.byte(Slot::B, place);
        }
        [a, b]
    }

    fn place(slot: Slot, place: usize) -> *mut u8 {
        let slot = match slot {
            Slot::A => 0,
            Slot::B => SLOT_BYTES,
        };
        KEPT.0.get().cast::<u8>().wrapping_add(slot + place)
    }

    fn byte(&self, slot: Slot, place: usize) -> u8 {
        // SAFETY: within the slots, since `place` comes from a slice of that length.
        // Volatile, since what is there was not written by this run of the program.
        unsafe { Self::place(slot, place).read_volatile() }
    }

    fn set(&mut self, slot: Slot, place: usize, byte: u8) {
        match &mut self.left {
            Some(0) => SCB::sys_reset(),
            Some(left) => *left -= 1,
            None => {}
        }
        // SAFETY: as in `byte`; `self` is borrowed alone.
        unsafe { Self::place(slot, place).write_volatile(byte) }
    }
}

impl NonVolatile for Memory {
    type Error = Infallible;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Infallible> {
        for (place, byte) in into.iter_mut().take(SLOT_BYTES).enumerate() {
            *byte = self.byte(slot, place);
        }
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Infallible> {
        for (place, &byte) in bytes.iter().take(SLOT_BYTES).enumerate() {
            self.set(slot, place, byte);
        }
        Ok(())
    }
}
