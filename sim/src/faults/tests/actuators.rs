//! Each kind of actuator fault does what its sentence says.

use mastwright_core::outputs::{DoorDrive, Drives, Fans, MastDrive, Motor, Pace};
use mastwright_core::units::{Permille, Rpm};

use super::super::*;

const EXTEND: MastDrive = MastDrive::Extend(Pace::Full);
const RETRACT: MastDrive = MastDrive::Retract(Pace::Full);

fn injector(actuator: &str, kind: Kind, strength: Option<f64>) -> Injector {
    let target = format!("actuator.{actuator}").parse();
    let fault = Fault::new(target.expect("a known target"), kind, strength, None);
    Injector::new(vec![fault.expect("a fault it can have")], 9)
}

/// What becomes of the given commands.
fn done(injector: &mut Injector, commanded: Drives) -> Drives {
    let mut drives = commanded;
    injector.corrupt_drives(&mut drives);
    injector.tick();
    drives
}

fn mast(injector: &mut Injector, commanded: MastDrive) -> MastDrive {
    let drives = Drives {
        mast: commanded,
        ..Drives::default()
    };
    done(injector, drives).mast
}

fn doors(injector: &mut Injector, commanded: DoorDrive) -> DoorDrive {
    let drives = Drives {
        doors: commanded,
        ..Drives::default()
    };
    done(injector, drives).doors
}

fn motor(injector: &mut Injector, commanded: Motor) -> Motor {
    let drives = Drives {
        motor: commanded,
        ..Drives::default()
    };
    done(injector, drives).motor
}

fn main(injector: &mut Injector, closed: bool) -> bool {
    let mut drives = Drives::default();
    drives.bus.main = closed;
    done(injector, drives).bus.main
}

#[test]
fn a_dead_actuator_rests_whatever_is_commanded() {
    let mut dead = injector("mast-drive", Kind::Dead, None);
    assert_eq!(mast(&mut dead, EXTEND), EXTEND, "not yet begun");
    dead.start(0);
    assert_eq!(mast(&mut dead, EXTEND), MastDrive::Off);

    let mut fans = injector("fans", Kind::Dead, None);
    fans.start(0);
    assert_eq!(done(&mut fans, Drives::default()).fans, Fans::Off);
}

#[test]
fn a_stuck_contactor_keeps_the_last_command() {
    for closed in [false, true] {
        let mut stuck = injector("main-contactor", Kind::Stuck, None);
        stuck.start(0);
        assert_eq!(main(&mut stuck, closed), closed);
        assert_eq!(main(&mut stuck, !closed), closed);
    }
}

#[test]
fn a_contactor_stuck_on_stays_closed() {
    let mut welded = injector("main-contactor", Kind::StuckOn, None);
    welded.start(0);
    assert!(main(&mut welded, false));
}

#[test]
fn a_drive_stuck_on_goes_on_as_last_driven_or_the_given_way() {
    let mut last = injector("mast-drive", Kind::StuckOn, None);
    assert_eq!(mast(&mut last, RETRACT), RETRACT);
    assert_eq!(mast(&mut last, MastDrive::Off), MastDrive::Off);
    last.start(0);
    assert_eq!(mast(&mut last, MastDrive::Off), RETRACT);
    assert_eq!(
        mast(&mut last, EXTEND),
        RETRACT,
        "a command changes nothing"
    );
    assert_eq!(mast(&mut last, MastDrive::Off), RETRACT);

    let mut out = injector("mast-drive", Kind::StuckOn, Some(1.0));
    mast(&mut out, RETRACT);
    out.start(0);
    assert_eq!(mast(&mut out, RETRACT), EXTEND);

    let mut shut = injector("door-drive", Kind::StuckOn, Some(-1.0));
    shut.start(0);
    assert_eq!(doors(&mut shut, DoorDrive::Open), DoorDrive::Close);
}

#[test]
fn a_slow_mast_drive_runs_at_the_slow_pace() {
    let mut slow = injector("mast-drive", Kind::Slow, None);
    slow.start(0);
    assert_eq!(mast(&mut slow, EXTEND), MastDrive::Extend(Pace::Slow));
    assert_eq!(mast(&mut slow, MastDrive::Off), MastDrive::Off);
}

#[test]
fn a_slow_door_drive_runs_a_quarter_of_the_time() {
    let mut slow = injector("door-drive", Kind::Slow, None);
    slow.start(0);
    let opening = (0..400).filter(|_| doors(&mut slow, DoorDrive::Open) == DoorDrive::Open);
    assert_eq!(opening.count(), 100);
}

#[test]
fn a_reversed_actuator_goes_the_opposite_way() {
    let mut reversed = injector("mast-drive", Kind::Reversed, None);
    reversed.start(0);
    assert_eq!(mast(&mut reversed, EXTEND), RETRACT);
    assert_eq!(mast(&mut reversed, RETRACT), EXTEND);
    assert_eq!(mast(&mut reversed, MastDrive::Off), MastDrive::Off);

    let mut phases = injector("motor", Kind::Reversed, None);
    phases.start(0);
    let creep = Motor::Creep(Rpm::new(15));
    assert_eq!(motor(&mut phases, creep), Motor::Creep(Rpm::new(-15)));
    let hold = Motor::Hold(Permille::FULL);
    assert_eq!(motor(&mut phases, hold), hold);
}

#[test]
fn a_weak_motor_gives_its_share_of_thrust_brake_and_hold() {
    let mut weak = injector("motor", Kind::Weak, Some(250.0));
    weak.start(0);
    let share = |given| Permille::new(given);
    for (commanded, given) in [
        (Motor::Thrust(share(800)), Motor::Thrust(share(200))),
        (Motor::Brake(share(600)), Motor::Brake(share(150))),
        (Motor::Hold(share(1_000)), Motor::Hold(share(250))),
        (Motor::Short, Motor::Short),
        (Motor::Free, Motor::Free),
    ] {
        assert_eq!(motor(&mut weak, commanded), given);
    }
}

#[test]
fn a_motor_stuck_on_pulls_with_the_given_torque() {
    let mut on = injector("motor", Kind::StuckOn, Some(450.0));
    on.start(0);
    let pull = Motor::Thrust(Permille::new(450));
    assert_eq!(motor(&mut on, Motor::Free), pull);
}

#[test]
fn a_delayed_actuator_follows_late() {
    let mut late = injector("main-contactor", Kind::Delayed, Some(0.02));
    late.start(0);
    let commands = [false, true, true, false, false, false];
    let followed = commands.map(|closed| main(&mut late, closed));
    assert_eq!(followed, [false, false, false, true, true, false]);
}

#[test]
fn an_intermittent_actuator_rests_during_breaks_and_obeys_between_them() {
    let mut loose = injector("main-contactor", Kind::Intermittent, None);
    loose.start(0);
    let closed = (0..1_000).filter(|_| main(&mut loose, true)).count();
    assert!((300..700).contains(&closed), "{closed} of 1000 ticks");
    assert!((0..1_000).all(|_| !main(&mut loose, false)));
}
