//! Watching a run for what its scenario expects.

use mastwright_core::command::Intention;
use mastwright_core::outputs::Event;
use mastwright_core::{Faults, State};

use super::Expect;
use crate::frame::Frame;

/// One expectation, and whether it was met.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Finding {
    /// What was expected, in words.
    pub expected: String,
    /// What came instead; none: it was met.
    pub instead: Option<String>,
}

/// What is remembered of a run to judge its expectations. Fed every frame, it
/// allocates nothing.
#[derive(Clone, Debug)]
pub struct Watch {
    expect: Expect,
    last: State,
    powered: bool,
    visited: usize,
    trespass: Option<State>,
    raised: Faults,
    highest: f64,
    asked: Option<f64>,
    stowed: Option<f64>,
}

impl Watch {
    /// A watch at the start of a run.
    #[must_use]
    pub fn new(expect: &Expect) -> Self {
        Self {
            expect: expect.clone(),
            last: State::Waking,
            powered: false,
            visited: 0,
            trespass: None,
            raised: Faults::empty(),
            highest: f64::NEG_INFINITY,
            asked: None,
            stowed: None,
        }
    }

    /// Sees one frame.
    pub fn see(&mut self, frame: &Frame) {
        let told = &frame.outputs.indications;
        self.highest = self.highest.max(frame.truth.aircraft.height);
        self.raised |= told.faults;
        self.powered = frame.powered;
        if !frame.powered {
            return;
        }
        let fresh = frame.tick == 0 || told.state != self.last;
        self.last = told.state;
        // The steps of one tick may pass through a state: its events name it.
        for event in &frame.outputs.events {
            match event {
                Event::Went { to, .. } => self.enter(*to),
                Event::Intended(Intention::Stow | Intention::StopAndStow) => {
                    self.asked = Some(frame.seconds());
                    self.stowed = None;
                }
                Event::Intended(Intention::Deploy)
                | Event::Ignored(_)
                | Event::Latched(_)
                | Event::Cleared(_)
                | Event::Bus(_)
                | Event::Acknowledged
                | Event::RestraintConfirmed
                | Event::RestraintEnded => {}
            }
        }
        if fresh {
            self.enter(told.state);
        }
        if told.stowed && self.asked.is_some() && self.stowed.is_none() {
            self.stowed = Some(frame.seconds());
        }
    }

    fn enter(&mut self, state: State) {
        let same = |other: &State| other.name() == state.name();
        if self.expect.visits.get(self.visited).is_some_and(same) {
            self.visited += 1;
        }
        if self.expect.never_visits.iter().any(same) {
            self.trespass = self.trespass.or(Some(state));
        }
    }

    /// What became of every expectation, given the requirements that were put to the
    /// test.
    #[must_use]
    pub fn findings(&self, exercised: &[&str]) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut find = |expected: String, instead: Option<String>| {
            findings.push(Finding { expected, instead });
        };
        self.judge_end(&mut find);
        self.judge_path(&mut find);
        self.judge_faults(&mut find);
        self.judge_numbers(&mut find);
        for id in &self.expect.exercises {
            let missed = !exercised.contains(&id.as_str());
            let instead = missed.then(|| "it was not exercised".to_owned());
            find(format!("puts {id} to the test"), instead);
        }
        findings
    }

    fn judge_end(&self, find: &mut impl FnMut(String, Option<String>)) {
        let now = if self.powered {
            state_words(self.last)
        } else {
            "without supply".to_owned()
        };
        let ends = &self.expect.ends_in;
        if !ends.is_empty() {
            let met = self.powered && ends.iter().any(|state| state.name() == self.last.name());
            find(
                format!("ends in {}", names(ends)),
                (!met).then(|| now.clone()),
            );
        }
        if let Some(halt) = self.expect.halt {
            let met = self.powered && self.last == State::Halted(halt);
            find(
                format!("ends in a safe halt: {}", halt.words()),
                (!met).then_some(now),
            );
        }
    }

    fn judge_path(&self, find: &mut impl FnMut(String, Option<String>)) {
        let visits = &self.expect.visits;
        if !visits.is_empty() {
            let instead = visits
                .get(self.visited)
                .map(|missing| format!("{} was not reached in its turn", missing.name()));
            find(format!("passes through {}", names(visits)), instead);
        }
        if !self.expect.never_visits.is_empty() {
            let instead = self
                .trespass
                .map(|state| format!("{} was entered", state_words(state)));
            find(
                format!("never enters {}", names(&self.expect.never_visits)),
                instead,
            );
        }
    }

    fn judge_faults(&self, find: &mut impl FnMut(String, Option<String>)) {
        let expect = &self.expect;
        for fault in expect.raises {
            let missing = !self.raised.contains(fault);
            find(
                format!("raises {fault:?}"),
                missing.then(|| "it did not latch".to_owned()),
            );
        }
        for fault in expect.never_raises {
            let raised = self.raised.contains(fault);
            find(
                format!("never raises {fault:?}"),
                raised.then(|| "it latched".to_owned()),
            );
        }
        if expect.only {
            let others = self.raised - expect.raises - expect.may_raise;
            let instead = (!others.is_empty()).then(|| format!("{} latched", list(others)));
            let asked = expect.raises | expect.may_raise;
            let sentence = if asked.is_empty() {
                "raises no fault"
            } else {
                "raises no other fault"
            };
            find(sentence.to_owned(), instead);
        }
    }

    fn judge_numbers(&self, find: &mut impl FnMut(String, Option<String>)) {
        if let Some(height) = self.expect.height_reached {
            let met = self.highest >= height;
            let instead = (!met).then(|| format!("{:.0} m at most", self.highest));
            find(format!("reaches {height} m above the field"), instead);
        }
        if let Some(limit) = self.expect.stays_below {
            let instead = (self.highest > limit).then(|| format!("{:.0} m", self.highest));
            find(format!("stays below {limit} m above the field"), instead);
        }
        if let Some(limit) = self.expect.stowed_within {
            let instead = match (self.asked, self.stowed) {
                (None, _) => Some("nobody asked to stow".to_owned()),
                (Some(_), None) => Some("it was never stowed".to_owned()),
                (Some(asked), Some(stowed)) => {
                    (stowed - asked > limit).then(|| format!("it took {:.1} s", stowed - asked))
                }
            };
            find(
                format!("is stowed within {limit} s of the last demand"),
                instead,
            );
        }
    }
}

