//! Each kind of sensor fault does what its sentence says.

use mastwright_core::Inputs;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{CentiDegrees, Permille};

use super::super::*;

fn injector(target: &str, kind: Kind, strength: Option<f64>) -> Injector {
    let target = target.parse().expect("a known target");
    let fault = Fault::new(target, kind, strength, None).expect("a fault it can have");
    let mut injector = Injector::new(vec![fault], 9);
    injector.start(0);
    injector
}

/// What the mast position sensor tells, tick by tick, when the truth is `positions`.
fn told(
    injector: &mut Injector,
    positions: impl IntoIterator<Item = i16>,
) -> Vec<Signal<Permille>> {
    let one = |position| {
        let mut inputs = Inputs::default();
        inputs.mast.position = Signal::fresh(Permille::new(position));
        injector.corrupt_inputs(&mut inputs);
        injector.tick();
        inputs.mast.position
    };
    positions.into_iter().map(one).collect()
}

fn values(signals: &[Signal<Permille>]) -> Vec<i16> {
    signals.iter().map(|signal| signal.raw().get()).collect()
}

/// What the lock switch reads, tick by tick, when the truth is `closed`.
fn switch(injector: &mut Injector, closed: impl IntoIterator<Item = bool>) -> Vec<Signal<bool>> {
    let one = |closed| {
        let mut inputs = Inputs::default();
        inputs.mast.lock_switch = Signal::fresh(closed);
        injector.corrupt_inputs(&mut inputs);
        injector.tick();
        inputs.mast.lock_switch
    };
    closed.into_iter().map(one).collect()
}

const POSITION: &str = "sensor.mast.position";
const LOCK: &str = "sensor.mast.lock-switch";

#[test]
fn stuck_keeps_the_value_of_the_onset_and_looks_new_and_sound() {
    let mut stuck = injector(POSITION, Kind::Stuck, None);
    let seen = told(&mut stuck, [400, 410, 420]);
    assert_eq!(seen, [Signal::fresh(Permille::new(400)); 3]);
}

#[test]
fn started_anew_a_stuck_sensor_keeps_the_new_value() {
    let mut stuck = injector(POSITION, Kind::Stuck, None);
    assert_eq!(values(&told(&mut stuck, [400, 410])), [400, 400]);
    stuck.start(0);
    assert_eq!(values(&told(&mut stuck, [500, 510])), [500, 500]);
    stuck.clear(0);
    assert_eq!(values(&told(&mut stuck, [600, 610])), [600, 610]);
}

#[test]
fn stuck_at_tells_the_given_value() {
    let mut stuck = injector(POSITION, Kind::StuckAt, Some(990.0));
    assert_eq!(values(&told(&mut stuck, [0, 500])), [990, 990]);
}

#[test]
fn a_contact_stuck_open_or_closed_reads_so() {
    let raw = |kind| {
        let seen = switch(&mut injector(LOCK, kind, None), [true, false]);
        seen.iter().map(Signal::raw).collect::<Vec<bool>>()
    };
    assert_eq!(raw(Kind::StuckOpen), [false, false]);
    assert_eq!(raw(Kind::StuckClosed), [true, true]);
    assert_eq!(raw(Kind::Inverted), [false, true]);
}

#[test]
fn an_offset_is_added_within_what_the_sensor_can_tell() {
    let mut offset = injector(POSITION, Kind::Offset, Some(-50.0));
    assert_eq!(values(&told(&mut offset, [1_000, 400, 20])), [950, 350, 0]);
}

#[test]
fn an_offset_angle_goes_round() {
    let mut offset = injector("sensor.propeller.angle-a", Kind::Offset, Some(20.0));
    let mut inputs = Inputs::default();
    inputs.propeller.angle_a = Signal::fresh(CentiDegrees::new(35_000));
    offset.corrupt_inputs(&mut inputs);
    assert_eq!(inputs.propeller.angle_a.raw(), CentiDegrees::new(1_000));
}

#[test]
fn drift_grows_by_its_rate_every_second() {
    let mut drift = injector(POSITION, Kind::Drift, Some(40.0));
    let seen = values(&told(&mut drift, [500; 200]));
    assert_eq!(seen[99], 540, "after one second");
    assert_eq!(seen[199], 580, "after two");
}

#[test]
fn noise_stays_within_its_peak_reaches_both_sides_and_is_even() {
    let mut noise = injector(POSITION, Kind::Noise, Some(50.0));
    let seen = values(&told(&mut noise, [500; 5_000]));
    assert!(seen.iter().all(|value| (450..=550).contains(value)));
    assert!(seen.iter().any(|value| *value < 455) && seen.iter().any(|value| *value > 545));
    let mean = seen.iter().map(|value| f64::from(*value)).sum::<f64>() / 5_000.0;
    assert!((mean - 500.0).abs() < 2.0, "{mean}");
}

