//! What is watched in every state: airspeed, the motor's obedience, latched faults, the
//! lamps and the events.

use super::rig::Rig;
use crate::bus::Stage;
use crate::interlock::Condition;
use crate::outputs::{Event, Motor};
use crate::signal::Signal;
use crate::units::{DeciMetresPerSecond, Milliamps};
use crate::{Fault, Faults, State};

#[test]
fn mast_and_doors_move_up_to_their_airspeed_and_again_only_well_below_it() {
    let mut rig = Rig::stowed();
    let mut in_range = |decimetres| {
        rig.airspeed(decimetres);
        rig.tick();
        rig.proves(Condition::AirspeedInRange)
    };
    assert!(in_range(300));
    assert!(!in_range(301));
    assert!(!in_range(300));
    assert!(!in_range(286));
    assert!(in_range(285));
    assert!(in_range(300));
}

#[test]
fn an_airspeed_that_is_lost_proves_nothing_and_is_told_after_a_while() {
    let mut rig = Rig::stowed();
    rig.inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO).invalidated();
    rig.run(9);
    assert!(!rig.proves(Condition::AirspeedInRange));
    assert!(!rig.shows(Fault::AirspeedUnknown));
    rig.tick();
    assert!(rig.shows(Fault::AirspeedUnknown));
}

#[test]
fn overspeed_is_told_only_with_the_mast_out() {
    let mut rig = Rig::stowed();
    rig.airspeed(600);
    rig.run(50);
    assert!(!rig.shows(Fault::Overspeed), "it is stowed");
    let mut rig = Rig::armed();
    rig.airspeed(420);
    rig.run(50);
    assert!(!rig.shows(Fault::Overspeed));
    rig.airspeed(421);
    rig.tick();
    assert!(rig.shows(Fault::Overspeed));
}

#[test]
fn a_motor_that_draws_current_unasked_is_told_after_a_while() {
    let mut rig = Rig::armed();
    rig.broken.load = 15_000;
    rig.run(50);
    assert!(!rig.shows(Fault::MotorUnasked));
    rig.broken.load = 15_001;
    rig.run(10);
    assert!(!rig.shows(Fault::MotorUnasked));
    rig.run(2);
    assert!(rig.shows(Fault::MotorUnasked));
    assert!(!rig.proves(Condition::MotorObeys));
}

#[test]
fn a_motor_that_propels_as_it_is_asked_may_draw_what_it_likes() {
    let mut rig = Rig::thrusting();
    rig.broken.load = 200_000;
    rig.run(200);
    assert_eq!(rig.outputs.indications.faults, Faults::empty());
    assert!(rig.proves(Condition::MotorObeys) && !rig.proves(Condition::TorqueOff));
}

#[test]
fn the_current_that_charges_the_bus_is_not_the_motors() {
    let mut rig = Rig::stowed();
    rig.deploy();
    rig.run_while(|rig| !rig.outputs.drives.bus.precharge);
    rig.inputs.bus.current = Signal::fresh(Milliamps::new(50_000));
    for _ in 0..50 {
        rig.tick();
        rig.inputs.bus.current = Signal::fresh(Milliamps::new(50_000));
        if rig.outputs.drives.bus.main {
            break;
        }
    }
    assert!(!rig.shows(Fault::MotorUnasked));
}

#[test]
fn a_held_blade_that_runs_away_is_a_motor_that_disobeys() {
    let mut rig = Rig::armed();
    rig.run(100);
    assert_eq!(
        rig.outputs.drives.motor,
        Motor::Hold(rig.config.hold_strength)
    );
    rig.broken.blade = true;
    rig.speed = 46;
    rig.run(2);
    assert!(!rig.shows(Fault::MotorUnasked));
    rig.run(3);
    assert!(rig.shows(Fault::MotorUnasked));
}

#[test]
fn a_blade_that_is_only_slowed_may_turn_with_the_wind() {
    let mut rig = Rig::stowed();
    rig.broken.blade = true;
    rig.speed = 300;
    rig.run(100);
    assert!(!rig.shows(Fault::MotorUnasked));
    assert!(rig.proves(Condition::TorqueOff));
}

