//! Waking, resting, stowed: what is heard there, and where it leads.

use super::rig::{MAST, Rig};
use crate::outputs::{Event, Fans};
use crate::signal::Signal;
use crate::units::{DeciCelsius, Millivolts, Permille};
use crate::{Fault, Faults, Halt, Intention, State};

#[test]
fn nothing_is_decided_before_the_wake_time_is_over() {
    let mut rig = Rig::unwoken(0, 0);
    for _ in 0..49 {
        rig.tick();
        assert_eq!(rig.state(), State::Waking);
    }
    rig.tick();
    assert_eq!(rig.state(), State::Stowed);
}

#[test]
fn a_controller_woken_with_a_live_bus_waits_for_it_to_drain_before_it_tells() {
    let mut rig = Rig::unwoken(0, 0);
    rig.inputs.bus.voltage = Signal::fresh(Millivolts::new(200_000));
    rig.tick();
    assert_eq!(rig.outputs.indications.faults, Faults::empty());
    assert!(rig.outputs.drives.bus.discharge);
}

/// Woken with key and acknowledge together, changed by `change`.
fn woken(change: impl Fn(&mut Rig)) -> State {
    let mut rig = Rig::unwoken(0, 0);
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.press_acknowledge(true);
    change(&mut rig);
    rig.run(60);
    rig.state()
}

#[test]
fn bench_is_entered_by_key_and_acknowledge_with_the_throttle_at_zero_in_slow_air_only() {
    assert_eq!(woken(|_| {}), State::Bench);
    assert_eq!(woken(|rig| rig.airspeed(40)), State::Bench);
    assert_eq!(woken(|rig| rig.airspeed(41)), State::Stowed);
    assert_eq!(woken(|rig| rig.throttle(200)), State::Stowed);
    assert_eq!(woken(|rig| rig.press_acknowledge(false)), State::Stowed);
    let no_key = woken(|rig| rig.inputs.controls.bench_key = Signal::fresh(false));
    assert_eq!(no_key, State::Stowed);
    let unheard = woken(|rig| rig.inputs.airspeed = rig.inputs.airspeed.invalidated());
    assert_eq!(unheard, State::Stowed);
}

#[test]
fn stowed_needs_the_mast_stowed_and_the_doors_shut() {
    for (mast, doors, expected) in [
        (0, 0, State::Stowed),
        (0, 1000, State::Resting),
        (MAST / 2, 1000, State::Resting),
    ] {
        let mut rig = Rig::unwoken(mast, doors);
        rig.run(60);
        assert_eq!(rig.state(), expected, "mast {mast} doors {doors}");
    }
}

#[test]
fn at_rest_the_bench_key_turns_any_intention_into_a_halt() {
    let mut rig = Rig::unwoken(MAST / 2, 1000);
    rig.run(60);
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.run(100);
    assert_eq!(rig.state(), State::Resting, "the key alone halts nothing");
    rig.deploy();
    assert_eq!(rig.state(), State::Halted(Halt::BenchKey));

    let mut rig = Rig::stowed();
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.run(100);
    rig.stow();
    assert_eq!(rig.state(), State::Stowed, "it is stowed already");
    rig.deploy();
    assert_eq!(rig.state(), State::Halted(Halt::BenchKey));
}

#[test]
fn at_rest_one_stop_contact_halts_and_both_stow() {
    let mut rig = Rig::unwoken(MAST / 2, 1000);
    rig.run(60);
    rig.inputs.controls.stop_a = Signal::fresh(true);
    rig.run(2);
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));

    let mut rig = Rig::unwoken(MAST / 2, 1000);
    rig.run(60);
    rig.stop(true);
    rig.run(2);
    assert_eq!(rig.state(), State::StowPower);
}

#[test]
fn what_is_found_stowed_at_rest_is_stowed_and_in_a_halt_it_stays_halted() {
    let mut rig = Rig::unwoken(0, 0);
    rig.inputs.mast.position = rig.inputs.mast.position.invalidated();
    rig.run(100);
    assert_eq!(rig.state(), State::Resting);
    rig.inputs.mast.position = Signal::fresh(Permille::ZERO);
    rig.run(2);
    assert_eq!(rig.state(), State::Stowed);

    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.deploy();
    rig.run(200);
    assert_eq!(rig.state(), State::Halted(Halt::BenchKey));
}

