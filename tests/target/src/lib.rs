//! The controller on an emulated Cortex-M4F board.
//!
//! Responsibilities:
//! 1. Offer what `mastwright_core::board` asks of a board: [`pins`], [`sensors`],
//!    [`watchdog`], [`clock`], and a [`memory`] that outlives a reset.
//! 2. Carry the link to the host over the first [`uart`], or in its place over files
//!    ([`line`]); take [`trial`] orders, by which a test makes this processor fail, over
//!    the second.
//! 3. On a [`crash`] drop every output first, then report, then start anew.
//!
//! The board is the emulator's mps2-an386: a Cortex-M4F at 25 MHz. Its general-purpose
//! pins are not emulated; the LED register stands in for them, since it is cleared by a
//! reset, as pins are, and can be read from outside while the processor stands still.
//!
//! Register addresses and bits: Arm Application Note AN386 and Cortex-M System Design Kit
//! Technical Reference Manual, from memory; checked by running.

#![no_std]

pub mod clock;
#[cfg(feature = "flight")]
pub mod crash;
#[cfg(feature = "flight")]
pub mod flight;
#[cfg(feature = "flight")]
pub mod line;
pub mod memory;
#[cfg(feature = "flight")]
pub mod meter;
pub mod pins;
pub mod register;
pub mod sensors;
pub mod sleep;
#[cfg(feature = "flight")]
pub mod trial;
pub mod uart;
pub mod watchdog;

/// Starts the processor anew.
pub fn restart() -> ! {
    // The emulator does so a moment later, in which the watchdog must not bark.
    watchdog::stop();
    cortex_m::peripheral::SCB::sys_reset()
}
