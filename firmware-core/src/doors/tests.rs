//! Tests of the module above, by itself.

use super::*;
use crate::signal::Signal;

fn sensors(left: bool, right: bool, shut: bool) -> DoorSensors {
    DoorSensors {
        left_open: Signal::fresh(left),
        right_open: Signal::fresh(right),
        shut: Signal::fresh(shut),
        drive_current: Signal::fresh(Milliamps::ZERO),
    }
}

fn observe(doors: &mut Doors, sensors: &DoorSensors, ticks: u32) -> (Conditions, Faults) {
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    for _ in 0..ticks {
        proven = Conditions::empty();
        doors.observe(sensors, &Config::default(), &mut proven, &mut active);
    }
    (proven, active)
}

#[test]
fn open_needs_both_doors_and_shut_needs_neither() {
    for (left, right, shut, open_proven, shut_proven) in [
        (true, true, false, true, false),
        (true, false, false, false, false),
        (false, true, false, false, false),
        (false, false, true, false, true),
        (false, false, false, false, false),
        (true, true, true, false, false),
        (true, false, true, false, false),
    ] {
        let (proven, _) = observe(&mut Doors::default(), &sensors(left, right, shut), 1);
        assert_eq!(proven.contains(Condition::DoorsOpen), open_proven);
        assert_eq!(proven.contains(Condition::DoorsShut), shut_proven);
    }
}

#[test]
fn doors_that_have_moved_are_shut_only_once_they_are_pressed_shut() {
    let config = Config::default();
    let mut doors = Doors::default();
    observe(&mut doors, &sensors(true, true, false), 5);
    doors.drive(Some(Way::In), &config);
    let (proven, _) = observe(&mut doors, &sensors(false, false, true), 20);
    assert!(!proven.contains(Condition::DoorsShut), "the switch alone");
    let mut never = doors;
    let (_, active) = observe(&mut never, &sensors(false, false, true), 40);
    assert_eq!(active, Faults::only(Fault::DoorOverdue));
    let mut pressed = sensors(false, false, true);
    pressed.drive_current = Signal::fresh(Milliamps::new(25_000));
    let (proven, active) = observe(&mut doors, &pressed, 5);
    assert!(proven.contains(Condition::DoorsShut));
    assert_eq!(active, Faults::empty());
    doors.drive(None, &config);
    let (proven, _) = observe(&mut doors, &sensors(false, false, true), 5);
    assert!(proven.contains(Condition::DoorsShut), "forgotten at rest");
}

#[test]
fn a_door_both_open_and_shut_is_told() {
    for told in [sensors(true, false, true), sensors(false, true, true)] {
        let (_, active) = observe(&mut Doors::default(), &told, 10);
        assert!(active.contains(Fault::DoorContradiction));
    }
}

#[test]
fn resting_doors_that_leave_their_place_are_told_and_driven_ones_are_not() {
    let config = Config::default();
    let mut resting = Doors::default();
    observe(&mut resting, &sensors(false, false, true), 80);
    let (_, active) = observe(&mut resting, &sensors(false, false, false), 20);
    assert_eq!(active, Faults::only(Fault::DoorUnasked));
    let (_, active) = observe(&mut resting, &sensors(false, false, false), 20);
    assert_eq!(active, Faults::empty(), "the fault could never be cleared");

    let mut driven = Doors::default();
    observe(&mut driven, &sensors(false, false, true), 80);
    driven.drive(Some(Way::Out), &config);
    let (_, active) = observe(&mut driven, &sensors(false, false, false), 20);
    assert_eq!(active, Faults::empty());
}

#[test]
fn the_loss_of_any_door_reading_is_told_after_a_while() {
    for lost in 0..4 {
        let mut told = sensors(false, false, true);
        match lost {
            0 => told.left_open = told.left_open.invalidated(),
            1 => told.right_open = told.right_open.invalidated(),
            2 => told.shut = told.shut.invalidated(),
            _ => told.drive_current = told.drive_current.invalidated(),
        }
        let mut doors = Doors::default();
        assert_eq!(observe(&mut doors, &told, 9).1, Faults::empty(), "{lost}");
        let (_, active) = observe(&mut doors, &told, 1);
        assert_eq!(active, Faults::only(Fault::DoorSensorLost), "{lost}");
    }
}

#[test]
fn a_contradiction_is_told_after_a_while_and_doors_open_or_shut_are_none() {
    let mut doors = Doors::default();
    let told = sensors(true, true, true);
    assert_eq!(observe(&mut doors, &told, 9).1, Faults::empty());
    assert_eq!(
        observe(&mut doors, &told, 1).1,
        Faults::only(Fault::DoorContradiction)
    );
    for (left, right, shut) in [
        (true, true, false),
        (true, false, false),
        (false, false, true),
        (false, false, false),
    ] {
        let told = sensors(left, right, shut);
        assert_eq!(observe(&mut Doors::default(), &told, 50).1, Faults::empty());
    }
}