fn names(states: &[State]) -> String {
    states
        .iter()
        .map(|state| state.name())
        .collect::<Vec<_>>()
        .join(", ")
}

fn list(faults: Faults) -> String {
    faults
        .iter()
        .map(|fault| format!("{fault:?}"))
        .collect::<Vec<_>>()
        .join(", ")
}

fn state_words(state: State) -> String {
    match state.halt() {
        Some(halt) => format!("Halted ({})", halt.words()),
        None => state.name().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::{Fault, Halt};

    use super::*;

    fn frame(tick: u64, state: State, events: &[Event]) -> Frame {
        let mut frame = Frame {
            tick,
            powered: true,
            ..Frame::default()
        };
        frame.outputs.indications.state = state;
        for event in events {
            frame.outputs.emit(*event);
        }
        frame
    }

    fn unmet(expect: &Expect, frames: &[Frame]) -> Vec<String> {
        let mut watch = Watch::new(expect);
        frames.iter().for_each(|frame| watch.see(frame));
        watch
            .findings(&[])
            .into_iter()
            .filter_map(|finding| finding.instead)
            .collect()
    }

    #[test]
    fn a_run_that_does_as_expected_has_nothing_unmet() {
        let expect = Expect {
            ends_in: vec![State::Stowed],
            visits: vec![State::Thrust, State::StowMast],
            stowed_within: Some(0.5),
            ..Expect::default()
        };
        let mut last = frame(40, State::Stowed, &[]);
        last.outputs.indications.stowed = true;
        let frames = [
            frame(0, State::Thrust, &[]),
            frame(1, State::StowMast, &[Event::Intended(Intention::Stow)]),
            last,
        ];
        assert_eq!(unmet(&expect, &frames), Vec::<String>::new());
    }

    #[test]
    fn the_wrong_end_and_a_missing_state_are_told() {
        let expect = Expect {
            halt: Some(Halt::NotParked),
            visits: vec![State::StowPark, State::StowBrake],
            ..Expect::default()
        };
        let frames = [
            frame(0, State::StowBrake, &[]),
            frame(1, State::StowPark, &[]),
            frame(2, State::Halted(Halt::Doors), &[]),
        ];
        assert_eq!(
            unmet(&expect, &frames),
            [
                "Halted (the doors are not where they must be)",
                "StowBrake was not reached in its turn"
            ]
        );
    }

    #[test]
    fn a_state_only_passed_through_within_a_tick_counts() {
        let went = Event::Went {
            from: State::Armed,
            to: State::Jog,
        };
        let expect = Expect {
            never_visits: vec![State::Jog],
            ..Expect::default()
        };
        assert_eq!(
            unmet(&expect, &[frame(3, State::Resting, &[went])]),
            ["Jog was entered"]
        );
    }

    #[test]
    fn faults_missing_forbidden_and_unforeseen_are_told_apart() {
        let expect = Expect {
            raises: Fault::MastOverdue.into(),
            never_raises: Fault::ParkLost.into(),
            only: true,
            ..Expect::default()
        };
        let mut seen = frame(0, State::Resting, &[]);
        seen.outputs.indications.faults = Fault::ParkLost | Fault::MotorHot;
        assert_eq!(
            unmet(&expect, &[seen]),
            [
                "it did not latch",
                "it latched",
                "ParkLost, MotorHot latched"
            ]
        );
    }

    #[test]
    fn numbers_not_reached_are_told_with_what_was() {
        let expect = Expect {
            height_reached: Some(300.0),
            stays_below: Some(200.0),
            stowed_within: Some(20.0),
            exercises: vec!["SR-06".to_owned()],
            ..Expect::default()
        };
        let mut high = frame(0, State::Thrust, &[]);
        high.truth.aircraft.height = 250.0;
        assert_eq!(
            unmet(&expect, &[high]),
            [
                "250 m at most",
                "250 m",
                "nobody asked to stow",
                "it was not exercised"
            ]
        );
    }
}
