//! The controller on its board, behind the link.

#![no_std]
#![no_main]

use cortex_m_rt::{ExceptionFrame, entry, exception};
use defmt_semihosting as _;
use mastwright_core::board::Board;
use mastwright_core::link::Stance;
use mastwright_core::link::responder::{Responder, Served};
use mastwright_target::clock::{self, Moment, TICK};
use mastwright_target::flight::Flight;
use mastwright_target::line::Line;
use mastwright_target::memory::Memory;
use mastwright_target::uart::Uart;
use mastwright_target::watchdog::{self, Dog};
use mastwright_target::{crash, pins, restart, sensors, sleep, trial};

const BUILD: &str = concat!("Cortex-M4F, emulated, version ", env!("CARGO_PKG_VERSION"));

type Target = Responder<Memory, Flight>;

#[entry]
fn main() -> ! {
    pins::drop_all();
    clock::start();
    Uart::LINK.start();
    Uart::TRIAL.start();
    // There is one call, so the peripherals are there.
    if let Some(peripherals) = cortex_m::Peripherals::take() {
        sleep::start(peripherals.SYST);
    }
    let board = Board::new(sensors::sensors(), pins::actuators(), Dog::start());
    // SAFETY: the only call.
    let memory = unsafe { Memory::take() };
    let target = Responder::on(Flight::on(board), memory, BUILD);
    // There is one call, so there is one.
    if let Some(target) = cortex_m::singleton!(: Target = target) {
        serve(target, &mut Line::find());
    }
    restart()
}

/// So many bytes are taken before time, trials and watchdog are looked after: far fewer
/// than come in the time of the watchdog.
const AT_ONCE: usize = 16;

fn serve(target: &mut Target, line: &mut Line) -> ! {
    defmt::info!("started");
    line.write_while(target.greet(), watchdog::feed_if_hungry);
    let mut tick = Moment::now();
    loop {
        trial::take();
        if !take_some(target, line) && target.carrier().is_sound() {
            sleep::until_woken();
        }
        if tick.elapsed() >= TICK {
            tick = Moment::now();
            target.tick();
            hold(target);
        }
        // Waiting for the host is no stall. Only a board that does not obey is left to
        // the watchdog.
        if target.carrier().is_sound() {
            watchdog::feed_if_hungry();
        }
    }
}

/// Takes bytes of the link as long as they come one after the other. False when none did.
fn take_some(target: &mut Target, line: &mut Line) -> bool {
    for taken in 0..AT_ONCE {
        let Some(byte) = line.read_soon() else {
            return taken > 0;
        };
        match target.feed(byte) {
            Served::Nothing => {}
            // A host that is slow to listen is no stall either.
            Served::Reply(bytes) => line.write_while(bytes, watchdog::feed_if_hungry),
            Served::Restart => restart(),
        }
        hold(target);
    }
    true
}

/// Keeps the outputs fail-safe unless ticks are being flown.
fn hold(target: &mut Target) {
    match target.stance() {
        Stance::Running => {}
        Stance::Idle | Stance::Held(_) => {
            // What does not obey here will not obey in the next tick either, which says so.
            let _ = target.carrier().fail_safe();
        }
    }
}

#[panic_handler]
fn panic(info: &core::panic::PanicInfo<'_>) -> ! {
    crash::panicked(info)
}

#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    crash::hard_fault(frame)
}

#[exception]
unsafe fn NonMaskableInt() -> ! {
    crash::watchdog_barked()
}