#[test]
fn a_door_drive_that_draws_too_much_or_runs_too_long_is_told() {
    let config = Config::default();
    let mut told = sensors(false, false, false);
    for way in [Way::Out, Way::In] {
        let mut doors = Doors::default();
        assert_ne!(doors.drive(Some(way), &config), DoorDrive::Off);
        assert_eq!(observe(&mut doors, &told, 599).1, Faults::empty());
        assert_eq!(
            observe(&mut doors, &told, 1).1,
            Faults::only(Fault::DoorOverdue)
        );
    }
    told.drive_current = Signal::fresh(Milliamps::new(15_001));
    let mut doors = Doors::default();
    doors.drive(Some(Way::Out), &config);
    assert_eq!(observe(&mut doors, &told, 24).1, Faults::empty());
    assert_eq!(
        observe(&mut doors, &told, 1).1,
        Faults::only(Fault::DoorOverload)
    );
}

#[test]
fn the_doors_rest_between_opposite_drives() {
    let config = Config::default();
    let told = sensors(false, false, false);
    for (way, same, opposite) in [
        (Way::Out, Condition::OpenRested, Condition::CloseRested),
        (Way::In, Condition::CloseRested, Condition::OpenRested),
    ] {
        let mut doors = Doors::default();
        assert_eq!(observe(&mut doors, &told, 1).0, same | opposite);
        doors.drive(Some(way), &config);
        for _ in 0..29 {
            doors.drive(None, &config);
            assert_eq!(observe(&mut doors, &told, 1).0, Conditions::only(same));
        }
        doors.drive(None, &config);
        assert_eq!(observe(&mut doors, &told, 1).0, same | opposite);
    }
}

/// Doors that have been open and are driven shut, told to be shut.
fn closing() -> Doors {
    let mut doors = Doors::default();
    observe(&mut doors, &sensors(true, true, false), 1);
    doors.drive(Some(Way::In), &Config::default());
    doors
}

fn loaded(milliamps: i32) -> DoorSensors {
    DoorSensors {
        drive_current: Signal::fresh(Milliamps::new(milliamps)),
        ..sensors(false, false, true)
    }
}

fn shut_after(doors: &mut Doors, told: &DoorSensors, ticks: u32) -> bool {
    observe(doors, told, ticks).0.contains(Condition::DoorsShut)
}

#[test]
fn a_press_needs_the_closing_drive_the_shut_switch_and_a_load_for_its_time() {
    assert!(!shut_after(&mut closing(), &loaded(15_001), 4));
    assert!(shut_after(&mut closing(), &loaded(15_001), 5));
    assert!(
        shut_after(&mut closing(), &loaded(-15_001), 5),
        "either way"
    );
    assert!(!shut_after(&mut closing(), &loaded(15_000), 5), "no load");

    let mut resting = closing();
    resting.drive(None, &Config::default());
    assert!(!shut_after(&mut resting, &loaded(25_000), 50), "not driven");

    let mut ajar = loaded(25_000);
    ajar.shut = Signal::fresh(false);
    let mut doors = closing();
    observe(&mut doors, &ajar, 20);
    assert!(!shut_after(&mut doors, &loaded(0), 1), "not told shut");
}

#[test]
fn doors_opened_only_a_crack_must_be_pressed_shut_again() {
    let mut doors = Doors::default();
    assert!(shut_after(&mut doors, &loaded(0), 1));
    doors.drive(Some(Way::Out), &Config::default());
    assert!(!shut_after(&mut doors, &loaded(0), 1));
    doors.drive(None, &Config::default());
    assert!(!shut_after(&mut doors, &loaded(0), 50));
}

#[test]
fn a_press_that_does_not_come_is_told_after_its_time_and_only_while_doors_close() {
    let overdue = Faults::only(Fault::DoorOverdue);
    let mut doors = closing();
    assert_eq!(observe(&mut doors, &loaded(0), 39).1, Faults::empty());
    assert_eq!(observe(&mut doors, &loaded(0), 1).1, overdue);

    let mut resting = closing();
    resting.drive(None, &Config::default());
    assert_eq!(observe(&mut resting, &loaded(0), 55).1, Faults::empty());

    let mut never_moved = Doors::default();
    never_moved.drive(Some(Way::In), &Config::default());
    let (_, active) = observe(&mut never_moved, &loaded(0), 100);
    assert_eq!(active, Faults::empty());
}

#[test]
fn doors_are_judged_at_rest_only_once_they_had_time_to_settle() {
    let mut doors = Doors::default();
    observe(&mut doors, &sensors(true, true, false), 59);
    let (_, active) = observe(&mut doors, &sensors(false, false, false), 50);
    assert_eq!(active, Faults::empty(), "they were still coasting");

    let mut doors = Doors::default();
    observe(&mut doors, &sensors(true, true, false), 60);
    let away = sensors(false, true, false);
    assert_eq!(observe(&mut doors, &away, 9).1, Faults::empty());
    assert_eq!(
        observe(&mut doors, &away, 1).1,
        Faults::only(Fault::DoorUnasked)
    );
}

#[test]
fn a_lost_or_contradictory_reading_is_not_taken_for_doors_that_stray() {
    let mut doors = Doors::default();
    observe(&mut doors, &sensors(false, false, true), 80);
    let mut told = sensors(false, false, true);
    told.shut = told.shut.invalidated();
    assert!(
        !observe(&mut doors, &told, 50)
            .1
            .contains(Fault::DoorUnasked)
    );
    let both = sensors(true, false, true);
    assert!(
        !observe(&mut doors, &both, 50)
            .1
            .contains(Fault::DoorUnasked)
    );
}
