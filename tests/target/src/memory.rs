//! Memory that outlives a reset: RAM that start-up leaves alone. It stands in for flash.
//!
//! A trial can cut the power at any byte of a write: the processor then resets itself
//! with that many bytes written.

use core::cell::UnsafeCell;
use core::convert::Infallible;
use core::mem::MaybeUninit;
use core::sync::atomic::{AtomicU32, Ordering};

use mastwright_core::journal::{NonVolatile, SLOT_BYTES, Slot};

type Slots = [[u8; SLOT_BYTES]; 2];

struct Kept(UnsafeCell<MaybeUninit<Slots>>);

// SAFETY: only `Memory` reaches it, of which there is one, and which is not shared.
unsafe impl Sync for Kept {}

#[unsafe(link_section = ".uninit.record")]
static KEPT: Kept = Kept(UnsafeCell::new(MaybeUninit::uninit()));

/// Bytes that can still be written before the power is cut; [`NEVER`] for any number.
static LEFT: AtomicU32 = AtomicU32::new(NEVER);
const NEVER: u32 = u32::MAX;

/// Cuts the power once this many more bytes are written.
pub fn cut_after(bytes: u16) {
    LEFT.store(bytes.into(), Ordering::Relaxed);
}

/// The two slots. At the emulator's start they are zero, which is blank.
#[derive(Debug)]
pub struct Memory(());

impl Memory {
    /// The memory.
    ///
    /// # Safety
    /// To be called once.
    #[must_use]
    pub const unsafe fn take() -> Self {
        Self(())
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
        match LEFT.load(Ordering::Relaxed) {
            NEVER => {}
            0 => crate::restart(),
            left => LEFT.store(left - 1, Ordering::Relaxed),
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
