//! `Sequencer::step` and nothing else, in an image that does not link if it can panic.
//!
//! With the feature `panics` one path to a panic is put in, and the image must not link:
//! so the check itself is checked.

#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m_rt::entry;
use mastwright_core::{Config, Inputs, Sequencer};
use mastwright_target as _;

#[entry]
fn main() -> ! {
    let config = black_box(Config::default());
    let mut sequencer = black_box(Sequencer::default());
    loop {
        let inputs = black_box(Inputs::default());
        let outputs = sequencer.step(&inputs, &config);
        #[cfg(feature = "panics")]
        black_box(outputs.events[black_box(0)]);
        black_box(outputs);
    }
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    unsafe extern "C" {
        fn a_path_to_a_panic_is_left() -> !;
    }
    // SAFETY: never called: no such function exists, and an image in which the call is
    // left does not link.
    unsafe { a_path_to_a_panic_is_left() }
}
