//! Every safe halt: what declares it, when, and the fault it stands for.

use super::rig::{MAST, Rig};
use crate::outputs::{DoorDrive, Event, MastDrive, Motor};
use crate::signal::Signal;
use crate::units::Milliamps;
use crate::{Fault, Faults, Halt, Intention, State};

/// Ticks spent in the present state, until another is entered.
fn ticks_in_state(rig: &mut Rig) -> u32 {
    let state = rig.state();
    let mut ticks = 0;
    rig.run_while(|rig| {
        ticks += 1;
        rig.state() == state
    });
    ticks - 1
}

#[test]
fn a_bus_that_does_not_come_halts_deploying_and_stowing_after_its_time() {
    let mut rig = Rig::stowed();
    rig.broken.bus = true;
    rig.deploy();
    rig.until(State::DeployPower, 10);
    rig.until(State::Halted(Halt::NoBus), 800);
    assert!(rig.shows(Fault::PrechargeFailed));

    let mut rig = Rig::unwoken(MAST / 2, 1000);
    rig.run(60);
    rig.broken.bus = true;
    rig.stow();
    assert_eq!(rig.state(), State::StowPower);
    rig.run(700);
    assert_eq!(rig.state(), State::StowPower);
    rig.until(State::Halted(Halt::NoBus), 200);
}

#[test]
fn a_blade_that_is_not_parked_keeps_the_mast_in_the_bay() {
    let mut rig = Rig::stowed();
    rig.angle = 4_000;
    rig.deploy();
    rig.until(State::DeployPark, 1000);
    rig.run(900);
    assert_eq!(rig.state(), State::DeployPark);
    rig.until(State::Halted(Halt::NotParked), 200);
    assert!(rig.shows(Fault::ParkOverdue) && !rig.shows(Fault::ParkLost));
    assert_eq!(rig.position(), 0);
}

#[test]
fn a_mast_clear_of_the_bay_is_raised_whatever_the_blade_does() {
    let mut rig = Rig::unwoken(MAST * 8 / 10, 1000);
    rig.angle = 4_000;
    rig.run(60);
    rig.deploy();
    rig.until(State::DeployMast, 1000);
    rig.until(State::Deployed, 1000);
}

#[test]
fn doors_that_do_not_open_halt_with_their_fault() {
    let mut rig = Rig::stowed();
    rig.broken.doors = true;
    rig.deploy();
    rig.until(State::DeployDoors, 1000);
    rig.tick();
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Open);
    rig.until(State::Halted(Halt::Doors), 620);
    assert!(rig.shows(Fault::DoorOverdue));
    assert_eq!(rig.position(), 0);
}

#[test]
fn doors_that_do_not_shut_halt_with_their_fault() {
    let mut rig = Rig::stowing(State::StowDoors);
    rig.broken.doors = true;
    rig.tick();
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Close);
    rig.until(State::Halted(Halt::Doors), 620);
    assert!(rig.shows(Fault::DoorOverdue));
}

#[test]
fn a_door_that_is_denied_its_drive_is_overdue_after_the_time_of_its_stage() {
    let mut rig = Rig::deploying(State::DeployDoors);
    let mut ticks = 0;
    rig.inputs.missed_deadline = true;
    rig.run_while(|rig| {
        ticks += 1;
        rig.state() == State::DeployDoors
    });
    assert_eq!(rig.state(), State::Halted(Halt::Doors));
    assert!(rig.shows(Fault::DoorOverdue));
    assert!((799..=801).contains(&ticks), "{ticks}");
}

#[test]
fn a_door_fault_that_stands_halts_the_doors_at_once() {
    let mut rig = Rig::deploying(State::DeployDoors);
    rig.inputs.doors.drive_current = Signal::fresh(Milliamps::ZERO).invalidated();
    rig.run(20);
    assert_eq!(rig.state(), State::Halted(Halt::Doors));
    assert!(rig.shows(Fault::DoorSensorLost) && !rig.shows(Fault::DoorOverdue));
}

#[test]
fn a_door_fault_that_was_there_before_halts_the_doors_as_soon_as_they_are_to_open() {
    let mut rig = Rig::stowed();
    rig.inputs.doors.drive_current = Signal::fresh(Milliamps::ZERO).invalidated();
    rig.run(20);
    assert!(rig.shows(Fault::DoorSensorLost));
    rig.deploy();
    rig.until(State::DeployDoors, 1000);
    rig.run(2);
    assert_eq!(rig.state(), State::Halted(Halt::Doors));
}

#[test]
fn air_too_fast_for_the_doors_is_waited_for_and_then_halts() {
    let mut rig = Rig::deploying(State::DeployDoors);
    rig.airspeed(301);
    rig.run(700);
    assert_eq!(rig.state(), State::DeployDoors);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    rig.until(State::Halted(Halt::TooFast), 150);
    assert!(!rig.shows(Fault::DoorOverdue));
}

