//! Tests of the module above, by itself.

use super::*;
use crate::signal::Signal;

fn sensors(a: i32, b: i32, rpm: i16) -> PropellerSensors {
    PropellerSensors {
        angle_a: Signal::fresh(CentiDegrees::new(a)),
        angle_b: Signal::fresh(CentiDegrees::new(b)),
        speed: Signal::fresh(Rpm::new(rpm)),
    }
}

fn observe(propeller: &mut Propeller, told: &PropellerSensors) -> (Conditions, Faults) {
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    propeller.observe(told, &Config::default(), &mut proven, &mut active);
    (proven, active)
}

fn parked_after(told: &PropellerSensors, ticks: u32) -> bool {
    let mut propeller = Propeller::default();
    (0..ticks).fold(false, |_, _| {
        observe(&mut propeller, told).0.contains(Condition::Parked)
    })
}

#[test]
fn parked_takes_the_whole_proof_time() {
    assert!(!parked_after(&sensors(0, 0, 0), 29));
    assert!(parked_after(&sensors(0, 0, 0), 30));
    assert!(
        parked_after(&sensors(18_100, 17_900, 0), 30),
        "the other park angle"
    );
}

#[test]
fn each_of_window_agreement_and_standstill_is_needed() {
    assert!(parked_after(&sensors(400, 300, 3), 40));
    assert!(!parked_after(&sensors(401, 300, 0), 40), "A outside");
    assert!(!parked_after(&sensors(300, 401, 0), 40), "B outside");
    assert!(!parked_after(&sensors(200, -101, 0), 40), "apart");
    assert!(
        !parked_after(&sensors(0, 18_000, 0), 40),
        "half a turn apart"
    );
    assert!(!parked_after(&sensors(0, 0, 4), 40), "turning");
    assert!(!parked_after(&sensors(0, 0, -4), 40), "turning backwards");
    for lost in 0..3 {
        let mut told = sensors(0, 0, 0);
        match lost {
            0 => told.angle_a = told.angle_a.invalidated(),
            1 => told.angle_b = told.angle_b.invalidated(),
            _ => told.speed = told.speed.invalidated(),
        }
        assert!(!parked_after(&told, 40), "reading {lost} lost");
    }
}

#[test]
fn a_blade_that_sweeps_through_its_window_is_not_parked() {
    let mut propeller = Propeller::default();
    for tick in 0..2_000 {
        // Windmilling at 60 rpm with a speed sensor stuck at zero.
        let angle = tick * 360 % 36_000;
        let (proven, _) = observe(&mut propeller, &sensors(angle, angle, 0));
        assert!(!proven.contains(Condition::Parked));
    }
}

#[test]
fn in_place_asks_every_source_that_is_heard_and_at_least_one() {
    let mut told = sensors(9_000, 0, 0);
    let in_place = |told: &PropellerSensors| {
        observe(&mut Propeller::default(), told)
            .0
            .contains(Condition::BladeInPlace)
    };
    assert!(!in_place(&told));
    told.angle_a = told.angle_a.invalidated();
    assert!(in_place(&told));
    told.angle_b = told.angle_b.invalidated();
    assert!(!in_place(&told));
}

#[test]
fn sources_that_disagree_are_told_only_while_the_shaft_is_slow() {
    for (rpm, told) in [(0, true), (2_000, false)] {
        let mut propeller = Propeller::default();
        let mut seen = Faults::empty();
        for _ in 0..20 {
            seen |= observe(&mut propeller, &sensors(0, 5_000, rpm)).1;
        }
        assert_eq!(seen.contains(Fault::BladeDisagreement), told, "{rpm} rpm");
    }
}

