//! Sleep until something comes in, or for a tick at most.
//!
//! Interrupts only wake: they stay masked, and none is ever served. The watchdog's cannot
//! be masked.

use cortex_m::interrupt::{self, InterruptNumber};
use cortex_m::peripheral::syst::SystClkSource;
use cortex_m::peripheral::{NVIC, SCB, SYST};

use crate::clock::TICK;
use crate::uart::Uart;
use crate::watchdog;

/// The interrupts that wake.
#[derive(Clone, Copy)]
enum Wake {
    /// A byte of the link.
    Link = 0,
    /// A byte of a trial.
    Trial = 2,
}

// SAFETY: the numbers are the board's, and do not change.
unsafe impl InterruptNumber for Wake {
    fn number(self) -> u16 {
        self as u16
    }
}

/// Lets bytes and the end of a tick wake.
pub fn start(mut systick: SYST) {
    interrupt::disable();
    systick.set_clock_source(SystClkSource::Core);
    systick.set_reload(TICK - 1);
    systick.clear_current();
    systick.enable_counter();
    systick.enable_interrupt();
    for wake in [Wake::Link, Wake::Trial] {
        // SAFETY: interrupts are masked, so that none is served.
        unsafe { NVIC::unmask(wake) };
    }
}

/// Sleeps. What came in before is not overslept: its interrupt is pending.
///
/// While the processor sleeps, and then only, the emulator's time follows the host's, and
/// jumps when the host is busy: the watchdog would bark at a program that is well. It
/// gets far more time meanwhile. On a real board, whose time does not jump, it would not.
pub fn until_woken() {
    watchdog::lull();
    cortex_m::asm::wfi();
    watchdog::rouse();
    SCB::clear_pendst();
    NVIC::unpend(Wake::Link);
    NVIC::unpend(Wake::Trial);
    // Last, so that a line that is still awake can wake again.
    Uart::LINK.quiet();
    Uart::TRIAL.quiet();
}
