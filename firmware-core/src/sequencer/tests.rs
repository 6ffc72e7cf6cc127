//! The sequencer on a bench rig.

#[cfg(feature = "walk")]
mod asked;
mod halts;
mod hand;
mod lock;
mod rest;
mod rig;
mod thrust;
mod watch;

use rig::{MAST, Rig};

use crate::outputs::{DoorDrive, MastDrive, Motor, Pace};
use crate::signal::Signal;
use crate::units::{DeciMetresPerSecond, Milliamps, Permille};
use crate::{Class, Fault, Halt, Intention, Mode, State, outputs::Event};

fn went(rig: &Rig) -> std::vec::Vec<State> {
    rig.events
        .iter()
        .filter_map(|event| match event {
            Event::Went { to, .. } => Some(*to),
            Event::Intended(_)
            | Event::Ignored(_)
            | Event::Latched(_)
            | Event::Cleared(_)
            | Event::Bus(_)
            | Event::Acknowledged
            | Event::RestraintConfirmed
            | Event::RestraintEnded => None,
        })
        .collect()
}

#[test]
fn a_whole_cycle_passes_every_step_once_and_latches_nothing() {
    let mut rig = Rig::thrusting();
    rig.throttle(0);
    rig.run(50);
    rig.stow();
    rig.until(State::Stowed, 3000);
    rig.run(500);
    assert_eq!(
        went(&rig),
        [
            State::Stowed,
            State::DeployPower,
            State::DeployPark,
            State::DeployDoors,
            State::DeployMast,
            State::Deployed,
            State::Armed,
            State::Thrust,
            State::Armed,
            State::StowBrake,
            State::StowPark,
            State::StowProve,
            State::StowMast,
            State::StowDoors,
            State::Stowed,
        ]
    );
    assert!(rig.outputs.indications.faults.is_empty());
    assert!(rig.outputs.indications.bus_dead);
}

#[test]
fn a_mast_suddenly_told_stowed_while_armed_leads_only_where_the_table_does() {
    let mut rig = Rig::stowed();
    rig.deploy();
    rig.until(State::Armed, 3000);
    rig.select(false, false, true);
    rig.run(2);
    rig.inputs.mast.position = Signal::fresh(Permille::ZERO);
    rig.inputs.mast.stowed_switch = Signal::fresh(true);
    rig.inputs.mast.deployed_switch = Signal::fresh(false);
    rig.inputs.mast.lock_switch = Signal::fresh(false);
    rig.tick();
    assert_eq!(rig.sequencer.state(), State::StowDoors);
    assert!(State::Armed.leads_to(State::StowDoors));
}

#[test]
fn nothing_moves_after_power_up_until_a_fresh_push_is_made() {
    let mut rig = Rig::unwoken(MAST, 1000);
    rig.select(false, true, false);
    for _ in 0..500 {
        rig.tick();
        assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
        assert_eq!(rig.outputs.drives.doors, DoorDrive::Off);
        assert!(!rig.outputs.drives.bus.precharge);
    }
    assert_eq!(rig.sequencer.state(), State::Resting);
    rig.release();
    rig.deploy();
    rig.until(State::Armed, 500);
}

#[test]
fn a_stop_takes_thrust_away_in_the_very_tick_and_stows() {
    let mut rig = Rig::thrusting();
    assert!(rig.thrust());
    rig.stop(true);
    rig.tick();
    assert!(!rig.thrust());
    assert!(
        rig.events
            .contains(&Event::Intended(Intention::StopAndStow))
    );
    rig.until(State::Stowed, 3000);
}

#[test]
fn releasing_the_stop_switch_alone_restarts_nothing() {
    let mut rig = Rig::thrusting();
    rig.stop(true);
    rig.run(10);
    rig.stop(false);
    for _ in 0..3000 {
        rig.tick();
        assert!(!rig.thrust());
    }
    assert_eq!(rig.sequencer.state(), State::Stowed);
}

