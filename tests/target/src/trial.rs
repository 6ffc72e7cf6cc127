//! Trials: orders by which a test makes this processor fail, and asks what it has seen.
//!
//! They come over a line of their own, so that the link to the host is that of a real
//! board. Each is one letter, echoed once it is taken:
//!
//! | order | what happens |
//! |---|---|
//! | `S` | the next tick never ends |
//! | `L` and one byte | the next tick takes so many milliseconds longer |
//! | `P` | the next tick panics |
//! | `H` | the next tick reads where no memory is |
//! | `C` and two bytes, low first | the power is cut once so many more bytes are kept |
//! | `R` | the processor resets at once |
//! | `F` | tells the [figures](crate::meter), and counts anew |

use core::sync::atomic::{AtomicU8, Ordering};

use crate::clock::{HERTZ, Moment};
use crate::uart::Uart;
use crate::{memory, meter, watchdog};

/// What befalls the next tick: the letter of its order; zero for nothing.
static NEXT: AtomicU8 = AtomicU8::new(0);
/// How much longer the next tick takes, ms.
static LONGER: AtomicU8 = AtomicU8::new(0);

/// Takes the order that has come in, if any.
pub fn take() {
    let Some(order) = Uart::TRIAL.read() else {
        return;
    };
    match order {
        b'S' | b'P' | b'H' => NEXT.store(order, Ordering::Relaxed),
        b'L' => {
            LONGER.store(argument(), Ordering::Relaxed);
            NEXT.store(order, Ordering::Relaxed);
        }
        b'C' => memory::cut_after(u16::from_le_bytes([argument(), argument()])),
        b'R' => crate::restart(),
        b'F' => {
            Uart::TRIAL.write(&[order]);
            meter::tell(|bytes| Uart::TRIAL.write_while(bytes, watchdog::feed_if_hungry));
            return;
        }
        // Nothing is known of other orders, and not echoing them says so.
        _ => return,
    }
    Uart::TRIAL.write(&[order]);
}

fn argument() -> u8 {
    loop {
        if let Some(byte) = Uart::TRIAL.read() {
            return byte;
        }
        // A busy host may take long to bring it: that is no stall.
        watchdog::feed_if_hungry();
    }
}

/// Lets happen in this tick what was ordered.
///
/// # Panics
/// When that was ordered.
pub fn befall() {
    match NEXT.swap(0, Ordering::Relaxed) {
        b'S' => loop {
            cortex_m::asm::nop();
        },
        b'L' => {
            let begun = Moment::now();
            let longer = u32::from(LONGER.load(Ordering::Relaxed)) * (HERTZ / 1000);
            while begun.elapsed() < longer {}
        }
        b'P' => panic!("a trial asked for it"),
        b'H' => {
            // SAFETY: nothing is there; the processor raises a fault, as was asked for.
            unsafe { core::ptr::with_exposed_provenance::<u32>(0xF000_0000).read_volatile() };
        }
        _ => {}
    }
}
