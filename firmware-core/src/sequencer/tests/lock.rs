//! A lock that shows is no lock yet: it is proven by driving out against it.

use super::rig::{MAST, Rig};
use crate::interlock::Condition;
use crate::outputs::{MastDrive, Pace};
use crate::signal::Signal;
use crate::{Faults, Halt, State};

/// Power came back, or came on, with the mast found up, the lock showing, doors open.
fn woken_up_there() -> Rig {
    let mut rig = Rig::unwoken(MAST, 1000);
    rig.until(State::Resting, 100);
    rig
}

/// The lock switch has failed closed, the mast a little off its end, where the pin is out.
fn believed_up_there() -> Rig {
    let mut rig = Rig::unwoken(MAST, 1000);
    rig.lower_to(995);
    rig.inputs.mast.lock_switch = Signal::fresh(true);
    rig
}

fn proves_lock(rig: &Rig) -> bool {
    rig.proves(Condition::MastLocked)
}

#[test]
fn a_lock_found_at_power_up_shows_but_is_not_proven() {
    let mut rig = woken_up_there();
    rig.run(500);
    assert!(rig.proves(Condition::MastDeployed) && !proves_lock(&rig));
    assert!(!rig.outputs.indications.mast_locked);
}

#[test]
fn deploying_from_there_drives_on_before_there_is_thrust() {
    let mut rig = woken_up_there();
    rig.deploy();
    let driven = rig.until(State::DeployMast, 300);
    assert!(driven > 0 && !proves_lock(&rig));
    let proof = rig.until(State::Deployed, 100);
    assert_eq!(proof, 15, "150 ms from the tick in which the drive begins");
    rig.until(State::Armed, 10);
    assert!(proves_lock(&rig));
}

#[test]
fn in_air_too_fast_for_the_mast_it_stays_unproven() {
    let mut rig = woken_up_there();
    rig.airspeed(350);
    rig.deploy();
    for _ in 0..3_000 {
        rig.tick();
        assert!(!proves_lock(&rig) && rig.outputs.drives.mast == MastDrive::Off);
    }
    assert!(matches!(rig.state(), State::Halted(_)));
}

#[test]
fn by_hand_too_it_is_proven_by_driving_on() {
    let mut rig = woken_up_there();
    rig.stow();
    rig.deploy();
    assert_eq!(rig.state(), State::Jog);
    rig.select(false, true, false);
    rig.run(5);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Extend(Pace::Full));
    rig.run_while(|rig| !proves_lock(rig));
    rig.run(2);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off, "no further");
    rig.release();
    assert!(matches!(rig.state(), State::Deployed | State::Armed));
}

#[test]
fn a_selector_let_go_too_early_leads_to_no_thrust() {
    let mut rig = woken_up_there();
    rig.stow();
    rig.select(false, true, false);
    rig.until(State::Jog, 10);
    rig.release();
    for _ in 0..1_000 {
        rig.tick();
        assert!(matches!(rig.state(), State::Jog | State::Resting));
        assert!(!proves_lock(&rig));
    }
}

#[test]
fn a_mast_driven_in_has_lost_its_proof_whatever_its_switch_says() {
    let mut rig = Rig::stowing(State::StowMast);
    assert!(proves_lock(&rig));
    rig.run_while(|rig| rig.outputs.drives.mast == MastDrive::Off);
    rig.run(2);
    rig.lower_to(995);
    rig.inputs.mast.lock_switch = Signal::fresh(true);
    rig.tick();
    assert!(rig.proves(Condition::MastDeployed) && !proves_lock(&rig));
}

#[test]
fn a_stow_after_a_reset_proves_the_lock_to_park_the_blade() {
    let mut rig = woken_up_there();
    rig.angle = 4_500;
    rig.stow();
    rig.until(State::StowBrake, 300);
    rig.run_while(|rig| rig.outputs.drives.mast == MastDrive::Off);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Extend(Pace::Full));
    assert!(!proves_lock(&rig) && !rig.outputs.drives.motor_enable);
    rig.until(State::Stowed, 4_000);
}

#[test]
fn in_air_too_fast_for_the_mast_a_stow_after_a_reset_halts_without_a_fault() {
    for turning in [false, true] {
        let mut rig = woken_up_there();
        rig.angle = 4_500;
        rig.speed = if turning { 600 } else { 0 };
        rig.broken.blade = turning;
        rig.airspeed(350);
        rig.stow();
        rig.until(State::Halted(Halt::TooFast), 2_500);
        rig.run(10);
        assert_eq!(rig.outputs.indications.faults, Faults::empty(), "{turning}");
    }
}

#[test]
fn a_stow_after_a_reset_needs_no_lock_for_a_blade_that_is_parked() {
    let mut rig = woken_up_there();
    rig.stow();
    rig.run_while(|rig| {
        assert!(!matches!(rig.outputs.drives.mast, MastDrive::Extend(_)));
        rig.state() != State::Stowed
    });
}

#[test]
fn a_lock_that_shows_off_its_end_is_driven_in_before_it_is_believed() {
    let mut rig = believed_up_there();
    rig.until(State::Resting, 100);
    rig.deploy();
    rig.until(State::Deployed, 400);
    assert!(rig.position() >= 1000, "{}", rig.position());
}

#[test]
fn in_bench_the_drive_ends_where_the_lock_shows_and_nothing_is_proven() {
    let mut rig = Rig::unwoken(MAST - 500, 1000);
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.run(10);
    rig.press_acknowledge(true);
    rig.until(State::Bench, 100);
    rig.press_acknowledge(false);
    rig.run(10);
    rig.acknowledge(10);
    rig.select(false, true, false);
    rig.run_while(|rig| rig.position() < 1000);
    rig.run(2);
    for _ in 0..500 {
        assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
        assert!(rig.proves(Condition::MastDeployed) && !proves_lock(&rig));
        rig.tick();
    }
    assert_eq!(rig.outputs.indications.faults, Faults::empty());
}
