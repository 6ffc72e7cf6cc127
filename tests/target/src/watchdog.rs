//! The board's watchdog.
//!
//! Unfed for [`TIME`] it interrupts the processor, which no program can mask: the crash
//! handler then drops every output. Unfed as long again it resets the processor, which
//! clears the outputs whatever the handler did.

use core::sync::atomic::{AtomicU32, Ordering};

use mastwright_core::board::Watchdog;

use crate::clock::{Moment, TICK};
use crate::register::Register;

/// Counts of the 25 MHz clock until it barks: five ticks.
pub const TIME: u32 = 5 * TICK;

// SAFETY: the registers of the board's watchdog.
const LOAD: Register = unsafe { Register::at(0x4000_8000) };
// SAFETY: as above.
const CONTROL: Register = unsafe { Register::at(0x4000_8008) };
// SAFETY: as above.
const CLEAR: Register = unsafe { Register::at(0x4000_800C) };
// SAFETY: as above.
const LOCK: Register = unsafe { Register::at(0x4000_8C00) };

/// When it was fed.
static FED: AtomicU32 = AtomicU32::new(0);

const UNLOCKED: u32 = 0x1ACC_E551;
const INTERRUPT_AND_RESET: u32 = 3;

/// The watchdog.
#[derive(Debug)]
pub struct Dog(());

impl Dog {
    /// Starts it. Only what leads to a reset stops it again.
    #[must_use]
    pub fn start() -> Self {
        LOCK.write(UNLOCKED);
        LOAD.write(TIME);
        CONTROL.write(INTERRUPT_AND_RESET);
        feed();
        Self(())
    }
}

/// Stops it, just before a reset.
pub(crate) fn stop() {
    CONTROL.write(0);
}

/// Gives it all the time there is, for a sleep: 171 s.
pub(crate) fn lull() {
    LOAD.write(u32::MAX);
}

/// Ends a sleep: it counts its usual time again, from now on.
pub(crate) fn rouse() {
    LOAD.write(TIME);
    feed();
}

/// Feeds it, for who waits for the host on purpose, if a tenth of its time has passed: to
/// write to it takes the emulator far longer than to read the time.
pub fn feed_if_hungry() {
    if unfed() > TIME / 10 {
        feed();
    }
}

/// Feeds it.
pub fn feed() {
    // Writing anything takes the count back to the load.
    CLEAR.write(1);
    FED.store(Moment::now().get(), Ordering::Relaxed);
}

/// Counts of the clock since it was fed.
#[must_use]
pub fn unfed() -> u32 {
    Moment::at(FED.load(Ordering::Relaxed)).elapsed()
}

impl Watchdog for Dog {
    fn feed(&mut self) {
        feed();
    }
}