#[test]
fn what_is_no_longer_proven_stowed_rests_after_a_while() {
    let mut rig = Rig::stowed();
    let heard = rig.inputs.mast.stowed_switch;
    rig.inputs.mast.stowed_switch = heard.invalidated();
    rig.run(9);
    assert_eq!(rig.state(), State::Stowed);
    rig.inputs.mast.stowed_switch = heard;
    rig.run(50);
    assert_eq!(rig.state(), State::Stowed, "it was a moment only");
    rig.inputs.mast.stowed_switch = heard.invalidated();
    rig.run(10);
    assert_eq!(rig.state(), State::Resting);
}

#[test]
fn a_stop_thrown_in_the_very_tick_in_which_stowed_is_lost_is_answered() {
    let mut rig = Rig::stowed();
    rig.inputs.mast.stowed_switch = rig.inputs.mast.stowed_switch.invalidated();
    rig.run(9);
    rig.stop(true);
    rig.tick();
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));
}

#[test]
fn what_is_stowed_is_not_stowed_again_and_says_that_it_ignored_the_push() {
    let mut rig = Rig::stowed();
    rig.stow();
    rig.stop(true);
    rig.run(5);
    assert_eq!(rig.state(), State::Stowed);
    let ignored = |intention| rig.events.contains(&Event::Ignored(intention));
    assert!(ignored(Intention::Stow) && ignored(Intention::StopAndStow));
}

#[test]
fn a_mast_stowed_between_open_doors_needs_only_its_doors_shut() {
    let mut rig = Rig::unwoken(0, 1000);
    rig.run(60);
    rig.stow();
    assert_eq!(rig.state(), State::StowDoors);
    rig.until(State::Stowed, 600);
}

#[test]
fn auxiliary_charging_takes_the_bus_live_while_stowed_and_dead_again_after_it() {
    let mut rig = Rig::stowed();
    rig.inputs.auxiliary = Signal::fresh(Millivolts::new(12_000));
    rig.run(300);
    assert!(rig.outputs.indications.bus_dead);
    let request = |rig: &mut Rig, on: bool| {
        rig.inputs.controls.aux_charge = Signal::fresh(on);
        rig.inputs.controls.aux_charge_off = Signal::fresh(!on);
    };
    request(&mut rig, true);
    rig.run(400);
    assert!(rig.outputs.drives.aux_charger);
    assert!(!rig.outputs.indications.bus_dead);
    rig.inputs.auxiliary = Signal::fresh(Millivolts::new(14_500));
    rig.tick();
    assert!(!rig.outputs.drives.aux_charger, "it is full");
    rig.inputs.auxiliary = Signal::fresh(Millivolts::new(12_000));
    rig.tick();
    assert!(rig.outputs.drives.aux_charger);
    request(&mut rig, false);
    rig.tick();
    assert!(!rig.outputs.drives.aux_charger);
    rig.run(400);
    assert!(rig.outputs.indications.bus_dead);
    assert_eq!(rig.outputs.indications.faults, Faults::empty());
}

#[test]
fn the_fans_run_when_the_controller_is_warm_whatever_the_state() {
    let mut rig = Rig::stowed();
    assert_eq!(rig.outputs.drives.fans, Fans::Off);
    rig.inputs.thermal.controller = Signal::fresh(DeciCelsius::new(450));
    rig.tick();
    assert_eq!(rig.outputs.drives.fans, Fans::On);
}

#[test]
fn what_is_latched_is_kept_for_the_next_power_up() {
    let mut rig = Rig::stowed();
    assert_eq!(rig.sequencer.latched(), Faults::empty());
    rig.inputs.missed_deadline = true;
    rig.tick();
    assert_eq!(rig.sequencer.latched(), Faults::only(Fault::DeadlineMissed));
}