#[test]
fn one_stop_contact_alone_takes_thrust_and_starts_no_motion() {
    let mut rig = Rig::thrusting();
    rig.inputs.controls.stop_b = Signal::fresh(true);
    rig.tick();
    assert!(!rig.thrust());
    rig.run(300);
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::StopThrown));
    assert_eq!(rig.position(), 1000);
    rig.inputs.controls.stop_b = Signal::fresh(false);
    rig.throttle(0);
    rig.run(50);
    rig.throttle(1000);
    rig.run(50);
    assert!(!rig.thrust(), "rearmed without a fresh deploy");
}

#[test]
fn a_lost_stop_contact_leaves_the_other_working() {
    let mut rig = Rig::thrusting();
    rig.inputs.controls.stop_a = Signal::fresh(false).invalidated();
    rig.run(50);
    assert!(rig.thrust());
    rig.inputs.controls.stop_b = Signal::fresh(true);
    rig.tick();
    assert!(!rig.thrust());
    rig.until(State::Stowed, 3000);
}

#[test]
fn a_throttle_opened_early_never_starts_the_motor() {
    let mut rig = Rig::stowed();
    rig.throttle(800);
    rig.deploy();
    rig.until(State::Deployed, 3000);
    for _ in 0..300 {
        rig.tick();
        assert!(!rig.thrust());
    }
    rig.throttle(0);
    rig.run(5);
    rig.throttle(800);
    rig.run(5);
    assert!(rig.thrust());
}

#[test]
fn throttle_tracks_that_disagree_give_no_thrust_and_disarm() {
    let mut rig = Rig::thrusting();
    rig.inputs.controls.throttle_a = Signal::fresh(Permille::new(300));
    rig.tick();
    assert!(!rig.thrust());
    assert_eq!(rig.sequencer.state(), State::Deployed);
    rig.run(20);
    assert!(
        rig.outputs
            .indications
            .faults
            .contains(Fault::ThrottleUnproven)
    );
}

#[test]
fn a_blade_source_that_is_lost_stops_the_stow_short_and_says_why() {
    let mut rig = Rig::thrusting();
    rig.inputs.propeller.angle_b = Signal::fresh(Default::default()).invalidated();
    rig.stop(true);
    rig.until(State::Halted(Halt::NotParked), 3000);
    assert_eq!(rig.position(), 1000);
    assert!(rig.outputs.indications.faults.contains(Fault::ParkOverdue));
}

#[test]
fn a_blade_that_leaves_its_place_in_the_bay_halts_the_mast_at_once() {
    let mut rig = Rig::thrusting();
    rig.stow();
    rig.run_while(|rig| rig.position() > 300);
    rig.inputs.propeller.angle_a = Signal::fresh(Default::default()).invalidated();
    rig.tick();
    rig.tick();
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::NotParked));
    assert!(rig.outputs.indications.faults.contains(Fault::ParkLost));
}

#[test]
fn no_torque_is_enabled_while_the_mast_is_not_locked() {
    let mut rig = Rig::stowed();
    let mut unlocked = 0;
    let mut check = |rig: &Rig| {
        if rig.position() < 1000 {
            unlocked += 1;
            assert!(!rig.outputs.drives.motor_enable, "{:?}", rig.outputs.drives);
        }
    };
    rig.deploy();
    rig.run_while(|rig| {
        check(rig);
        rig.sequencer.state() != State::Armed
    });
    rig.stow();
    rig.run_while(|rig| {
        check(rig);
        rig.sequencer.state() != State::Stowed
    });
    assert!(unlocked > 1000);
}

#[test]
fn a_blade_that_does_not_stay_by_itself_stops_the_stow_with_the_mast_up() {
    let mut rig = Rig::thrusting();
    rig.stow();
    rig.until(State::StowProve, 3000);
    for _ in 0..200 {
        rig.angle += 30;
        rig.tick();
    }
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::NotParked));
    assert_eq!(rig.position(), 1000);
}

