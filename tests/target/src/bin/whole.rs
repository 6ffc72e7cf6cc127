//! Everything of the controller's crate that flies: limits checked, controller, journal,
//! board and heat warning. It does not link if any of it can panic.

#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m_rt::entry;
use mastwright_core::board::Board;
use mastwright_core::heat_warning::{HeatInputs, HeatLimits, HeatWarning};
use mastwright_core::journal::{Journal, Stamp};
use mastwright_core::{Config, Inputs, Sequencer, Settings};
use mastwright_target::clock::{EndOfTick, Moment};
use mastwright_target::memory::Memory;
use mastwright_target::sensors::Ports;
use mastwright_target::watchdog::Dog;
use mastwright_target::{clock, pins, sensors};

/// What the controller keeps from tick to tick, in one place, so that it can be weighed.
struct Kept {
    config: Config,
    sequencer: Sequencer,
    journal: Journal,
    board: Board<Ports>,
    limits: HeatLimits,
    heat: HeatWarning,
}

#[entry]
fn main() -> ! {
    clock::start();
    // SAFETY: the only call.
    let mut memory = unsafe { Memory::take() };
    let (journal, recovered) = Journal::recover(&mut memory);
    let config = Config::new(black_box(Settings::default())).unwrap_or_default();
    let kept = Kept {
        config,
        sequencer: Sequencer::wake(recovered.retained.faults, &config),
        journal,
        board: Board::new(sensors::sensors(), pins::actuators(), Dog::start()),
        limits: HeatLimits::default(),
        heat: HeatWarning::default(),
    };
    // There is one call, so there is one.
    if let Some(kept) = cortex_m::singleton!(: Kept = kept) {
        run(kept, &mut memory);
    }
    loop {
        cortex_m::asm::nop();
    }
}

fn run(kept: &mut Kept, memory: &mut Memory) -> ! {
    let mut now = Stamp::default();
    loop {
        sensors::give(&black_box(Inputs::default()));
        let mut deadline = EndOfTick(Moment::now());
        let ticked = kept
            .board
            .tick(&mut kept.sequencer, &kept.config, &mut deadline);
        black_box(
            kept.heat
                .step(&black_box(HeatInputs::default()), &kept.limits),
        );
        kept.journal.note(now, &ticked.outputs);
        let _ = kept.journal.save(memory);
        black_box(kept.board.inputs());
        now = now.next();
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
