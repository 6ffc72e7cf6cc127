//! Tests of the module above, by itself.

use super::*;
use crate::signal::Signal;
use crate::units::Milliamps;

fn sensors(position: i16) -> MastSensors {
    MastSensors {
        position: Signal::fresh(Permille::new(position)),
        stowed_switch: Signal::fresh(position < 8),
        deployed_switch: Signal::fresh(position > 992),
        lock_switch: Signal::fresh(position >= 1000),
        drive_current: Signal::fresh(Milliamps::ZERO),
    }
}

fn observe(mast: &mut Mast, sensors: &MastSensors) -> (Conditions, Faults) {
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    mast.observe(sensors, &Config::default(), &mut proven, &mut active);
    (proven, active)
}

fn proven(sensors: &MastSensors) -> Conditions {
    observe(&mut Mast::default(), sensors).0
}

#[test]
fn an_end_is_proven_by_switch_and_position_together() {
    assert!(proven(&sensors(0)).contains(Condition::MastStowed));
    assert!(proven(&sensors(1000)).contains(Condition::MastDeployed));
    let mut no_switch = sensors(0);
    no_switch.stowed_switch = Signal::fresh(false);
    assert!(!proven(&no_switch).contains(Condition::MastStowed));
}

/// Ticks of driving until the lock is proven, if it ever is.
fn pressed_until_locked(way: Way, pace: Pace, told: &MastSensors) -> Option<u32> {
    let config = Config::default();
    let mut mast = Mast::default();
    assert!(!observe(&mut mast, told).0.contains(Condition::MastLocked));
    (1..100).find(|_| {
        mast.drive(Some(way), pace, &config);
        observe(&mut mast, told).0.contains(Condition::MastLocked)
    })
}

#[test]
fn a_lock_is_proven_by_driving_out_at_full_pace_while_it_shows() {
    let locked = sensors(1000);
    assert_eq!(
        pressed_until_locked(Way::Out, Pace::Full, &locked),
        Some(15)
    );
    assert_eq!(pressed_until_locked(Way::Out, Pace::Slow, &locked), None);
    assert_eq!(pressed_until_locked(Way::In, Pace::Full, &locked), None);
    let mut no_lock = locked;
    no_lock.lock_switch = Signal::fresh(false);
    assert_eq!(pressed_until_locked(Way::Out, Pace::Full, &no_lock), None);
}

#[test]
fn a_proven_lock_stays_so_at_rest_until_it_does_not_show_or_the_mast_is_driven_in() {
    let config = Config::default();
    let locked = sensors(1000);
    let mut hidden = locked;
    hidden.lock_switch = Signal::fresh(false);
    for loses in [true, false] {
        let mut mast = Mast::default();
        for _ in 0..15 {
            mast.drive(Some(Way::Out), Pace::Full, &config);
            observe(&mut mast, &locked);
        }
        mast.drive(None, Pace::Full, &config);
        for _ in 0..100 {
            assert!(
                observe(&mut mast, &locked)
                    .0
                    .contains(Condition::MastLocked)
            );
        }
        if loses {
            observe(&mut mast, &hidden);
        } else {
            mast.drive(Some(Way::In), Pace::Full, &config);
            observe(&mut mast, &locked);
            mast.drive(None, Pace::Full, &config);
        }
        assert!(
            !observe(&mut mast, &locked)
                .0
                .contains(Condition::MastLocked)
        );
    }
}

#[test]
fn contradictions_prove_nothing() {
    type Change = fn(&mut MastSensors);
    let changes: [(i16, Change); 5] = [
        (500, |s| s.stowed_switch = Signal::fresh(true)),
        (500, |s| s.deployed_switch = Signal::fresh(true)),
        (500, |s| s.lock_switch = Signal::fresh(true)),
        (1000, |s| s.stowed_switch = Signal::fresh(true)),
        (1000, |s| s.deployed_switch = Signal::fresh(false)),
    ];
    for (case, (position, change)) in changes.into_iter().enumerate() {
        let mut told = sensors(position);
        change(&mut told);
        let mut mast = Mast::default();
        let mut last = (Conditions::empty(), Faults::empty());
        for _ in 0..10 {
            last = observe(&mut mast, &told);
            assert!(!last.0.contains(Condition::MastConsistent), "case {case}");
        }
        assert!(last.1.contains(Fault::MastContradiction), "case {case}");
    }
}

#[test]
fn a_reading_that_is_lost_takes_every_proof_away_and_is_told() {
    let mut told = sensors(0);
    told.drive_current = told.drive_current.invalidated();
    let mut mast = Mast::default();
    for _ in 0..9 {
        assert!(!observe(&mut mast, &told).1.contains(Fault::MastSensorLost));
    }
    let (proven, active) = observe(&mut mast, &told);
    assert!(active.contains(Fault::MastSensorLost));
    assert!(!proven.contains(Condition::MastStowed));
}

