//! Nothing but start-up: what an image weighs without the controller.

#![no_std]
#![no_main]

use cortex_m_rt::entry;
use mastwright_target as _;

#[entry]
fn main() -> ! {
    loop {
        cortex_m::asm::nop();
    }
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {}
}
