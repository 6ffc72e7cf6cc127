//! Every pin reaches the signal of its name, and one that fails proves nothing for long.

use mastwright_core::board::NoReading;
use mastwright_core::inputs::Inputs;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use crate::rig::Bench;

#[test]
fn every_contact_reaches_the_signal_of_its_name_and_no_other() {
    type Look = fn(&Inputs) -> Signal<bool>;
    let looks: [(&'static str, Look); 18] = [
        ("select_hold", |i| i.controls.select_hold),
        ("select_deploy", |i| i.controls.select_deploy),
        ("select_stow", |i| i.controls.select_stow),
        ("stop_a", |i| i.controls.stop_a),
        ("stop_b", |i| i.controls.stop_b),
        ("bench_key", |i| i.controls.bench_key),
        ("acknowledge", |i| i.controls.acknowledge),
        ("acknowledge_rest", |i| i.controls.acknowledge_rest),
        ("aux_charge", |i| i.controls.aux_charge),
        ("aux_charge_off", |i| i.controls.aux_charge_off),
        ("mast_stowed", |i| i.mast.stowed_switch),
        ("mast_deployed", |i| i.mast.deployed_switch),
        ("mast_locked", |i| i.mast.lock_switch),
        ("left_door_open", |i| i.doors.left_open),
        ("right_door_open", |i| i.doors.right_open),
        ("doors_shut", |i| i.doors.shut),
        ("main_feedback", |i| i.bus.main_feedback),
        ("fans_turning", |i| i.thermal.fans_turning),
    ];
    for (closed, _) in looks {
        let bench = Bench::default();
        bench.with(|state| state.closed.insert(closed));
        let mut inputs = Inputs::default();
        bench.sensors().sample(&mut inputs);
        for (name, look) in looks {
            assert_eq!(look(&inputs), Signal::fresh(name == closed), "{name}");
        }
    }
}

#[test]
fn every_channel_reaches_the_signal_it_measures() {
    let bench = Bench::default();
    let mut i = Inputs::default();
    bench.sensors().sample(&mut i);
    for (signal, value) in [
        (i.controls.throttle_a, 110),
        (i.controls.throttle_b, 120),
        (i.mast.position, 130),
        (i.packs[0].charge, 141),
        (i.packs[1].charge, 142),
    ] {
        assert_eq!(signal, Signal::fresh(Permille::new(value)));
    }
    for (signal, value) in [
        (i.bus.voltage, 210),
        (i.packs[0].voltage, 221),
        (i.packs[1].voltage, 222),
        (i.auxiliary, 230),
    ] {
        assert_eq!(signal, Signal::fresh(Millivolts::new(value)));
    }
    for (signal, value) in [
        (i.mast.drive_current, 310),
        (i.doors.drive_current, 320),
        (i.bus.current, 330),
    ] {
        assert_eq!(signal, Signal::fresh(Milliamps::new(value)));
    }
    for (signal, value) in [
        (i.packs[0].temperature, 411),
        (i.packs[1].temperature, 412),
        (i.thermal.motor, 420),
        (i.thermal.controller, 430),
    ] {
        assert_eq!(signal, Signal::fresh(DeciCelsius::new(value)));
    }
    assert_eq!(i.bus.insulation, Signal::fresh(KiloOhms::new(510)));
    assert_eq!(i.airspeed, Signal::fresh(DeciMetresPerSecond::new(610)));
    let propeller = i.propeller;
    assert_eq!(propeller.angle_a, Signal::fresh(CentiDegrees::new(1_100)));
    assert_eq!(propeller.angle_b, Signal::fresh(CentiDegrees::new(1_200)));
    assert_eq!(propeller.speed, Signal::fresh(Rpm::new(1_300)));
}

#[test]
fn a_reading_that_fails_ages_and_is_fresh_again_once_it_returns() {
    let bench = Bench::default();
    let mut sensors = bench.sensors();
    let mut inputs = Inputs::default();
    bench.with(|state| state.closed.insert("mast_locked"));
    sensors.sample(&mut inputs);

    bench.with(|state| {
        state.silent.insert("mast_locked");
        state.no_reading = Some(NoReading::Absent);
    });
    for age in 1..=300_u16 {
        sensors.sample(&mut inputs);
        let age = Age::new(u8::try_from(age).unwrap_or(u8::MAX));
        assert_eq!(inputs.mast.lock_switch, Signal::aged(true, age));
        assert_eq!(inputs.mast.position, Signal::aged(Permille::new(130), age));
        assert_eq!(inputs.mast.stowed_switch, Signal::fresh(false));
    }

    bench.with(|state| {
        state.silent.clear();
        state.no_reading = None;
    });
    sensors.sample(&mut inputs);
    assert_eq!(inputs.mast.lock_switch, Signal::fresh(true));
    assert_eq!(inputs.mast.position, Signal::fresh(Permille::new(130)));
}

#[test]
fn a_source_that_calls_itself_unsound_proves_nothing_from_that_tick_on() {
    let bench = Bench::default();
    let mut sensors = bench.sensors();
    let mut inputs = Inputs::default();
    sensors.sample(&mut inputs);
    bench.with(|state| state.no_reading = Some(NoReading::Unsound));
    sensors.sample(&mut inputs);
    assert_eq!(inputs.propeller.angle_a.proven(Age::OLDEST), None);
    assert_eq!(inputs.bus.voltage.proven(Age::OLDEST), None);

    // A source that then falls silent is not sound again by that.
    bench.with(|state| state.no_reading = Some(NoReading::Absent));
    sensors.sample(&mut inputs);
    assert_eq!(inputs.bus.voltage.proven(Age::OLDEST), None);
}

#[test]
fn a_reading_never_made_is_never_proven() {
    let bench = Bench::default();
    bench.with(|state| state.no_reading = Some(NoReading::Absent));
    let mut inputs = Inputs::default();
    bench.sensors().sample(&mut inputs);
    assert_eq!(inputs.airspeed.proven(Age::OLDEST), None);
}