#[test]
fn air_too_fast_for_the_mast_is_waited_for_and_then_halts() {
    let mut rig = Rig::half_way();
    rig.airspeed(301);
    rig.run(1_000);
    assert_eq!(rig.state(), State::DeployMast);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    rig.until(State::Halted(Halt::TooFast), 1_300);
}

#[test]
fn air_too_fast_to_let_go_of_the_blade_is_waited_for_and_then_halts() {
    let mut rig = Rig::stowing(State::StowPark);
    rig.airspeed(301);
    rig.run(900);
    assert_eq!(rig.state(), State::StowPark);
    rig.until(State::Halted(Halt::TooFast), 200);
    assert_eq!(rig.position(), 1000);
}

#[test]
fn a_mast_that_does_not_follow_its_drive_halts_with_a_mast_fault() {
    let mut rig = Rig::half_way();
    rig.broken.mast = true;
    rig.run(130);
    assert_eq!(rig.state(), State::Halted(Halt::MastFault));
    assert!(rig.shows(Fault::MastNotFollowing));
}

#[test]
fn a_mast_that_is_denied_its_drive_is_overdue_after_the_time_of_its_stage() {
    let mut rig = Rig::half_way();
    rig.inputs.missed_deadline = true;
    rig.until(State::Halted(Halt::MastOverdue), 2_300);
    assert!(rig.shows(Fault::MastOverdue));
}

#[test]
fn a_mast_drive_that_runs_out_its_time_halts_as_overdue() {
    let mut rig = Rig::half_way();
    // It crawls up and never arrives.
    for tick in 0..1_700_i16 {
        rig.broken.mast = tick % 8 != 0;
        if rig.state() != State::DeployMast {
            break;
        }
        rig.tick();
        if rig.position() > 900 {
            rig.lower_to(500);
        }
    }
    assert_eq!(rig.state(), State::Halted(Halt::MastOverdue));
    assert!(rig.shows(Fault::MastOverdue));
}

#[test]
fn a_door_fault_stops_the_mast_between_them() {
    let mut rig = Rig::half_way();
    rig.inputs.doors.shut = Signal::fresh(false).invalidated();
    rig.run(20);
    assert_eq!(rig.state(), State::Halted(Halt::Doors));
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
}

#[test]
fn a_blade_that_leaves_its_place_stops_a_mast_on_its_way_out_of_the_bay_too() {
    let mut rig = Rig::half_way();
    rig.angle = 4_000;
    rig.run(3);
    assert_eq!(rig.state(), State::Halted(Halt::NotParked));
    assert!(rig.shows(Fault::ParkLost) && !rig.shows(Fault::ParkOverdue));
}

#[test]
fn a_blade_that_leaves_its_place_above_the_bay_does_not_stop_a_mast_that_rises() {
    let mut rig = Rig::deploying(State::DeployMast);
    rig.run_while(|rig| rig.position() < 700);
    rig.angle = 4_000;
    rig.until(State::Deployed, 500);
}

#[test]
fn a_mast_on_its_way_out_asks_for_no_torque_and_leaves_open_doors_alone() {
    let mut rig = Rig::half_way();
    for _ in 0..100 {
        rig.tick();
        assert!(!rig.asks_for_torque());
        assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
        assert_eq!(rig.outputs.drives.motor, Motor::Short);
    }
}

#[test]
fn a_lock_must_show_for_its_proof_time_with_the_drive_still_on() {
    let mut rig = Rig::deploying(State::DeployMast);
    rig.run_while(|rig| rig.position() < 1000);
    for _ in 0..14 {
        rig.tick();
        assert_eq!(rig.state(), State::DeployMast);
        assert_ne!(rig.outputs.drives.mast, MastDrive::Off);
    }
    rig.tick();
    assert_eq!(rig.state(), State::Deployed);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
}

#[test]
fn a_propeller_that_does_not_slow_down_halts_the_stow_with_the_mast_up() {
    let mut rig = Rig::thrusting();
    rig.broken.blade = true;
    rig.stow();
    assert_eq!(rig.state(), State::StowBrake);
    rig.run(900);
    assert_eq!(rig.state(), State::StowBrake);
    rig.until(State::Halted(Halt::NotSlowed), 150);
    assert!(rig.shows(Fault::BrakeOverdue));
    assert_eq!(rig.position(), 1000);
}

#[test]
fn a_bus_lost_while_the_blade_is_slowed_or_parked_halts() {
    for state in [State::StowBrake, State::StowPark] {
        let mut rig = Rig::thrusting();
        rig.stow();
        rig.until(state, 1000);
        rig.broken.bus = true;
        rig.run(10);
        assert_eq!(rig.state(), State::Halted(Halt::NoBus), "{state:?}");
        assert!(rig.shows(Fault::BusLost));
    }
}

#[test]
fn each_step_of_stowing_takes_its_own_time_and_no_more() {
    let mut rig = Rig::thrusting();
    rig.stow();
    rig.until(State::StowProve, 2000);
    assert_eq!(rig.outputs.drives.motor, Motor::Free);
    assert_eq!(ticks_in_state(&mut rig), 100, "one second");
    assert_eq!(rig.state(), State::StowMast);
}