#[test]
fn a_dropout_lets_the_last_sample_grow_old() {
    let mut dropout = injector(POSITION, Kind::Dropout, None);
    let seen = told(&mut dropout, (0..300).map(|n| 400 + n));
    for (tick, signal) in (1_usize..).zip(&seen) {
        assert_eq!(signal.raw(), Permille::new(400));
        let age = u8::try_from(tick).unwrap_or(u8::MAX);
        assert_eq!(signal.age(), Age::new(age));
        assert!(signal.is_valid(), "its content is not at fault");
    }
}

#[test]
fn an_invalid_sensor_says_so_and_tells_the_rest_unchanged() {
    let mut invalid = injector(POSITION, Kind::Invalid, None);
    let seen = told(&mut invalid, [400]);
    assert_eq!(seen, [Signal::fresh(Permille::new(400)).invalidated()]);
}

#[test]
fn an_intermittent_number_is_either_new_or_an_ever_older_sample() {
    let mut loose = injector(POSITION, Kind::Intermittent, None);
    let positions: Vec<i16> = (0..1_000).collect();
    let seen = told(&mut loose, positions);
    let mut breaks = 0;
    for (tick, signal) in (0_i16..).zip(&seen) {
        let age = i16::from(signal.age().ticks());
        if age == 0 {
            assert_eq!(signal.raw().get(), tick);
        } else {
            // The break's first sample is one tick old at once.
            assert_eq!(signal.raw().get(), tick - age + 1);
            breaks += 1;
        }
    }
    assert!((300..700).contains(&breaks), "{breaks} of 1000 ticks");
}

#[test]
fn an_intermittent_contact_reads_open_during_breaks() {
    let mut loose = injector(LOCK, Kind::Intermittent, None);
    let seen = switch(&mut loose, [true; 1_000]);
    let open = seen.iter().filter(|signal| !signal.raw()).count();
    assert!((300..700).contains(&open), "{open} of 1000 ticks");
    assert!(seen.iter().all(|signal| signal.age() == Age::NEW));
    let closed = switch(&mut loose, [false; 1_000]);
    assert!(closed.iter().all(|signal| !signal.raw()), "never closes");
}

#[test]
fn a_delayed_sensor_tells_the_past_as_if_new() {
    let mut late = injector(POSITION, Kind::Delayed, Some(0.05));
    let seen = told(&mut late, 100..110);
    assert_eq!(
        values(&seen),
        [100, 100, 100, 100, 100, 100, 101, 102, 103, 104]
    );
    assert!(seen.iter().all(|signal| signal.age() == Age::NEW));
}

#[test]
fn swapped_twins_tell_one_another() {
    let mut swapped = injector("sensor.controls.throttle-a", Kind::Swapped, None);
    let mut inputs = Inputs::default();
    inputs.controls.throttle_a = Signal::fresh(Permille::new(100));
    inputs.controls.throttle_b = Signal::fresh(Permille::new(900)).invalidated();
    let before = inputs.controls;
    swapped.corrupt_inputs(&mut inputs);
    assert_eq!(inputs.controls.throttle_a, before.throttle_b);
    assert_eq!(inputs.controls.throttle_b, before.throttle_a);
}

#[test]
fn a_signal_never_received_stays_unproven_whatever_the_fault() {
    for entry in catalogue() {
        let Target::Sensor(id) = entry.target else {
            continue;
        };
        let mut injector = Injector::new(vec![entry.fault()], 4);
        injector.start(0);
        let mut inputs = Inputs::default();
        injector.corrupt_inputs(&mut inputs);
        let sample = id.read(&inputs);
        assert!(!sample.valid && sample.age == Age::OLDEST, "{entry:?}");
    }
}

#[test]
fn a_late_link_shows_how_late_it_is() {
    let mut late = injector("link", Kind::Delayed, Some(0.3));
    for _ in 0..100 {
        let mut inputs = super::readings(0);
        late.corrupt_inputs(&mut inputs);
        late.tick();
        assert!(SensorId::ThrottleA.read(&inputs).age >= Age::new(30));
    }
}

#[test]
fn a_lost_link_silences_every_control_but_the_stop_and_no_other_sensor() {
    let mut lost = injector("link", Kind::Dropout, None);
    let mut inputs = super::readings(0);
    let clean = inputs;
    lost.corrupt_inputs(&mut inputs);
    for id in SensorId::ALL {
        let stop = matches!(id, SensorId::StopA | SensorId::StopB);
        let linked = id.name().starts_with("controls.") && !stop;
        let silent = id.read(&inputs) == id.read(&clean).older();
        assert_eq!(silent, linked, "{}", id.name());
    }
}