#[test]
fn an_opposing_push_halts_and_then_hands_over_to_jog() {
    let mut rig = Rig::stowed();
    rig.deploy();
    rig.run_while(|rig| rig.position() < 400);
    rig.select(false, false, true);
    rig.run(4);
    assert_eq!(rig.sequencer.mode(), Mode::Jog);
    let halted_at = rig.position();
    rig.run(100);
    assert_eq!(
        rig.position(),
        halted_at,
        "the push that opposed moved the mast"
    );
    rig.release();
    rig.select(false, false, true);
    rig.run(200);
    assert!(rig.position() < halted_at);
    rig.select(true, false, false);
    rig.run(10);
    let released_at = rig.position();
    rig.run(100);
    assert_eq!(rig.position(), released_at);
    rig.run(300);
    assert_eq!(rig.sequencer.state(), State::Resting);
}

#[test]
fn both_end_switches_at_once_halt_the_mast_and_latch() {
    let mut rig = Rig::stowed();
    rig.deploy();
    rig.run_while(|rig| rig.position() < 400);
    for _ in 0..20 {
        rig.inputs.mast.stowed_switch = Signal::fresh(true);
        rig.inputs.mast.deployed_switch = Signal::fresh(true);
        rig.tick();
        assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    }
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::MastFault));
    assert!(
        rig.outputs
            .indications
            .faults
            .contains(Fault::MastContradiction)
    );
}

#[test]
fn a_mast_that_draws_too_much_is_switched_off_and_can_be_tried_again_on_purpose() {
    let mut rig = Rig::stowed();
    rig.deploy();
    rig.run_while(|rig| rig.position() < 400);
    rig.inputs.mast.drive_current = Signal::fresh(Milliamps::new(50_000));
    rig.run(30);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::MastFault));
    rig.inputs.mast.drive_current = Signal::fresh(Milliamps::ZERO);
    rig.deploy();
    rig.run(50);
    assert_ne!(
        rig.sequencer.state(),
        State::Armed,
        "moved with the fault latched"
    );
    rig.acknowledge(260);
    rig.deploy();
    rig.until(State::Armed, 3000);
}

#[test]
fn an_acknowledge_silences_a_warning_that_stays_shown() {
    let mut rig = Rig::stowed();
    rig.inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO).invalidated();
    rig.run(20);
    assert!(
        rig.outputs
            .indications
            .sounding
            .contains(Fault::AirspeedUnknown)
    );
    rig.acknowledge(10);
    assert!(rig.outputs.indications.sounding.is_empty());
    assert!(
        rig.outputs
            .indications
            .faults
            .contains(Fault::AirspeedUnknown)
    );
    rig.acknowledge(300);
    assert!(
        rig.outputs
            .indications
            .faults
            .contains(Fault::AirspeedUnknown),
        "cleared although its cause remains"
    );
    assert_eq!(Fault::AirspeedUnknown.class(), Class::Advisory);
}

#[test]
fn an_acknowledge_contact_that_sticks_acknowledges_nothing() {
    let mut rig = Rig::stowed();
    rig.inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO).invalidated();
    rig.run(20);
    rig.inputs.controls.acknowledge = Signal::fresh(true);
    rig.run(400);
    assert!(
        rig.outputs
            .indications
            .sounding
            .contains(Fault::AirspeedUnknown)
    );
}

fn in_bench() -> Rig {
    let mut rig = Rig::unwoken(0, 0);
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.press_acknowledge(true);
    rig.run(60);
    assert_eq!(rig.sequencer.mode(), Mode::Bench);
    rig.press_acknowledge(false);
    rig.run(5);
    rig
}

#[test]
fn bench_moves_the_mast_slowly_only_with_restraint_confirmed_and_the_selector_held() {
    let mut rig = in_bench();
    rig.select(false, true, false);
    rig.run(600);
    assert_eq!(rig.position(), 0, "moved without restraint");
    rig.release();
    rig.acknowledge(5);
    rig.select(false, true, false);
    rig.run(800);
    assert_eq!(rig.outputs.drives.mast, MastDrive::Extend(Pace::Slow));
    assert!(rig.position() > 100);
    assert_eq!(rig.outputs.drives.motor, Motor::Free);
    rig.release();
    assert_eq!(rig.outputs.drives.mast, MastDrive::Off);
}

