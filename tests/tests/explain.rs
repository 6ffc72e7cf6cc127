//! Explanations are what the flight shows, and what they say would have changed it does.

use mastwright_core::inputs::Inputs;
use mastwright_core::interlock::Permission;
use mastwright_core::signal::Signal;
use mastwright_core::units::CentiDegrees;
use mastwright_core::{Outputs, State};
use mastwright_sim::explain::{CannotExplain, Explanation, Question, explain};
use mastwright_sim::report::witness::Speaks;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
use mastwright_sim::trace::{Player, Trace};
use mastwright_sim::world::Unit;
use mastwright_tests::recording::{borders, record, trace};

fn shipped(name: &str) -> Trace {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    trace(&record(&scenario, scenario.ticks).1)
}

fn flown(text: &str) -> Trace {
    let scenario = Scenario::parse("test.toml", text).expect("it parses");
    trace(&record(&scenario, scenario.ticks).1)
}

fn explained(trace: &Trace, question: &str) -> Explanation {
    let question = question.parse().expect("a question");
    explain(trace, question, None).expect("it happened")
}

/// What the controller answers in the last of so many ticks up to `tick`, told the
/// recorded readings with `change` made to them in all of these: apart from the code that
/// looks for changes.
fn told(trace: &Trace, tick: u64, lasting: f64, change: impl Fn(&mut Inputs)) -> Outputs {
    let (config, _) = trace.header().config().expect("settings of this build");
    let first = (tick + 1) as f64 - lasting / 0.01;
    let mut player = Player::new(Unit::new(&config));
    for recorded in trace.ticks() {
        let mut recorded = recorded.expect("a whole trace");
        if recorded.frame.tick as f64 >= first - 0.5 {
            change(&mut recorded.frame.inputs);
        }
        let (outputs, _) = player.play(&recorded);
        if recorded.frame.tick == tick {
            return outputs;
        }
    }
    panic!("the trace is shorter");
}

#[test]
fn a_halt_for_a_lost_blade_source_names_the_source_and_the_fault_since_when() {
    let trace = shipped("parking-sensor-fails");
    let why = explained(&trace, "halted");
    let halted = trace.at(why.tick).expect("that tick");
    let before = trace.at(why.tick - 1).expect("the one before");
    assert!(matches!(
        halted.frame.outputs.indications.state,
        State::Halted(_)
    ));
    assert!(!matches!(
        before.frame.outputs.indications.state,
        State::Halted(_)
    ));
    let went = why.transition.as_ref().expect("it went there");
    assert!(
        went.to.starts_with("Halted") && !went.when.is_empty(),
        "{went:?}"
    );
    let fault = &why.faults[0];
    assert!(fault.began < why.time && fault.ended.is_none(), "{fault:?}");
    assert_eq!(why.permission, Permission::Retract);
    let lacking = why
        .clauses
        .iter()
        .find(|clause| clause.words.contains("blade parked"));
    let lacking = lacking.expect("the clause of the parking proof");
    assert!(!lacking.holds);
    // Since when is what the trace shows: proven in the tick before, and in none after.
    let since = (lacking.since / 0.01).round() as u64;
    let parked = |tick: u64| {
        let proven = trace.at(tick).expect("that tick").frame.outputs.proven;
        proven.contains(mastwright_core::interlock::Condition::Parked)
    };
    assert!((since..=why.tick).all(|tick| !parked(tick)));
    assert!(since == 0 || parked(since - 1), "since {since}");
    let against = lacking
        .readings
        .iter()
        .filter(|reading| reading.speaks != Speaks::For);
    assert!(against.count() > 0, "{lacking:?}");
}

#[test]
fn the_change_that_is_told_does_what_is_told_of_it() {
    let trace = shipped("parking-sensor-fails");
    let why = explained(&trace, "halted");
    let otherwise = &why.otherwise;
    assert!(!otherwise.other_controller && !otherwise.held);
    let change = otherwise.changes.first().expect("a change was found");
    assert_eq!(change.set.len(), 1, "{change:?}");
    let set = &change.set[0];
    let angle: f64 = set
        .to
        .strip_suffix(" deg")
        .and_then(|angle| angle.parse().ok())
        .unwrap_or_else(|| panic!("an angle: {set:?}"));
    let angle = Signal::fresh(CentiDegrees::new((angle * 100.0).round() as i32));
    let outputs = told(&trace, why.tick, change.lasting, |inputs| {
        match set.signal {
            "inputs.propeller.angle_a_deg" => inputs.propeller.angle_a = angle,
            "inputs.propeller.angle_b_deg" => inputs.propeller.angle_b = angle,
            other => panic!("another reading: {other}"),
        }
    });
    let state = outputs.indications.state;
    assert!(!matches!(state, State::Halted(_)), "{state:?}");
    let as_it_was = told(&trace, why.tick, change.lasting, |_| {});
    assert!(matches!(as_it_was.indications.state, State::Halted(_)));
}

