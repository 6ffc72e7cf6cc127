use mastwright_core::units::Permille;
use mastwright_core::{Fault, Halt};

use super::*;
use enumset::EnumSet;
use mastwright_core::outputs::{Fans, MastDrive, Motor, Pace};

fn scenario() -> Scenario {
    let text = "title = \"t\"\nbriefing = \"Invented.\"\nlength = 9\n\
        [[action]]\nat = 0\ndo = \"stop on\"\n\
        [[fault]]\nat = 0\ntarget = \"mechanics.mast-jam\"\nstrength = 500\n";
    Scenario::parse("t.toml", text).expect("a good scenario")
}

fn frame(tick: u64, state: State) -> Frame {
    let mut frame = Frame {
        tick,
        powered: true,
        ..Frame::default()
    };
    frame.outputs.indications.state = state;
    frame.outputs.drives.fans = Fans::Off;
    frame
}

fn told(frames: &[Frame]) -> Vec<(Kind, String)> {
    let mut timeline = Timeline::default();
    let mut entries = Vec::new();
    for frame in frames {
        timeline.see(frame, Begun::default(), &scenario(), &mut entries);
    }
    entries
        .into_iter()
        .map(|entry| (entry.kind, entry.text))
        .collect()
}

#[test]
fn a_world_in_which_nothing_changes_tells_nothing() {
    assert_eq!(
        told(&[frame(0, State::Waking), frame(1, State::Waking)]),
        []
    );
}

#[test]
fn the_scenarios_own_actions_and_faults_are_told_in_its_words() {
    let mut begun = Begun::default();
    begun.actions.add(0);
    begun.faults.add(0);
    let mut entries = Vec::new();
    Timeline::default().see(&frame(0, State::Waking), begun, &scenario(), &mut entries);
    let texts: Vec<&str> = entries.iter().map(|entry| entry.text.as_str()).collect();
    assert_eq!(texts[0], "stop on");
    assert!(
        texts[1].starts_with("mechanics.mast-jam: acts, strength 500 permille of travel. The mast"),
        "{texts:?}"
    );
    assert_eq!(texts.len(), 2);
}

#[test]
fn a_halt_is_told_with_its_reason_and_its_way_out() {
    let halted = told(&[frame(0, State::Halted(Halt::Doors))]);
    assert_eq!(halted[0].0, Kind::Phase);
    assert!(halted[0].1.contains(Halt::Doors.words()));
    assert!(halted[0].1.contains(Halt::Doors.way_out()));
}

#[test]
fn a_denial_is_told_once_in_a_phase_and_again_when_its_reasons_change() {
    let denied = |tick, reasons| {
        let mut frame = frame(tick, State::StowMast);
        let denial = Denial {
            permission: Permission::Retract,
            reasons,
        };
        frame.outputs.denials.push(denial).expect("room for one");
        frame
    };
    let parked = EnumSet::only(Reason::NotParked);
    let both = parked | Reason::DoorsNotOpen;
    let entries = told(&[
        denied(0, parked),
        denied(1, parked),
        denied(2, both),
        denied(3, parked),
    ]);
    let denials: Vec<&str> = entries
        .iter()
        .filter(|(kind, _)| *kind == Kind::Denied)
        .map(|(_, text)| text.as_str())
        .collect();
    assert_eq!(
        denials,
        [
            "retract mast: propeller not proven parked",
            "retract mast: doors not proven open; propeller not proven parked"
        ]
    );
}

#[test]
fn alerts_come_by_class_the_most_urgent_first() {
    let mut alerted = frame(0, State::Waking);
    alerted.outputs.indications.faults = Fault::AuxiliaryLow | Fault::ChargeLow | Fault::MotorHot;
    let kinds: Vec<Kind> = told(&[alerted]).into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(kinds, [Kind::Warning, Kind::Caution, Kind::Advisory]);
}

#[test]
fn drives_are_told_when_they_start_and_where_they_stop() {
    let mut down = frame(0, State::Waking);
    down.truth.mast.position = 1.0;
    down.outputs.drives.mast = MastDrive::Retract(Pace::Slow);
    let mut off = frame(1, State::Waking);
    off.truth.mast.position = 0.42;
    let entries = told(&[down.clone(), down, off]);
    assert_eq!(
        entries,
        [
            (Kind::Drive, "mast retracts slowly from 100 %".to_owned()),
            (Kind::Drive, "mast drive off at 42 %".to_owned())
        ]
    );
}

#[test]
fn a_change_of_thrust_alone_is_no_news() {
    let thrust = |tick, share| {
        let mut frame = frame(tick, State::Waking);
        frame.outputs.drives.motor = Motor::Thrust(Permille::new(share));
        frame
    };
    assert_eq!(told(&[thrust(0, 100), thrust(1, 900)]).len(), 1);
}

#[test]
fn an_intention_is_told_before_the_state_it_brings() {
    let mut asked = frame(0, State::StowBrake);
    asked.outputs.emit(Event::Intended(Intention::StopAndStow));
    asked.outputs.emit(Event::Went {
        from: State::Thrust,
        to: State::StowBrake,
    });
    let kinds: Vec<Kind> = told(&[asked]).into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(kinds, [Kind::Asked, Kind::Phase]);
}

#[test]
fn a_lost_supply_is_told_and_so_is_its_return() {
    let mut dead = frame(1, State::Waking);
    dead.powered = false;
    let entries = told(&[frame(0, State::Waking), dead, frame(2, State::Waking)]);
    let kinds: Vec<Kind> = entries.into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(kinds, [Kind::Supply, Kind::Supply]);
}

#[test]
fn an_intention_without_effect_is_told_once() {
    let mut asked = frame(0, State::Waking);
    asked.outputs.emit(Event::Intended(Intention::Deploy));
    asked.outputs.emit(Event::Ignored(Intention::Deploy));
    assert_eq!(
        told(&[asked]),
        [(Kind::Asked, "Deploy has no effect here".to_owned())]
    );
}

#[test]
fn a_selector_held_in_jog_is_no_intention_without_effect() {
    let mut held = frame(0, State::Waking);
    held.outputs.indications.mode = Mode::Jog;
    held.outputs.emit(Event::Intended(Intention::Stow));
    let by_hand = "Stow by hand, while the selector is held".to_owned();
    assert_eq!(told(&[held]), [(Kind::Asked, by_hand)]);
}

#[test]
fn an_acknowledge_says_whether_there_was_an_alert() {
    let mut pressed = frame(1, State::Waking);
    pressed.outputs.emit(Event::Acknowledged);
    assert!(told(&[pressed.clone()])[0].1.contains("no alert"));
    let mut alerted = frame(0, State::Waking);
    alerted.outputs.indications.faults = Fault::MotorHot.into();
    pressed.outputs.indications.faults = Fault::MotorHot.into();
    assert_eq!(told(&[alerted, pressed])[1].1, "alerts acknowledged");
}

#[test]
fn a_shaft_that_barely_turns_backwards_is_told_without_a_sign() {
    let mut free = frame(0, State::Waking);
    free.outputs.drives.motor = Motor::Free;
    let mut held = frame(1, State::Waking);
    held.truth.propeller.speed = -0.001;
    held.outputs.drives.motor = Motor::Short;
    assert_eq!(
        told(&[free, held]).last().expect("a line").1,
        "motor windings shorted as a brake at 0 rpm"
    );
}
