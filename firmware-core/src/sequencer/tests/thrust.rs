//! Deployed, armed, thrust: what arms, what disarms, what takes thrust away.

use super::rig::Rig;
use crate::interlock::Condition;
use crate::outputs::{Event, Motor};
use crate::signal::Signal;
use crate::units::{DeciCelsius, Permille};
use crate::{Fault, Halt, Intention, State};

#[test]
fn thrust_follows_the_throttle_up_to_what_the_temperatures_and_packs_allow() {
    let mut rig = Rig::armed();
    rig.throttle(400);
    rig.run(3);
    assert_eq!(rig.outputs.drives.motor, Motor::Thrust(Permille::new(400)));
    assert!(rig.outputs.drives.motor_enable);
    rig.throttle(900);
    rig.inputs.thermal.motor = Signal::fresh(DeciCelsius::new(1_225));
    rig.run(3);
    assert_eq!(rig.outputs.drives.motor, Motor::Thrust(Permille::new(500)));
    rig.inputs.thermal.motor = Signal::fresh(DeciCelsius::new(250));
    let pack = &mut rig.inputs.packs[1];
    pack.voltage = pack.voltage.invalidated();
    rig.run(20);
    assert_eq!(
        rig.outputs.drives.motor,
        Motor::Thrust(rig.config.one_pack_limit)
    );
}

#[test]
fn a_closed_throttle_arms_and_holds_the_blade() {
    let mut rig = Rig::thrusting();
    rig.throttle(0);
    rig.run(2);
    assert_eq!(rig.state(), State::Armed);
    rig.run(400);
    assert_eq!(
        rig.outputs.drives.motor,
        Motor::Hold(rig.config.hold_strength)
    );
    assert!(rig.proves(Condition::Armed) && rig.outputs.indications.armed);
    rig.throttle(500);
    rig.run(2);
    assert_eq!(rig.state(), State::Thrust);
    assert!(rig.proves(Condition::Armed) && rig.outputs.indications.armed);
}

#[test]
fn what_is_deployed_is_armed_only_once_the_throttle_is_seen_at_zero() {
    let mut rig = Rig::stowed();
    rig.throttle(31);
    rig.deploy();
    rig.until(State::Deployed, 3000);
    rig.run(50);
    assert_eq!(rig.state(), State::Deployed);
    assert!(!rig.proves(Condition::Armed) && !rig.outputs.indications.armed);
    rig.throttle(30);
    rig.run(2);
    assert_eq!(rig.state(), State::Armed);
}

#[test]
fn whatever_denies_thrust_disarms_until_the_throttle_is_seen_at_zero_again() {
    let mut rig = Rig::thrusting();
    rig.inputs.thermal.controller = Signal::fresh(DeciCelsius::new(1_000));
    rig.tick();
    assert_eq!(rig.state(), State::Deployed);
    assert!(!rig.thrust());
    rig.inputs.thermal.controller = Signal::fresh(DeciCelsius::new(250));
    rig.run(50);
    assert_eq!(rig.state(), State::Deployed, "the throttle is still open");
    rig.throttle(0);
    rig.run(2);
    assert_eq!(rig.state(), State::Armed);
    rig.throttle(1000);
    rig.run(2);
    assert!(rig.thrust());
}

#[test]
fn what_denies_thrust_keeps_what_is_deployed_from_arming() {
    let mut rig = Rig::armed();
    rig.inputs.thermal.controller = Signal::fresh(DeciCelsius::new(1_000));
    rig.run(50);
    assert_eq!(rig.state(), State::Deployed);
}

#[test]
fn a_lost_lock_halts_at_once_with_its_fault_from_every_state_of_thrust() {
    let mut deployed = Rig::stowed();
    deployed.throttle(500);
    deployed.deploy();
    deployed.until(State::Deployed, 3000);
    for mut rig in [deployed, Rig::armed(), Rig::thrusting()] {
        let from = rig.state();
        rig.inputs.mast.lock_switch = rig.inputs.mast.lock_switch.invalidated();
        rig.tick();
        assert_eq!(rig.state(), State::Halted(Halt::LockLost), "{from:?}");
        assert!(!rig.thrust());
        assert!(rig.shows(Fault::LockLost));
    }
}

#[test]
fn a_deploy_while_the_bus_is_lost_makes_it_live_again_and_otherwise_is_ignored() {
    let mut rig = Rig::armed();
    rig.deploy();
    assert_eq!(rig.state(), State::Armed);
    assert!(rig.events.contains(&Event::Ignored(Intention::Deploy)));

    rig.broken.bus = true;
    rig.run(10);
    assert_eq!(rig.state(), State::Deployed);
    rig.broken.bus = false;
    rig.deploy();
    rig.until(State::Armed, 1000);
    let went = |from, to| rig.events.contains(&Event::Went { from, to });
    assert!(
        went(State::DeployPower, State::Deployed),
        "the mast is locked"
    );
    assert!(!rig.events.ends_with(&[Event::Ignored(Intention::Deploy)]));
}

#[test]
fn a_stow_with_the_bus_lost_first_makes_it_live() {
    let mut rig = Rig::armed();
    rig.broken.bus = true;
    rig.run(10);
    rig.stow();
    assert_eq!(rig.state(), State::StowPower);
}

#[test]
fn one_stop_contact_halts_what_is_deployed_or_armed() {
    for throttle in [0, 500] {
        let mut rig = Rig::stowed();
        rig.throttle(throttle);
        rig.deploy();
        rig.until(State::Deployed, 3000);
        rig.run(5);
        rig.inputs.controls.stop_a = Signal::fresh(true);
        rig.tick();
        assert_eq!(rig.state(), State::Halted(Halt::StopThrown), "{throttle}");
    }
}

#[test]
fn with_the_mast_locked_and_the_bus_dead_the_blade_is_only_slowed() {
    let mut rig = Rig::armed();
    rig.broken.bus = true;
    rig.run(100);
    assert_eq!(rig.outputs.drives.motor, Motor::Short);
    assert!(!rig.outputs.drives.motor_enable);
    assert!(
        !rig.asks_for_torque(),
        "what nothing can hold is not asked for"
    );
}

#[test]
fn a_brake_that_is_denied_leaves_the_phases_shorted() {
    let mut rig = Rig::thrusting();
    rig.throttle(0);
    rig.run(2);
    assert!(matches!(rig.outputs.drives.motor, Motor::Brake(_)));
    rig.inputs.missed_deadline = true;
    rig.tick();
    assert_eq!(rig.outputs.drives.motor, Motor::Short);
    rig.inputs.missed_deadline = false;
    rig.throttle(1000);
    rig.run(5);
    assert!(rig.thrust());
    rig.inputs.missed_deadline = true;
    rig.tick();
    assert_eq!(rig.outputs.drives.motor, Motor::Free);
}
