//! By hand: Jog and Bench, the crew's confirmation of restraint.

use super::rig::{MAST, Rig};
use super::{in_bench, went};
use crate::interlock::{Condition, Permission, Reason};
use crate::outputs::{DoorDrive, Event, MastDrive, Motor, Pace};
use crate::signal::Signal;
use crate::{Fault, Halt, Mode, State};

/// In Jog with the mast half way up and the selector centred.
fn in_jog() -> Rig {
    let mut rig = Rig::half_way();
    rig.stow();
    assert_eq!(rig.state(), State::Jog);
    rig
}

#[test]
fn jog_moves_the_mast_the_way_the_selector_is_held_as_far_as_its_ends() {
    let mut rig = in_jog();
    rig.run(50);
    rig.select(false, true, false);
    rig.run(900);
    assert_eq!(rig.position(), 1000);
    assert_eq!(
        rig.outputs.drives.mast,
        MastDrive::Off,
        "no further than its end"
    );
    assert_eq!(rig.state(), State::Jog, "the selector is still held");
    rig.release();
    let went = Event::Went {
        from: State::Jog,
        to: State::Deployed,
    };
    assert!(rig.events.contains(&went));
}

#[test]
fn jog_brings_the_mast_in_and_then_shuts_the_doors() {
    let mut rig = in_jog();
    rig.run(50);
    rig.select(false, false, true);
    rig.run_while(|rig| !rig.proves(Condition::MastStowed));
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Close);
    rig.run(300);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Off, "they are shut");
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert!(rig.proves(Condition::DoorsShut));
    rig.release();
    assert_eq!(rig.state(), State::Stowed);
}

#[test]
fn jog_opens_the_doors_before_it_moves_the_mast() {
    let mut rig = Rig::deploying(State::DeployDoors);
    rig.stow();
    assert_eq!(rig.state(), State::Jog);
    rig.run(50);
    let before = rig.position();
    rig.select(false, true, false);
    rig.run(20);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Open);
    assert_eq!(
        (rig.outputs.drives.mast, rig.position()),
        (MastDrive::Off, before)
    );
    rig.run(400);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    assert!(rig.position() > before);
}

#[test]
fn a_selector_left_alone_ends_jog_after_its_time_and_each_push_starts_it_anew() {
    let mut rig = in_jog();
    rig.run(280);
    assert_eq!(rig.state(), State::Jog);
    rig.select(false, true, false);
    rig.run(20);
    rig.release();
    rig.run(280);
    assert_eq!(rig.state(), State::Jog);
    rig.run(20);
    assert_eq!(rig.state(), State::Resting);
}

#[test]
fn a_stop_ends_jog_by_stowing_and_one_contact_by_a_halt() {
    let mut rig = in_jog();
    rig.stop(true);
    rig.tick();
    assert_eq!(rig.state(), State::StowBrake);

    let mut rig = in_jog();
    rig.inputs.controls.stop_a = Signal::fresh(true);
    rig.tick();
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));
}

#[test]
fn a_stop_that_jog_opposed_is_answered_once_the_selector_is_left_alone() {
    let mut rig = Rig::half_way();
    rig.stop(true);
    rig.run(20);
    rig.deploy();
    assert_eq!(rig.state(), State::Jog);
    rig.run(280);
    assert_eq!(rig.state(), State::Jog);
    rig.run(20);
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));
}

#[test]
fn a_mast_fault_ends_jog() {
    let mut rig = in_jog();
    rig.inputs.mast.position = rig.inputs.mast.position.invalidated();
    rig.run(20);
    assert_eq!(rig.state(), State::Halted(Halt::MastFault));
    assert!(rig.shows(Fault::MastSensorLost));
}

#[test]
fn in_jog_no_push_is_called_ignored() {
    let mut rig = in_jog();
    rig.deploy();
    rig.stow();
    let ignored = |event: &&Event| matches!(event, Event::Ignored(_));
    assert_eq!(rig.events.iter().find(ignored), None);
}

#[test]
fn bench_is_left_by_the_key_and_a_long_acknowledge_together() {
    let mut rig = in_bench();
    rig.acknowledge(300);
    assert_eq!(rig.state(), State::Bench, "the key is on");
    rig.inputs.controls.bench_key = Signal::fresh(false);
    rig.run(300);
    assert_eq!(rig.state(), State::Bench, "nobody acknowledges");
    rig.acknowledge(300);
    assert_eq!(
        went(&rig).get(..2),
        Some(&[State::Bench, State::Resting][..])
    );

    let mut rig = in_bench();
    rig.inputs.controls.stop_a = Signal::fresh(true);
    rig.inputs.controls.bench_key = Signal::fresh(false);
    rig.run(10);
    rig.acknowledge(300);
    assert_eq!(rig.state(), State::Halted(Halt::StopThrown));
}

