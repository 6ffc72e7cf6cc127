use mastwright_core::interlock::Conditions;
use mastwright_core::outputs::Denial;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{CentiDegrees, Permille, Rpm};
use mastwright_core::{Halt, Inputs, Outputs};

use super::*;

fn at(state: State, proven: Conditions) -> Frame {
    let mut outputs = Outputs {
        proven,
        ..Outputs::default()
    };
    outputs.indications.state = state;
    Frame {
        powered: true,
        outputs,
        ..Frame::default()
    }
}

fn why(frame: &Frame) -> Why {
    Why::of(frame, &Config::default())
}

#[test]
fn the_first_denial_is_one_sentence_with_the_stale_source_in_it() {
    let proven = Conditions::all() - Condition::Parked - Condition::Restrained;
    let mut frame = at(
        State::Halted(Halt::NotParked),
        proven - Condition::MastStowed,
    );
    let mut inputs = Inputs::default();
    inputs.propeller.angle_a = Signal::fresh(CentiDegrees::new(100));
    inputs.propeller.angle_b = Signal::aged(CentiDegrees::new(100), Age::new(12));
    inputs.propeller.speed = Signal::fresh(Rpm::ZERO);
    frame.inputs = inputs;
    assert_eq!(
        why(&frame).sentence,
        "will not stow: propeller not proven parked: source B stale 120 ms"
    );
}

#[test]
fn a_move_that_is_denied_comes_before_any_other_denial() {
    let mut frame = at(State::StowMast, Conditions::empty());
    for permission in [Permission::Precharge, Permission::Retract] {
        let denial = Denial {
            permission,
            reasons: permission.reasons(Conditions::empty()),
        };
        frame.outputs.denials.push(denial).expect("room for two");
    }
    let why = why(&frame);
    assert_eq!(why.permission, Permission::Retract);
    assert_eq!(why.also, [Permission::Precharge]);
    assert!(why.denied && !why.permitted());
}

#[test]
fn what_nobody_asked_for_is_not_told_as_refused() {
    let mut frame = at(State::Waking, Conditions::empty());
    assert!(
        why(&frame)
            .sentence
            .starts_with("if asked: will not stow: ")
    );
    frame.outputs.indications.state = State::StowProve;
    assert!(why(&frame).sentence.starts_with("will not stow: "));
    frame.outputs.indications.state = State::Waking;
    let denial = Denial {
        permission: Permission::Retract,
        reasons: Permission::Retract.reasons(Conditions::empty()),
    };
    frame.outputs.denials.push(denial).expect("room for one");
    assert!(why(&frame).sentence.starts_with("will not stow: "));
}

#[test]
fn who_left_the_armed_states_is_not_told_to_close_the_throttle() {
    let about = |frame: &Frame| {
        let why = Why::about(Permission::Propel, frame, &Config::default());
        why.sentence
    };
    let proven = Conditions::all() - Condition::Armed;
    let stowing = about(&at(State::StowBrake, proven));
    assert_eq!(
        stowing,
        "no thrust: not armed: told to stow: state StowBrake"
    );
    let halted = about(&at(State::Halted(Halt::LockLost), proven));
    assert_eq!(halted, "no thrust: not armed: state Halted");
    let mut open = at(State::Deployed, proven);
    open.inputs.controls.throttle_a = Signal::fresh(Permille::new(400));
    assert!(
        about(&open).contains("throttle not seen at zero"),
        "{}",
        about(&open)
    );
    // Arming waits for whatever else denies thrust: that comes first.
    let stopped = about(&at(State::Deployed, proven - Condition::StopReleased));
    assert!(stopped.contains("stop-and-stow switch thrown"), "{stopped}");
}

#[test]
fn a_row_holds_exactly_when_the_controller_has_proven_one_of_its_conditions() {
    for permission in EnumSet::<Permission>::all() {
        for clause in permission.clauses() {
            let without = at(State::Thrust, Conditions::all() - clause.any_of);
            assert!(!row(clause, &without, &Config::default()).holds);
            for one in clause.any_of {
                let with = at(State::Thrust, one.into());
                assert!(row(clause, &with, &Config::default()).holds);
            }
        }
    }
}

#[test]
fn without_supply_nothing_holds_and_the_sentence_says_so() {
    let mut frame = at(State::Thrust, Conditions::all());
    frame.powered = false;
    let why = why(&frame);
    assert!(why.rows.iter().all(|row| !row.holds));
    assert!(why.sentence.contains("no supply"));
}

#[test]
fn every_state_has_something_it_would_do_next_and_says_whether_it_may() {
    for state in State::ALL {
        let may = why(&at(state, Conditions::all()));
        assert!(
            may.permitted() && may.sentence.contains("may "),
            "{state:?}"
        );
        let must_not = why(&at(state, Conditions::empty()));
        assert!(
            !must_not.permitted() && must_not.sentence.contains(": "),
            "{state:?}"
        );
    }
}
