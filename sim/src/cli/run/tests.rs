use mastwright_core::State;
use mastwright_core::outputs::{Event, Fans};

use super::*;
use crate::flight::{Begun, Outcome, Row, Verdict};
use crate::frame::Frame;
use crate::scenario::script::Script;

/// A flight whose controller is stowed from the third tick on.
struct Fake {
    script: Script,
    frame: Option<Frame>,
    outcome: Outcome,
}

impl Fake {
    fn new(scenario: &Scenario, outcome: Outcome) -> Self {
        Self {
            script: Script::new(scenario),
            frame: None,
            outcome,
        }
    }
}

impl Flight for Fake {
    fn step(&mut self) {
        let tick = self.frame.as_ref().map_or(0, |frame| frame.tick + 1);
        let stage = *self.script.advance(self.frame.as_ref());
        let mut frame = Frame {
            tick,
            powered: stage.powered,
            controls: stage.controls,
            ..Frame::default()
        };
        frame.outputs.drives.fans = Fans::Off;
        let told = &mut frame.outputs.indications;
        told.state = if tick < 2 {
            State::Waking
        } else {
            State::Stowed
        };
        if tick == 2 {
            frame.outputs.emit(Event::Went {
                from: State::Waking,
                to: State::Stowed,
            });
        }
        self.frame = Some(frame);
    }

    fn frame(&self) -> &Frame {
        self.frame.as_ref().expect("stepped before it is looked at")
    }

    fn begun(&self) -> Begun {
        Begun {
            actions: self.script.started_actions(),
            faults: self.script.started_faults(),
        }
    }

    fn verdict(&self) -> Verdict {
        let row = |id: &str, outcome| Row {
            id: id.to_owned(),
            title: "Title".to_owned(),
            statement: format!("{id} says something; and more."),
            outcome,
        };
        Verdict {
            hazards: vec![row("HZ-1", Outcome::Held)],
            requirements: vec![
                row("SR-01", self.outcome.clone()),
                row("SR-02", Outcome::NotExercised),
            ],
        }
    }
}

fn scenario(expect: &str) -> Scenario {
    let text = format!(
        "title = \"A test\"\nbriefing = \"Invented.\"\nseed = 7\nlength = 0.1\n\
         [[action]]\nat = 0.03\ndo = \"aux charge on\"\n[expect]\n{expect}\n"
    );
    Scenario::parse("a-test.toml", &text).expect("a good scenario")
}

fn command(json: bool, quiet: bool) -> Run {
    Run {
        scenario: "a-test".to_owned(),
        seed: None,
        json,
        quiet,
        on: None,
        image: None,
        full_inputs: false,
        record: None,
        journal_out: None,
    }
}

fn flown(command: &Run, scenario: &Scenario, outcome: Outcome) -> (u8, String) {
    let mut out = Vec::new();
    let mut flight = Fake::new(scenario, outcome);
    let code = run_scenario(
        command,
        scenario,
        7,
        &mut flight,
        Paint::default(),
        &mut out,
    )
    .expect("memory can be written");
    (code, String::from_utf8(out).expect("text"))
}

fn broken() -> Outcome {
    Outcome::Broken {
        at: 0.04,
        why: "it went wrong".to_owned(),
    }
}

#[test]
fn a_run_in_which_all_holds_ends_with_zero_and_says_so() {
    let scenario = scenario("ends_in = [\"Stowed\"]");
    let (code, text) = flown(&command(false, false), &scenario, Outcome::Held);
    assert_eq!(code, GOOD, "{text}");
    for part in [
        "A test\n",
        "    0.02 s  PHASE     Stowed: mast in its bay, doors shut\n",
        "    0.03 s  pilot     aux charge on\n",
        "SR-01  held             Title\n",
        "SR-02  not exercised",
        "as expected      ends in Stowed\n",
        "Result: everything put to the test held",
        "Keep clear of propellers.",
    ] {
        assert!(text.contains(part), "{part:?} is missing from\n{text}");
    }
    assert!(!text.contains("To see it again"), "{text}");
}

#[test]
fn a_broken_requirement_ends_with_one_and_the_command_that_replays_it() {
    let scenario = scenario("");
    let (code, text) = flown(&command(false, false), &scenario, broken());
    assert_eq!(code, BROKEN);
    assert!(
        text.contains("SR-01  BROKEN           at 0.04 s: it went wrong."),
        "{text}"
    );
    assert!(
        text.contains("To see it again: mastwright run a-test --seed 7\n"),
        "{text}"
    );
}

#[test]
fn an_expectation_not_met_ends_with_one_though_all_held() {
    let scenario = scenario("ends_in = [\"Thrust\"]\nexercises = [\"SR-06\"]");
    let (code, text) = flown(&command(false, false), &scenario, Outcome::Held);
    assert_eq!(code, BROKEN);
    assert!(
        text.contains("NOT AS EXPECTED  ends in Thrust; instead: Stowed"),
        "{text}"
    );
    assert!(
        text.contains("Result: 0 broken, 2 not as expected."),
        "{text}"
    );
}

#[test]
fn what_never_began_is_told() {
    let text = "title = \"t\"\nbriefing = \"Invented.\"\nlength = 0.1\n\
        [[action]]\nat = 0.03\ndo = \"aux charge on\"\n\
        [[action]]\nwhen = \"state is Thrust\"\ndo = \"stop on\"\n\
        [[fault]]\nwhen = \"state is Thrust\"\ntarget = \"mechanics.main-weld\"\n";
    let scenario = Scenario::parse("a-test.toml", text).expect("a good scenario");
    let (_, text) = flown(&command(false, false), &scenario, Outcome::Held);
    let told = "Never began: the moment did not come\n  action 2: stop on\n  fault 1: mechanics.main-weld: acts. ";
    assert!(text.contains(told), "{text}");
    assert!(!text.contains("action 1"), "{text}");
}

#[test]
fn quiet_leaves_the_timeline_out_and_the_verdict_in() {
    let (_, text) = flown(&command(false, true), &scenario(""), Outcome::Held);
    assert!(!text.contains("PHASE") && text.contains("SR-01"), "{text}");
}

#[test]
fn json_is_one_document_with_timeline_and_verdict() {
    let (code, text) = flown(&command(true, false), &scenario(""), broken());
    let document: serde_json::Value = serde_json::from_str(&text).expect("one document");
    assert_eq!(code, BROKEN);
    assert_eq!(document["good"], false);
    assert_eq!(document["seed"], 7);
    assert_eq!(document["timeline"][0]["kind"], "phase");
    assert_eq!(document["timeline"][1]["text"], "aux charge on");
    assert_eq!(document["verdict"]["requirements"][0]["outcome"], "broken");
    assert_eq!(document["verdict"]["requirements"][0]["at"], 0.04);
    assert_eq!(document["replay"], "mastwright run a-test --seed 7");
}

#[test]
fn the_same_flight_prints_the_same_bytes() {
    let scenario = scenario("");
    let one = flown(&command(false, false), &scenario, Outcome::Held);
    assert_eq!(one, flown(&command(false, false), &scenario, Outcome::Held));
}

#[test]
fn a_path_with_a_space_is_quoted_in_the_replay_command() {
    assert_eq!(
        replay("my file.toml", 3),
        "mastwright run 'my file.toml' --seed 3"
    );
    assert_eq!(replay("it's", 3), "mastwright run 'it'\\''s' --seed 3");
}