/// Drives a mast and lets it move by `step` hundredths of a permille a tick.
fn seen_while(driven: Option<Way>, pace: Pace, step: i32) -> Faults {
    let config = Config::default();
    let mut mast = Mast::default();
    let mut seen = Faults::empty();
    for tick in 0..300_i32 {
        let position = i16::try_from(300 + tick * step / 100).unwrap();
        seen |= observe(&mut mast, &sensors(position)).1;
        mast.drive(driven, pace, &config);
    }
    seen
}

#[test]
fn a_driven_mast_must_move_the_way_it_is_driven() {
    let not_following = Faults::only(Fault::MastNotFollowing);
    assert_eq!(seen_while(Some(Way::Out), Pace::Full, 100), Faults::empty());
    assert_eq!(seen_while(Some(Way::Out), Pace::Full, 0), not_following);
    assert_eq!(seen_while(Some(Way::In), Pace::Full, 100), not_following);
    assert_eq!(seen_while(Some(Way::Out), Pace::Slow, 25), Faults::empty());
}

#[test]
fn a_resting_mast_must_rest() {
    assert_eq!(seen_while(None, Pace::Full, 0), Faults::empty());
    let unasked = Faults::only(Fault::MastUnasked);
    assert_eq!(seen_while(None, Pace::Full, 20), unasked);
    assert_eq!(seen_while(None, Pace::Full, -20), unasked);
}

fn told(position: i16, stowed: bool, deployed: bool, lock: bool) -> MastSensors {
    MastSensors {
        position: Signal::fresh(Permille::new(position)),
        stowed_switch: Signal::fresh(stowed),
        deployed_switch: Signal::fresh(deployed),
        lock_switch: Signal::fresh(lock),
        drive_current: Signal::fresh(Milliamps::ZERO),
    }
}

#[test]
fn each_place_of_the_mast_is_proven_up_to_its_limit() {
    let proves = |sensors: &MastSensors, condition| proven(sensors).contains(condition);
    assert!(proves(&told(15, true, false, false), Condition::MastStowed));
    assert!(!proves(
        &told(16, true, false, false),
        Condition::MastStowed
    ));
    assert!(proves(
        &told(650, false, false, false),
        Condition::MastClear
    ));
    assert!(!proves(
        &told(649, false, false, false),
        Condition::MastClear
    ));
    assert!(proves(
        &told(985, false, true, true),
        Condition::MastDeployed
    ));
    assert!(!proves(
        &told(984, false, true, true),
        Condition::MastDeployed
    ));
    assert!(!proves(
        &told(985, false, false, false),
        Condition::MastDeployed
    ));
    assert!(proves(
        &told(500, false, false, false),
        Condition::MastConsistent
    ));
}

#[test]
fn a_switch_may_differ_from_the_position_by_its_margin_and_no_more() {
    let consistent = |sensors| proven(&sensors).contains(Condition::MastConsistent);
    assert!(consistent(told(40, true, false, false)));
    assert!(!consistent(told(41, true, false, false)));
    assert!(consistent(told(960, false, true, false)));
    assert!(!consistent(told(959, false, true, false)));
    assert!(consistent(told(960, false, true, true)));
    assert!(!consistent(told(959, false, true, true)));
}

#[test]
fn no_two_ends_are_believed_together_nor_a_lock_without_its_end() {
    let consistent = |sensors| proven(&sensors).contains(Condition::MastConsistent);
    assert!(!consistent(told(20, true, true, false)));
    assert!(!consistent(told(20, true, false, true)));
    assert!(!consistent(told(1000, false, false, true)));
    assert!(
        consistent(told(1000, false, false, false)),
        "no switch closed yet"
    );
    assert!(
        consistent(told(0, false, false, false)),
        "no switch closed yet"
    );
}

#[test]
fn with_the_position_lost_two_switches_still_contradict_each_other() {
    let mut both = told(500, true, true, false);
    both.position = both.position.invalidated();
    let mut mast = Mast::default();
    let mut seen = Faults::empty();
    for _ in 0..10 {
        seen |= observe(&mut mast, &both).1;
    }
    assert_eq!(seen, Fault::MastContradiction | Fault::MastSensorLost);
}

#[test]
fn the_loss_of_any_mast_reading_takes_every_proof_and_is_told_after_a_while() {
    for lost in 0..5 {
        let mut sensors = told(0, true, false, false);
        match lost {
            0 => sensors.position = sensors.position.invalidated(),
            1 => sensors.stowed_switch = sensors.stowed_switch.invalidated(),
            2 => sensors.deployed_switch = sensors.deployed_switch.invalidated(),
            3 => sensors.lock_switch = sensors.lock_switch.invalidated(),
            _ => sensors.drive_current = sensors.drive_current.invalidated(),
        }
        let mut mast = Mast::default();
        for _ in 0..9 {
            let (proven, active) = observe(&mut mast, &sensors);
            assert!(!proven.contains(Condition::MastConsistent), "{lost}");
            assert_eq!(active, Faults::empty(), "{lost}");
        }
        let (_, active) = observe(&mut mast, &sensors);
        assert_eq!(active, Faults::only(Fault::MastSensorLost), "{lost}");
    }
}