#[test]
fn a_fault_forbids_from_the_tick_in_which_it_shows_until_it_is_cleared() {
    let mut rig = Rig::stowed();
    let healthy = [
        Condition::MastHealthy,
        Condition::DoorsHealthy,
        Condition::BusHealthy,
        Condition::MotorObeys,
    ];
    assert!(healthy.into_iter().all(|condition| rig.proves(condition)));
    rig.inputs.mast.drive_current = rig.inputs.mast.drive_current.invalidated();
    rig.run(9);
    assert!(rig.proves(Condition::MastHealthy));
    for _ in 0..5 {
        rig.tick();
        assert!(!rig.proves(Condition::MastHealthy), "active and latched");
        assert!(rig.proves(Condition::DoorsHealthy) && rig.proves(Condition::BusHealthy));
    }
    rig.inputs.mast.drive_current = Signal::fresh(Milliamps::ZERO);
    rig.run(5);
    assert!(!rig.proves(Condition::MastHealthy), "latched");
    rig.acknowledge(260);
    rig.run(2);
    assert!(rig.proves(Condition::MastHealthy));
    let cleared = Event::Cleared(Fault::MastSensorLost);
    assert!(rig.events.contains(&cleared));
    assert!(rig.events.contains(&Event::Latched(Fault::MastSensorLost)));
}

#[test]
fn each_modules_fault_forbids_its_own_drives() {
    let mut rig = Rig::stowed();
    rig.inputs.doors.drive_current = rig.inputs.doors.drive_current.invalidated();
    rig.run(12);
    assert!(!rig.proves(Condition::DoorsHealthy) && rig.proves(Condition::MastHealthy));
    let mut rig = Rig::stowed();
    for _ in 0..40 {
        rig.inputs.bus.main_feedback = Signal::fresh(true);
        rig.tick();
    }
    assert!(!rig.proves(Condition::BusHealthy) && rig.proves(Condition::DoorsHealthy));
}

#[test]
fn a_tick_in_time_proves_itself_and_a_late_one_does_not() {
    let mut rig = Rig::stowed();
    assert!(rig.proves(Condition::OnTime));
    rig.inputs.missed_deadline = true;
    rig.tick();
    assert!(!rig.proves(Condition::OnTime) && rig.shows(Fault::DeadlineMissed));
}

#[test]
fn an_acknowledge_is_told_once() {
    let mut rig = Rig::stowed();
    rig.acknowledge(50);
    let told = rig
        .events
        .iter()
        .filter(|event| **event == Event::Acknowledged);
    assert_eq!(told.count(), 1);
}

#[test]
fn the_bus_tells_every_stage_it_enters_and_no_other() {
    let rig = Rig::armed();
    let stages: std::vec::Vec<_> = rig
        .events
        .iter()
        .filter_map(|event| match event {
            Event::Bus(stage) => Some(*stage),
            Event::Went { .. }
            | Event::Intended(_)
            | Event::Ignored(_)
            | Event::Latched(_)
            | Event::Cleared(_)
            | Event::Acknowledged
            | Event::RestraintConfirmed
            | Event::RestraintEnded => None,
        })
        .collect();
    assert_eq!(
        stages,
        [
            Stage::Dead,
            Stage::Checking,
            Stage::Precharging,
            Stage::Closing,
            Stage::Live
        ]
    );
}

#[test]
fn the_lamps_show_what_is_proven_and_nothing_else() {
    let mut rig = Rig::stowed();
    rig.run(200);
    let lamps = rig.outputs.indications;
    assert!(lamps.stowed && lamps.bus_dead && lamps.parked);
    assert!(!lamps.mast_locked && !lamps.armed);
    assert_eq!(lamps.state, State::Stowed);

    rig.inputs.mast.stowed_switch = rig.inputs.mast.stowed_switch.invalidated();
    rig.tick();
    assert!(
        !rig.outputs.indications.stowed,
        "the mast is not proven stowed"
    );
    let mut rig = Rig::stowed();
    rig.inputs.doors.shut = rig.inputs.doors.shut.invalidated();
    rig.tick();
    assert!(
        !rig.outputs.indications.stowed,
        "the doors are not proven shut"
    );

    let mut rig = Rig::armed();
    rig.run(100);
    let lamps = rig.outputs.indications;
    assert!(lamps.mast_locked && lamps.armed && lamps.parked);
    assert!(!lamps.stowed && !lamps.bus_dead);
    rig.angle = 4_000;
    rig.tick();
    rig.tick();
    assert!(!rig.outputs.indications.parked);
}

#[test]
fn stowed_is_not_shown_while_the_doors_are_only_found_shut_on_the_way() {
    let mut rig = Rig::unwoken(0, 0);
    rig.run(20);
    assert_eq!(rig.state(), State::Waking);
    assert!(!rig.outputs.indications.stowed);
}

#[test]
fn a_bus_that_drains_is_not_shown_dead_before_it_is_proven_so() {
    let mut rig = Rig::stowed();
    rig.run(20);
    assert!(
        !rig.outputs.indications.bus_dead,
        "no volts, and not yet drained"
    );
    rig.run(200);
    assert!(rig.outputs.indications.bus_dead);
    rig.inputs.bus.voltage = rig.inputs.bus.voltage.invalidated();
    rig.tick();
    assert!(!rig.outputs.indications.bus_dead);
}