/// It may come to its end by hand in the very tick in which it is to be stowed.
#[test]
fn a_mast_that_is_stowed_already_is_not_driven_to_be_stowed() {
    let mut rig = Rig::stowing(State::StowProve);
    rig.run(50);
    rig.lower_to(0);
    rig.until(State::StowMast, 100);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    rig.tick();
    assert_eq!(rig.state(), State::StowDoors);
    rig.until(State::Stowed, 1000);
}

#[test]
fn a_stop_by_one_contact_halts_every_step_of_deploying() {
    for state in [
        State::DeployPower,
        State::DeployPark,
        State::DeployDoors,
        State::DeployMast,
    ] {
        let mut rig = Rig::deploying(state);
        rig.inputs.controls.stop_b = Signal::fresh(true);
        rig.run(2);
        assert_eq!(rig.state(), State::Halted(Halt::StopThrown), "{state:?}");
        rig.run(50);
        assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
        assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    }
}

#[test]
fn a_stop_by_both_contacts_stows_from_every_step_of_deploying() {
    for (state, then) in [
        (State::DeployPower, State::StowDoors),
        (State::DeployPark, State::StowDoors),
        (State::DeployDoors, State::StowDoors),
        (State::DeployMast, State::StowDoors),
    ] {
        let mut rig = Rig::deploying(state);
        rig.stop(true);
        rig.tick();
        assert_eq!(rig.state(), then, "{state:?}");
        rig.until(State::Stowed, 3000);
    }
    let mut rig = Rig::half_way();
    rig.stop(true);
    rig.tick();
    assert_eq!(rig.state(), State::StowBrake);
}

#[test]
fn a_stow_opposes_every_step_of_deploying_and_a_deploy_every_step_of_stowing() {
    for state in [
        State::DeployPower,
        State::DeployPark,
        State::DeployDoors,
        State::DeployMast,
    ] {
        let mut rig = Rig::stowed();
        // Parking is passed at once unless the blade is out of its place.
        rig.angle = if state == State::DeployPark { 4_000 } else { 0 };
        rig.deploy();
        rig.until(state, 3000);
        rig.select(false, false, true);
        rig.run_while(|rig| rig.state() == state);
        assert_eq!(rig.state(), State::Jog, "{state:?}");
    }
    for state in [
        State::StowBrake,
        State::StowPark,
        State::StowProve,
        State::StowMast,
        State::StowDoors,
    ] {
        let mut rig = Rig::thrusting();
        rig.stow();
        rig.until(state, 3000);
        rig.select(false, true, false);
        rig.run_while(|rig| rig.state() == state);
        assert_eq!(rig.state(), State::Jog, "{state:?}");
    }
    let mut rig = Rig::unwoken(MAST / 2, 1000);
    rig.run(60);
    rig.stow();
    assert_eq!(rig.state(), State::StowPower);
    rig.deploy();
    assert_eq!(rig.state(), State::Jog);
}

#[test]
fn a_push_the_same_way_changes_nothing_and_is_not_called_ignored() {
    let mut rig = Rig::half_way();
    rig.deploy();
    assert_eq!(rig.state(), State::DeployMast);
    rig.until(State::Armed, 2000);
    rig.stow();
    rig.stow();
    assert!(rig.state().is_stowing());
    let ignored =
        |event: &&crate::outputs::Event| matches!(event, crate::outputs::Event::Ignored(_));
    assert_eq!(rig.events.iter().find(ignored), None);
}

#[test]
fn a_halt_that_stays_latches_its_fault_once_and_no_other() {
    let mut rig = Rig::stowing(State::StowPark);
    rig.angle = 4_000;
    rig.broken.blade = true;
    rig.until(State::Halted(Halt::NotParked), 1_200);
    rig.run(10);
    let faults = rig.outputs.indications.faults;
    assert_eq!(faults, Faults::only(Fault::ParkOverdue));
    rig.acknowledge(260);
    assert_eq!(rig.outputs.indications.faults, Faults::empty());
    assert_eq!(rig.state(), State::Halted(Halt::NotParked));
}

#[test]
fn a_lock_that_shows_while_the_drive_is_denied_is_no_proof() {
    let mut rig = Rig::deploying(State::DeployMast);
    rig.run_while(|rig| rig.position() < 994);
    rig.airspeed(310);
    for _ in 0..100 {
        rig.inputs.mast.lock_switch = Signal::fresh(true);
        rig.tick();
        assert_eq!(rig.state(), State::DeployMast);
        assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    }
    rig.airspeed(200);
    rig.until(State::Deployed, 200);
}

#[test]
fn a_stop_by_one_contact_comes_before_an_opposing_push_in_the_same_tick() {
    let mut rig = Rig::deploying(State::DeployPower);
    rig.release();
    rig.run(5);
    rig.select(false, false, true);
    rig.run(2);
    assert_eq!(rig.state(), State::DeployPower);
    rig.inputs.controls.stop_a = Signal::fresh(true);
    rig.tick();
    assert!(rig.events.contains(&Event::Intended(Intention::Stow)));
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));
}