#[test]
fn two_readings_are_told_only_where_no_single_one_does() {
    // The stop is thrown, which two contacts say: neither alone lets thrust come back.
    let trace = flown(
        r#"
title = "Stop thrown under thrust"
briefing = "Invented demonstration; for a test."
length = 14
[start]
mast = "deployed"
height = 700
airspeed = 27
[[action]]
at = 1.0
do = "select deploy"
[[action]]
when = "state is Armed"
after = 0.5
do = "throttle to 60 % over 1 s"
[[action]]
when = "state is Thrust for 3 s"
do = "stop on"
"#,
    );
    let why = explained(&trace, "no thrust");
    assert_eq!(why.permission, Permission::Propel);
    let otherwise = &why.otherwise;
    for change in &otherwise.changes {
        assert_eq!(change.set.len(), otherwise.changes[0].set.len());
    }
    let stops = otherwise.changes.iter().find(|change| {
        let names: Vec<&str> = change.set.iter().map(|set| set.signal).collect();
        names == ["inputs.controls.stop_a", "inputs.controls.stop_b"]
    });
    let stops = stops.unwrap_or_else(|| panic!("both contacts: {otherwise:?}"));
    let released = Signal::fresh(false);
    let thrust = |outputs: &Outputs| {
        matches!(
            outputs.drives.motor,
            mastwright_core::outputs::Motor::Thrust(_)
        )
    };
    assert!(thrust(&told(&trace, why.tick, stops.lasting, |inputs| {
        inputs.controls.stop_a = released;
        inputs.controls.stop_b = released;
    })));
    for one in [0, 1] {
        assert!(!thrust(&told(&trace, why.tick, stops.lasting, |inputs| {
            let controls = &mut inputs.controls;
            *[&mut controls.stop_a, &mut controls.stop_b][one] = released;
        })));
    }
}

#[test]
fn what_was_permitted_has_nothing_to_change_and_what_never_happened_is_said_not_to_have() {
    let trace = shipped("normal-flight");
    let propelling = trace
        .ticks()
        .flatten()
        .find(|tick| tick.frame.outputs.indications.state == State::Thrust)
        .expect("it propels");
    let then = explain(&trace, Question::Then, Some(propelling.frame.tick + 10));
    let then = then.expect("that tick is there");
    assert_eq!(then.permission, Permission::Propel);
    assert!(then.otherwise.held && then.otherwise.changes.is_empty());
    assert!(then.clauses.iter().all(|clause| clause.holds));
    let never = explain(&trace, Question::Halted, None);
    assert!(
        matches!(never, Err(CannotExplain::Never { .. })),
        "{never:?}"
    );
    let beyond = explain(&trace, Question::Then, Some(trace.len()));
    assert!(matches!(beyond, Err(CannotExplain::Trace(_))), "{beyond:?}");
}

#[test]
fn without_supply_no_reading_is_asked_about() {
    let trace = shipped("brown-out-mid-move");
    let unpowered = trace.ticks().flatten().find(|tick| !tick.frame.powered);
    let unpowered = unpowered.expect("the brown-out").frame.tick;
    let at = explain(&trace, Question::Then, Some(unpowered)).expect("that tick");
    assert!(at.otherwise.not_asked.is_some() && at.otherwise.asked == 0);
    assert!(at.clauses.iter().all(|clause| !clause.holds));
    assert!(at.sentence.contains("no supply"), "{}", at.sentence);
}

