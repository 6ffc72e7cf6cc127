use super::*;
use crate::plant::truth::PackTruth;

fn resting() -> Truth {
    let pack = PackTruth {
        voltage: 420.0,
        charge: 0.8,
        temperature: 25.0,
        ..PackTruth::default()
    };
    let mut truth = Truth {
        packs: [pack; 2],
        auxiliary: 13.0,
        controller_temperature: 30.0,
        motor_temperature: 30.0,
        ..Truth::default()
    };
    truth.bus.insulation = 2.0e6;
    truth
}

#[test]
fn a_resting_shaft_never_reads_more_than_one_rpm() {
    let mut sensors = Sensors::new(3);
    for _ in 0..20_000 {
        let read = sensors.sample(&resting(), &Controls::default());
        assert!(read.propeller.speed.raw().magnitude().get() <= 1);
        assert!(read.propeller.angle_a.raw().off_park().magnitude().get() <= 31);
        assert!(read.mast.position.raw().get() <= 1);
    }
}

#[test]
fn every_reading_is_sound_and_younger_than_the_staleness_limit() {
    let mut sensors = Sensors::new(1);
    let limit = mastwright_core::Config::default().stale_after;
    let mut oldest = 0;
    for _ in 0..200 {
        let read = sensors.sample(&resting(), &Controls::default());
        for age in [
            read.thermal.motor.age(),
            read.thermal.controller.age(),
            read.bus.insulation.age(),
            read.packs[0].voltage.age(),
            read.packs[1].charge.age(),
        ] {
            oldest = oldest.max(age.ticks());
        }
        assert!(read.packs[1].temperature.proven(limit).is_some());
        assert!(read.thermal.motor.proven(limit).is_some());
    }
    assert_eq!(oldest, SLOW_EVERY - 1, "slow readings do grow older");
}

#[test]
fn the_throttle_tracks_differ_a_little_and_agree_within_the_limit() {
    let mut sensors = Sensors::new(9);
    let agree = mastwright_core::Config::default().throttle_agree;
    let controls = Controls {
        throttle: 0.7,
        ..Controls::default()
    };
    let mut differed = false;
    for _ in 0..100 {
        let read = sensors.sample(&resting(), &controls).controls;
        assert!(read.throttle_a.raw().within(read.throttle_b.raw(), agree));
        differed |= read.throttle_a.raw() != read.throttle_b.raw();
    }
    assert!(differed);
}

#[test]
fn equal_seeds_read_alike_and_a_clone_goes_on_alike() {
    let (mut a, mut b) = (Sensors::new(5), Sensors::new(5));
    for _ in 0..50 {
        let left = a.sample(&resting(), &Controls::default());
        assert_eq!(left, b.sample(&resting(), &Controls::default()));
    }
    let mut c = a.clone();
    let next = a.sample(&resting(), &Controls::default());
    assert_eq!(next, c.sample(&resting(), &Controls::default()));
}
