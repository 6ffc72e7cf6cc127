//! What becomes of the outputs when the program does not go on as it should.

use mastwright_core::inputs::Controls;
use mastwright_core::link::message::Memory;
use mastwright_core::link::{Crash, Reset, Restart, Woke};
use mastwright_core::outputs::Event;
use mastwright_core::units::Ticks;
use mastwright_core::{Fault, Inputs};
use mastwright_sim::link::{Host, What};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::SHIPPED;
use mastwright_sim::world::World;
use mastwright_tests::target::emulator::{Emulator, Pins};
use mastwright_tests::target::figures::Limits;

use super::{emulator, ok};

/// Counts of the target's clock in a millisecond.
const MILLISECOND: u32 = 25_000;

/// Flies on until outputs are on, and gives the readings of the next tick.
fn until_something_is_driven(host: &mut Host<Emulator>) -> (u32, Inputs) {
    let shipped = SHIPPED[0];
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("a shipped scenario");
    let mut world: World = World::new(&scenario, scenario.seed);
    ok(host.hello());
    ok(host.settings(&scenario.config.settings()));
    ok(host.reset(&Reset {
        memory: Memory::Blank,
        restart: Restart::Controller,
        silence: Ticks::ZERO,
    }));
    for tick in 0.. {
        let inputs = world.step().inputs;
        ok(host.ticks(tick, &[inputs]));
        let pins = ok(host.line_mut().pins());
        if pins.levels.count_ones() > 4 {
            return (tick + 1, world.step().inputs);
        }
        assert!(tick < 6_000, "nothing is ever driven: {pins:?}");
    }
    unreachable!("the loop ends by itself")
}

/// The host's end of a board on which something is driven, the next tick and its readings.
fn flying() -> (Host<Emulator>, u32, Inputs) {
    let mut host = Host::new(emulator());
    let (tick, inputs) = until_something_is_driven(&mut host);
    (host, tick, inputs)
}

/// The board starts anew, and nothing moves, whatever the readings are.
fn nothing_moves_after_a_new_start(host: &mut Host<Emulator>, inputs: &Inputs) {
    let ready = ok(host.hello());
    assert_eq!((ready.woke, ready.tick), (Woke::Started, 0));
    ok(host.reset(&Reset {
        memory: Memory::Kept,
        restart: Restart::Controller,
        silence: Ticks::ZERO,
    }));
    let no_hands = Inputs {
        controls: Controls::default(),
        ..*inputs
    };
    for tick in 0..200 {
        let answers = ok(host.ticks(tick, &[no_hands]));
        let drives = answers[0].outputs.drives;
        assert!(!drives.mast_power && !drives.door_power && !drives.motor_enable);
    }
}

#[test]
#[ignore = "needs the emulator"]
fn a_tick_that_never_ends_loses_its_outputs_in_the_set_time() {
    let (mut host, tick, inputs) = flying();
    ok(host.line_mut().order(b"S"));
    let failed = host
        .ticks(tick, &[inputs])
        .expect_err("a stall answers nothing");
    let What::Crashed(report) = failed.what else {
        panic!("{failed}");
    };
    assert_eq!(report.crash, Crash::Watchdog);
    // The emulator is asked, not the program: the processor stands still.
    ok(host.line_mut().await_pins(|pins| pins == Pins::FAIL_SAFE));
    nothing_moves_after_a_new_start(&mut host, &inputs);
    let counts = ok(host.line_mut().counts());
    let limit = ok(Limits::read()).watchdog.milliseconds * MILLISECOND;
    println!(
        "outputs dropped {} us after the latest feed",
        counts.barked_after / 25
    );
    assert!(
        counts.barked_after > 0 && counts.barked_after < limit,
        "{counts:?}"
    );
}

#[test]
#[ignore = "needs the emulator"]
fn a_late_tick_leaves_outputs_fail_safe_and_the_next_is_told() {
    let (mut host, tick, inputs) = flying();
    ok(host.line_mut().order(&[b'L', 12]));
    ok(host.ticks(tick, &[inputs]));
    assert_eq!(ok(host.line_mut().pins()), Pins::FAIL_SAFE);
    let answers = ok(host.ticks(tick + 1, &[inputs]));
    let told = Event::Latched(Fault::DeadlineMissed);
    assert!(answers[0].outputs.events.contains(&told), "{answers:?}");
}

#[test]
#[ignore = "needs the emulator"]
fn a_panic_drops_outputs_first_then_tells_then_starts_anew() {
    let (mut host, tick, inputs) = flying();
    ok(host.line_mut().order(b"P"));
    let failed = host
        .ticks(tick, &[inputs])
        .expect_err("a panic answers nothing");
    let What::Crashed(report) = failed.what else {
        panic!("{failed}");
    };
    assert_eq!(report.crash, Crash::Panic);
    assert_eq!(report.text.as_str(), "a trial asked for it");
    assert_eq!(ok(host.line_mut().pins()), Pins::FAIL_SAFE);
    nothing_moves_after_a_new_start(&mut host, &inputs);
}

#[test]
#[ignore = "needs the emulator"]
fn a_hard_fault_drops_outputs_first_then_tells_then_starts_anew() {
    let (mut host, tick, inputs) = flying();
    ok(host.line_mut().order(b"H"));
    let failed = host
        .ticks(tick, &[inputs])
        .expect_err("a fault answers nothing");
    let What::Crashed(report) = failed.what else {
        panic!("{failed}");
    };
    assert_eq!(report.crash, Crash::HardFault);
    assert!(report.place > 0);
    assert_eq!(ok(host.line_mut().pins()), Pins::FAIL_SAFE);
    nothing_moves_after_a_new_start(&mut host, &inputs);
}

#[test]
#[ignore = "needs the emulator"]
fn a_line_that_falls_silent_or_talks_nonsense_leaves_outputs_fail_safe() {
    let (mut host, _, _) = flying();
    use mastwright_sim::link::Line;
    ok(host.line_mut().send(b"\0no frame at all\0"));
    ok(host.line_mut().await_pins(|pins| pins == Pins::FAIL_SAFE));
}