#[test]
fn behind_a_lost_part_what_holds_is_explained_and_the_controller_is_not_asked() {
    let shipped = Shipped::named("parking-sensor-fails").expect("a shipped scenario");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    let (_, mut bytes) = record(&scenario, scenario.ticks);
    // The third block of ticks, from 10.24 s on.
    let block = borders(&bytes)[3];
    bytes[block + 30] ^= 0x10;
    let trace = trace(&bytes);
    assert_eq!(trace.damage().len(), 1, "{:?}", trace.damage());
    let why = explained(&trace, "halted");
    assert!(why.otherwise.changes.is_empty() && why.otherwise.asked == 0);
    let not_asked = why.otherwise.not_asked.expect("why not");
    assert!(not_asked.contains("lost"), "{not_asked}");
    assert!(
        why.sentence.contains("propeller not proven parked"),
        "{}",
        why.sentence
    );
    let lacking = why
        .clauses
        .iter()
        .find(|clause| !clause.holds)
        .expect("one");
    assert!(
        lacking.since > 10.24,
        "not before what is known: {lacking:?}"
    );
}

/// A trace of the incidents.
fn incident(name: &str) -> Trace {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/incidents");
    let path = std::path::Path::new(folder).join(format!("{name}.mwt"));
    Trace::open(&path).expect("a trace")
}

#[test]
fn thrust_that_was_given_up_to_stow_is_not_told_to_lack_a_closed_throttle() {
    for trace in [
        incident("flipped-bit"),
        shipped("parking-sensor-fails"),
        shipped("emergency-stow"),
    ] {
        let why = explained(&trace, "no thrust");
        assert_eq!(
            why.sentence,
            "no thrust: not armed: told to stow: state StowBrake"
        );
    }
}

#[test]
fn no_change_is_told_twice() {
    for (trace, question) in [
        (incident("gust-on-the-way-down"), "mast stopped"),
        (incident("gust-on-the-way-down"), "mast moved"),
        (shipped("emergency-stow"), "bus opened"),
    ] {
        let why = explained(&trace, question);
        assert!(!why.otherwise.changes.is_empty(), "{question}");
        let told: Vec<String> = why.otherwise.changes.iter().map(|c| c.words()).collect();
        let mut once = told.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), told.len(), "{question}: {told:?}");
    }
}

#[test]
fn what_nothing_forbade_is_told_to_have_ended_by_itself() {
    let trace = shipped("emergency-stow");
    for (question, what) in [
        ("bus opened", "to keep the main contactor closed"),
        ("doors stopped", "to drive the doors on"),
    ] {
        let why = explained(&trace, question);
        let (begin, state) = (
            format!("nothing forbade it {what}: "),
            "in state Stowed, mast in its bay, doors shut",
        );
        assert!(
            why.sentence.starts_with(&begin) && why.sentence.ends_with(state),
            "{}",
            why.sentence
        );
    }
}

#[test]
fn a_halt_names_the_one_way_that_led_to_it() {
    let why = explained(&shipped("parking-sensor-fails"), "halted");
    let went = why.transition.expect("it went there");
    assert_eq!(went.when, ["overdue"], "{went:?}");
}

#[test]
fn what_let_the_mast_move_is_told_with_the_readings_that_let_it() {
    let trace = incident("gust-on-the-way-down");
    let why = explained(&trace, "mast moved");
    assert!(why.let_happen && !why.denied);
    assert!(why.clauses.iter().all(|clause| clause.holds));
    let parked = why.clauses.iter().find(|c| c.words.contains("parked"));
    assert!(!parked.expect("the clause").readings.is_empty());
    let moving = |tick: u64| {
        let drives = trace.at(tick).expect("that tick").frame.outputs.drives;
        drives.mast != mastwright_core::outputs::MastDrive::Off
    };
    assert!(moving(why.tick) && (why.tick + 1..trace.len()).all(|tick| !moving(tick)));
    let change = why.otherwise.changes.first().expect("it can be prevented");
    assert_eq!(change.set[0].signal, "inputs.mast.stowed_switch");
    let outputs = told(&trace, why.tick, change.lasting, |inputs| {
        inputs.mast.stowed_switch = Signal::fresh(true);
    });
    assert_eq!(
        outputs.drives.mast,
        mastwright_core::outputs::MastDrive::Off
    );
}

#[test]
fn every_question_stands_in_the_guide() {
    let guide = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/explain.md");
    let guide = std::fs::read_to_string(guide).expect("the guide");
    for (_, words) in Question::PLAIN {
        assert!(guide.contains(&format!("| `{words}` | ")), "{words}");
    }
    let rows = guide
        .lines()
        .filter(|line| line.starts_with("| `") && !line.contains("--why"));
    // One more: an alert, by its name.
    assert_eq!(rows.count(), Question::PLAIN.len() + 1);
}