#[test]
fn the_blade_is_turned_the_shorter_way_and_never_dithers_across_the_quarter_turn() {
    let config = Config::default();
    let creep = config.creep_speed;
    let back = Rpm::ZERO.minus(creep);
    for (angle, expected) in [
        (1_000, back),
        (35_000, creep),
        (19_000, back),
        (17_000, creep),
        (8_500, creep),
        (9_500, creep),
    ] {
        assert_eq!(
            turn_towards_park(CentiDegrees::new(angle), &config),
            expected,
            "{angle}"
        );
    }
}

#[test]
fn each_proof_of_the_blade_ends_where_its_limit_does() {
    let proves = |told: &PropellerSensors| observe(&mut Propeller::default(), told).0;
    let slow = |rpm| proves(&sensors(0, 0, rpm)).contains(Condition::ShaftSlow);
    assert!(slow(45) && slow(-45) && !slow(46) && !slow(-46));
    let near = |a, b| proves(&sensors(a, b, 0)).contains(Condition::BladeNearPark);
    assert!(near(900, 900) && !near(901, 0) && !near(0, 901));
    let agrees = |a, b| proves(&sensors(a, b, 0)).contains(Condition::BladeAgrees);
    assert!(agrees(9_000, 9_300) && !agrees(9_000, 9_301));
    let in_place = |a, b| proves(&sensors(a, b, 0)).contains(Condition::BladeInPlace);
    assert!(in_place(400, 400) && !in_place(401, 0));
}

#[test]
fn the_blade_is_known_by_both_sources_and_the_speed_and_their_loss_is_told_after_a_while() {
    let whole = sensors(0, 0, 0);
    assert!(
        observe(&mut Propeller::default(), &whole)
            .0
            .contains(Condition::BladeKnown)
    );
    for lost in 0..3 {
        let mut told = whole;
        match lost {
            0 => told.angle_a = told.angle_a.invalidated(),
            1 => told.angle_b = told.angle_b.invalidated(),
            _ => told.speed = told.speed.invalidated(),
        }
        let mut propeller = Propeller::default();
        for _ in 0..9 {
            let (proven, active) = observe(&mut propeller, &told);
            assert!(!proven.contains(Condition::BladeKnown), "{lost}");
            assert_eq!(active, Faults::empty(), "{lost}");
        }
        let (_, active) = observe(&mut propeller, &told);
        assert_eq!(active, Faults::only(Fault::BladeSensorLost), "{lost}");
    }
}

#[test]
fn a_source_that_is_lost_disagrees_with_nothing() {
    let mut told = sensors(0, 0, 0);
    told.angle_a = told.angle_a.invalidated();
    let mut propeller = Propeller::default();
    for _ in 0..50 {
        let (_, active) = observe(&mut propeller, &told);
        assert!(!active.contains(Fault::BladeDisagreement));
    }
}

#[test]
fn a_blade_to_be_still_is_braked_then_turned_then_held() {
    let config = Config::default();
    let asked = |proven| Propeller::ask(Task::Still, &sensors(1_000, 1_000, 0), &config, proven);
    assert_eq!(
        asked(Conditions::empty()),
        (
            Some(Permission::BrakeBlade),
            Motor::Brake(config.brake_strength)
        )
    );
    assert_eq!(
        asked(Condition::ShaftSlow.into()),
        (
            Some(Permission::TurnBlade),
            Motor::Creep(Rpm::ZERO.minus(config.creep_speed))
        )
    );
    assert_eq!(
        asked(Condition::ShaftSlow | Condition::BladeNearPark),
        (
            Some(Permission::HoldBlade),
            Motor::Hold(config.hold_strength)
        )
    );
}

#[test]
fn a_blade_at_its_park_angle_or_beyond_the_quarter_turn_is_turned_forwards() {
    let config = Config::default();
    let turned = |angle| turn_towards_park(CentiDegrees::new(angle), &config);
    let back = Rpm::ZERO.minus(config.creep_speed);
    assert_eq!(turned(0), config.creep_speed);
    assert_eq!(turned(1), back);
    assert_eq!(turned(7_999), back);
    assert_eq!(turned(8_000), config.creep_speed);
}