#[test]
fn bench_keeps_the_bus_dead_the_blade_free_and_propulsion_impossible() {
    let mut rig = in_bench();
    rig.throttle(0);
    rig.run(20);
    rig.throttle(1000);
    rig.run(300);
    assert_eq!(rig.outputs.drives.motor, Motor::Free);
    assert!(!rig.outputs.drives.bus.main && !rig.outputs.drives.bus.precharge);
    assert!(!rig.proves(Condition::NotBench));
    assert_eq!(rig.sequencer.mode(), Mode::Bench);
}

#[test]
fn outside_bench_it_is_proven_that_this_is_not_bench() {
    let rig = Rig::stowed();
    assert!(rig.proves(Condition::NotBench) && !rig.proves(Condition::Restrained));
}

/// In Bench with restraint confirmed and the doors open.
fn restrained() -> Rig {
    let mut rig = in_bench();
    rig.acknowledge(5);
    assert!(rig.proves(Condition::Restrained));
    rig.select(false, true, false);
    rig.run_while(|rig| !rig.proves(Condition::DoorsOpen));
    rig.run(100);
    rig
}

#[test]
fn restraint_is_confirmed_by_one_press_and_withdrawn_by_the_next() {
    let mut rig = in_bench();
    assert!(!rig.proves(Condition::Restrained));
    rig.acknowledge(5);
    assert!(rig.proves(Condition::Restrained));
    rig.acknowledge(5);
    assert!(!rig.proves(Condition::Restrained));
    rig.acknowledge(5);
    assert!(rig.proves(Condition::Restrained));
    let told: std::vec::Vec<_> = rig
        .events
        .iter()
        .filter(|event| matches!(event, Event::RestraintConfirmed | Event::RestraintEnded))
        .collect();
    assert_eq!(
        told,
        [
            &Event::RestraintConfirmed,
            &Event::RestraintEnded,
            &Event::RestraintConfirmed
        ]
    );
}

#[test]
fn restraint_lapses_after_a_minute() {
    let mut rig = in_bench();
    rig.acknowledge(5);
    rig.run(5_900);
    assert!(rig.proves(Condition::Restrained));
    rig.run(100);
    assert!(!rig.proves(Condition::Restrained));
    assert!(rig.events.contains(&Event::RestraintEnded));
}

#[test]
fn the_stop_switch_or_the_key_withdraws_restraint_at_once() {
    let mut rig = restrained();
    assert!(matches!(
        rig.outputs.drives.mast,
        MastDrive::Extend(Pace::Slow)
    ));
    rig.inputs.controls.stop_a = Signal::fresh(true);
    rig.tick();
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert!(!rig.proves(Condition::Restrained));

    let mut rig = restrained();
    rig.inputs.controls.bench_key = Signal::fresh(false);
    rig.tick();
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    assert!(!rig.proves(Condition::Restrained));
}

#[test]
fn with_the_key_turned_off_in_bench_not_even_the_doors_move() {
    let mut rig = in_bench();
    rig.inputs.controls.bench_key = Signal::fresh(false);
    rig.select(false, true, false);
    for _ in 0..300 {
        rig.tick();
        assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
    }
}

#[test]
fn a_press_while_the_mast_moves_neither_confirms_nor_withdraws() {
    let mut rig = restrained();
    rig.acknowledge(5);
    assert!(rig.proves(Condition::Restrained));
    assert!(!rig.events.contains(&Event::RestraintEnded));
}

#[test]
fn without_restraint_bench_says_why_the_mast_stays() {
    let mut rig = in_bench();
    rig.select(false, true, false);
    rig.run_while(|rig| !rig.proves(Condition::DoorsOpen));
    rig.run(5);
    let denial = rig
        .outputs
        .denials
        .iter()
        .find(|denial| denial.permission == Permission::Extend)
        .expect("the mast is denied");
    assert!(denial.reasons.contains(Reason::NotRestrained));
}

#[test]
fn the_mast_comes_down_slowly_in_bench_too() {
    let mut rig = restrained();
    rig.run(300);
    let top = rig.position();
    rig.release();
    rig.run(40);
    rig.select(false, false, true);
    rig.run(100);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Retract(Pace::Slow));
    assert!(rig.position() < top && top < MAST / 100);
}