#[test]
fn the_press_that_enters_bench_confirms_no_restraint() {
    let mut entered = 0;
    for before in 0..=5 {
        let mut rig = Rig::unwoken(0, 0);
        rig.inputs.controls.bench_key = Signal::fresh(true);
        rig.run(50 - before);
        rig.press_acknowledge(true);
        rig.run(10);
        assert!(
            !rig.events.contains(&Event::RestraintConfirmed),
            "pressed {before} ticks before the wake time is over"
        );
        entered += u32::from(rig.sequencer.mode() == Mode::Bench);
    }
    assert!(entered > 0, "Bench was never entered");
}

#[test]
fn restraint_does_not_let_a_blade_out_of_place_into_the_bay() {
    let mut rig = in_bench();
    rig.angle = 4_000;
    rig.acknowledge(5);
    rig.select(false, true, false);
    rig.run(800);
    assert_eq!(
        rig.position(),
        0,
        "raised from the bay with the blade across it"
    );
}

#[test]
fn with_the_bench_key_on_nothing_moves_outside_bench() {
    let mut rig = Rig::unwoken(MAST, 1000);
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.run(100);
    assert_eq!(rig.sequencer.state(), State::Resting);
    rig.stow();
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::BenchKey));
    rig.inputs.controls.bench_key = Signal::fresh(false);
    rig.run(10);
    rig.stow();
    rig.until(State::Stowed, 4000);
}

#[test]
fn bench_is_not_entered_later_nor_in_flight() {
    let mut rig = Rig::stowed();
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.acknowledge(300);
    assert_eq!(rig.sequencer.state(), State::Stowed);

    let mut rig = Rig::unwoken(0, 0);
    rig.inputs.airspeed = Signal::fresh(DeciMetresPerSecond::new(250));
    rig.inputs.controls.bench_key = Signal::fresh(true);
    rig.acknowledge(100);
    assert_eq!(rig.sequencer.state(), State::Stowed);
}

#[test]
fn a_late_tick_denies_thrust_and_motion_for_that_tick_and_disarms_nothing() {
    let mut rig = Rig::thrusting();
    rig.inputs.missed_deadline = true;
    rig.tick();
    assert!(!rig.thrust());
    rig.inputs.missed_deadline = false;
    rig.tick();
    assert!(rig.thrust());
    assert!(
        rig.outputs
            .indications
            .faults
            .contains(Fault::DeadlineMissed)
    );
}

#[test]
fn a_main_contactor_that_stays_closed_is_found_before_the_next_closing() {
    let mut rig = Rig::stowed();
    for _ in 0..60 {
        rig.inputs.bus.main_feedback = Signal::fresh(true);
        rig.tick();
    }
    assert!(rig.outputs.indications.faults.contains(Fault::MainWelded));
    rig.deploy();
    for _ in 0..900 {
        rig.tick();
        assert!(!rig.outputs.drives.bus.precharge && !rig.outputs.drives.bus.main);
    }
    assert_eq!(rig.sequencer.state(), State::Halted(Halt::NoBus));
}

#[test]
fn a_reset_forgets_no_latched_fault() {
    let config = crate::Config::default();
    let mut woken = super::Sequencer::wake(Fault::MainWelded.into(), &config);
    let outputs = woken.step(&crate::Inputs::default(), &config);
    assert!(outputs.indications.sounding.contains(Fault::MainWelded));
}

#[test]
fn the_table_names_every_state_once_and_leads_only_to_states_it_names() {
    let names: std::vec::Vec<_> = State::ALL.iter().map(|state| state.name()).collect();
    let mut unique = names.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), names.len());
    for state in State::ALL {
        assert!(
            !state.ways_out().is_empty(),
            "{state:?} has no way out (SR-14)"
        );
        for way in state.ways_out() {
            assert!(names.contains(&way.to.name()), "{state:?} to {:?}", way.to);
        }
    }
}