#[test]
fn a_contradiction_that_passes_is_not_told() {
    let mut mast = Mast::default();
    for _ in 0..9 {
        let (_, active) = observe(&mut mast, &told(500, true, false, false));
        assert_eq!(active, Faults::empty());
    }
    assert_eq!(observe(&mut mast, &sensors(500)).1, Faults::empty());
}

#[test]
fn a_mast_drive_that_draws_too_much_is_told() {
    let mut drawing = sensors(500);
    drawing.drive_current = Signal::fresh(Milliamps::new(30_001));
    let mut mast = Mast::default();
    assert!(!mast.is_driven());
    mast.drive(Some(Way::Out), Pace::Full, &Config::default());
    assert!(mast.is_driven());
    for _ in 0..24 {
        assert_eq!(observe(&mut mast, &drawing).1, Faults::empty());
    }
    let (_, active) = observe(&mut mast, &drawing);
    assert_eq!(active, Faults::only(Fault::MastOverload));
}

/// Ticks until a drive that moves all the while is told overdue.
fn overdue_after(pace: Pace) -> u32 {
    let config = Config::default();
    let mut mast = Mast::default();
    for tick in 1..10_000_u32 {
        mast.drive(Some(Way::Out), pace, &config);
        let position = i16::try_from(100 + tick / 8).unwrap();
        let (_, active) = observe(&mut mast, &sensors(position));
        if active.contains(Fault::MastOverdue) {
            return tick;
        }
    }
    panic!("never overdue");
}

#[test]
fn a_mast_drive_runs_longer_at_the_slow_pace_before_it_is_overdue() {
    assert_eq!(overdue_after(Pace::Full), 1_600);
    assert_eq!(overdue_after(Pace::Slow), 6_000);
}

#[test]
fn the_mast_rests_between_opposite_drives() {
    let config = Config::default();
    for (way, opposite) in [
        (Way::Out, Condition::RetractRested),
        (Way::In, Condition::ExtendRested),
    ] {
        let mut mast = Mast::default();
        let both = Condition::ExtendRested | Condition::RetractRested;
        assert!(observe(&mut mast, &sensors(500)).0.is_superset(both));
        mast.drive(Some(way), Pace::Full, &config);
        for _ in 0..29 {
            mast.drive(None, Pace::Full, &config);
            let (proven, _) = observe(&mut mast, &sensors(500));
            assert_eq!(proven & both, both - opposite);
        }
        mast.drive(None, Pace::Full, &config);
        assert!(observe(&mut mast, &sensors(500)).0.is_superset(both));
    }
}

/// Faults of the tick in which a window ends, `moved` from where it began.
fn after_a_window(driven: Option<Way>, pace: Pace, ticks: u32, moved: i16) -> Faults {
    let config = Config::default();
    let mut mast = Mast::default();
    mast.drive(driven, pace, &config);
    observe(&mut mast, &sensors(500));
    for _ in 0..ticks {
        mast.drive(driven, pace, &config);
        let (_, active) = observe(&mut mast, &sensors(500));
        assert_eq!(active, Faults::empty(), "before the window is over");
    }
    mast.drive(driven, pace, &config);
    observe(&mut mast, &sensors(500 + moved)).1
}

#[test]
fn a_driven_mast_is_judged_at_the_end_of_its_window_by_how_far_it_moved() {
    let not_following = Faults::only(Fault::MastNotFollowing);
    for (pace, ticks) in [(Pace::Full, 59), (Pace::Slow, 239)] {
        assert_eq!(
            after_a_window(Some(Way::Out), pace, ticks, 6),
            Faults::empty()
        );
        assert_eq!(
            after_a_window(Some(Way::Out), pace, ticks, 5),
            not_following
        );
        assert_eq!(
            after_a_window(Some(Way::In), pace, ticks, -6),
            Faults::empty()
        );
        assert_eq!(
            after_a_window(Some(Way::In), pace, ticks, -5),
            not_following
        );
    }
}

#[test]
fn a_resting_mast_may_move_as_far_as_its_limit_after_it_has_coasted() {
    let unasked = Faults::only(Fault::MastUnasked);
    assert_eq!(after_a_window(None, Pace::Full, 60, 12), Faults::empty());
    assert_eq!(after_a_window(None, Pace::Full, 60, 13), unasked);
    assert_eq!(after_a_window(None, Pace::Full, 60, -13), unasked);
    assert_eq!(
        after_a_window(None, Pace::Full, 30, 40),
        Faults::empty(),
        "coasting"
    );
}

#[test]
fn a_mast_that_moved_unasked_is_judged_from_where_it_rests_then() {
    let mut mast = Mast::default();
    for _ in 0..100 {
        observe(&mut mast, &sensors(500));
    }
    let (_, active) = observe(&mut mast, &sensors(600));
    assert_eq!(active, Faults::only(Fault::MastUnasked));
    for _ in 0..200 {
        assert_eq!(observe(&mut mast, &sensors(600)).1, Faults::empty());
    }
}
