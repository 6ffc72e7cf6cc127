//! Moments: conditions on the world, written to be read.
//!
//! `mast passes 40 % while stowing`, `state is Thrust for 5 s`, `fault is MotorHot or
//! controller > 90 C`. A moment is parsed once; telling whether it has come costs a
//! few comparisons a tick and no allocation.

mod parse;

pub(crate) use parse::{fault_named, halt_named, state_named};

use std::mem::Discriminant;

use mastwright_core::{Fault, Halt, Mode, State};

use super::quantity::{Flag, Quantity};
use super::script::Marks;
use super::words::Misread;
use crate::frame::Frame;

/// A condition on the world: any one of its alternatives, each a list of terms that
/// must hold together.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    alternatives: Vec<Vec<Term>>,
}

/// One thing that must be so, for some time.
#[derive(Clone, Debug, PartialEq)]
struct Term {
    test: Test,
    negated: bool,
    /// Ticks for which the test must have held without a break; 1 is "now".
    lasting: u32,
    /// Ticks for which it has held, up to `lasting`.
    held: u32,
}

#[derive(Clone, Debug, PartialEq)]
enum Test {
    Above(Quantity, f64),
    AtLeast(Quantity, f64),
    Below(Quantity, f64),
    AtMost(Quantity, f64),
    /// The quantity lay on one side of the level a tick ago and lies on the other now.
    Passes {
        quantity: Quantity,
        level: f64,
        before: Option<f64>,
    },
    State(Discriminant<State>),
    Halt(Halt),
    Mode(Mode),
    Fault(Fault),
    Regime(Regime),
    Flag(Flag),
    Done(u8),
}

/// A group of the sequencer's states.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Regime {
    Deploying,
    Stowing,
    Moving,
}

impl Moment {
    /// Reads a moment.
    ///
    /// # Errors
    /// Where the sentence stops making sense, and what was expected there.
    pub fn parse(text: &str) -> Result<Self, Misread> {
        parse::moment(text)
    }

    /// Feeds one frame; true when the moment has come. `done` are the actions that
    /// are over.
    pub fn feed(&mut self, frame: &Frame, done: Marks) -> bool {
        let mut come = false;
        for terms in &mut self.alternatives {
            let mut all = true;
            for term in terms {
                // Every term is fed every time: it may be counting.
                all &= term.feed(frame, done);
            }
            come |= all;
        }
        come
    }

    /// The highest number of an action whose end the moment waits for; 0: none.
    pub(crate) fn waits_for_action(&self) -> u8 {
        self.alternatives
            .iter()
            .flatten()
            .map(|term| match term.test {
                Test::Done(number) => number,
                Test::Above(..)
                | Test::AtLeast(..)
                | Test::Below(..)
                | Test::AtMost(..)
                | Test::Passes { .. }
                | Test::State(_)
                | Test::Halt(_)
                | Test::Mode(_)
                | Test::Fault(_)
                | Test::Regime(_)
                | Test::Flag(_) => 0,
            })
            .max()
            .unwrap_or(0)
    }
}

impl Term {
    fn feed(&mut self, frame: &Frame, done: Marks) -> bool {
        if self.test.feed(frame, done) == self.negated {
            self.held = 0;
        } else {
            self.held = (self.held + 1).min(self.lasting);
        }
        self.held >= self.lasting
    }
}

impl Test {
    fn feed(&mut self, frame: &Frame, done: Marks) -> bool {
        let told = &frame.outputs.indications;
        match self {
            Self::Above(quantity, level) => quantity.read(frame) > *level,
            Self::AtLeast(quantity, level) => quantity.read(frame) >= *level,
            Self::Below(quantity, level) => quantity.read(frame) < *level,
            Self::AtMost(quantity, level) => quantity.read(frame) <= *level,
            Self::Passes {
                quantity,
                level,
                before,
            } => {
                let now = quantity.read(frame);
                let passed = before.is_some_and(|before| (before < *level) != (now < *level));
                *before = Some(now);
                passed
            }
            Self::State(state) => frame.powered && std::mem::discriminant(&told.state) == *state,
            Self::Halt(halt) => told.state.halt() == Some(*halt),
            Self::Mode(mode) => frame.powered && told.mode == *mode,
            Self::Fault(fault) => told.faults.contains(*fault),
            Self::Regime(regime) => match regime {
                Regime::Deploying => told.state.is_deploying(),
                Regime::Stowing => told.state.is_stowing(),
                Regime::Moving => told.state.is_moving(),
            },
            Self::Flag(flag) => flag.read(frame),
            Self::Done(number) => done.contains(usize::from(*number - 1)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(mast: f64, state: State) -> Frame {
        let mut frame = Frame {
            powered: true,
            ..Frame::default()
        };
        frame.truth.mast.position = mast;
        frame.outputs.indications.state = state;
        frame
    }

    fn come(moment: &str, frames: &[Frame]) -> Vec<bool> {
        let mut moment = Moment::parse(moment).expect(moment);
        frames
            .iter()
            .map(|frame| moment.feed(frame, Marks::default()))
            .collect()
    }

    #[test]
    fn terms_joined_by_and_must_hold_together() {
        let frames = [
            frame(0.3, State::DeployMast),
            frame(0.5, State::StowMast),
            frame(0.39, State::StowMast),
        ];
        assert_eq!(
            come("mast < 40 % and state is StowMast", &frames),
            [false, false, true]
        );
    }

    #[test]
    fn a_crossing_is_seen_in_the_tick_it_happens_and_from_either_side() {
        let frames = [0.3, 0.39, 0.41, 0.5, 0.40, 0.39].map(|mast| frame(mast, State::StowMast));
        assert_eq!(
            come("mast passes 40 %", &frames),
            [false, false, true, false, false, true]
        );
    }

    #[test]
    fn a_crossing_while_deploying_is_no_crossing_while_stowing() {
        let frames = [frame(0.3, State::DeployMast), frame(0.5, State::DeployMast)];
        assert_eq!(
            come("mast passes 40 % while stowing", &frames),
            [false, false]
        );
        assert_eq!(
            come("mast passes 40 % while deploying", &frames),
            [false, true]
        );
    }

    #[test]
    fn a_lasting_term_starts_again_after_a_break() {
        let on = frame(1.0, State::Thrust);
        let off = frame(1.0, State::Armed);
        let frames = [&on, &on, &off, &on, &on, &on].map(Clone::clone);
        assert_eq!(
            come("state is Thrust for 0.03 s", &frames),
            [false, false, false, false, false, true]
        );
    }

    #[test]
    fn either_alternative_will_do() {
        let frames = [frame(1.0, State::Armed), frame(0.0, State::Stowed)];
        assert_eq!(
            come("state is Stowed or state is Thrust", &frames),
            [false, true]
        );
    }

    #[test]
    fn a_halt_for_any_reason_and_for_a_given_one() {
        let frames = [
            frame(0.5, State::Halted(Halt::NotParked)),
            frame(0.5, State::Jog),
        ];
        assert_eq!(come("state is Halted", &frames), [true, false]);
        assert_eq!(come("halt is NotParked", &frames), [true, false]);
        assert_eq!(come("halt is Doors", &frames), [false, false]);
        assert_eq!(come("state is not Halted", &frames), [false, true]);
    }

    #[test]
    fn a_controller_without_supply_is_in_no_state() {
        let mut dead = frame(0.0, State::Waking);
        dead.powered = false;
        assert_eq!(come("state is Waking", &[dead.clone()]), [false]);
        assert_eq!(come("power is not on", &[dead]), [true]);
    }

    #[test]
    fn a_moment_can_wait_for_an_action_to_be_over() {
        let mut moment = Moment::parse("action 2 is done").unwrap();
        let mut done = Marks::default();
        assert!(!moment.feed(&Frame::default(), done));
        done.add(1);
        assert!(moment.feed(&Frame::default(), done));
        assert_eq!(moment.waits_for_action(), 2);
    }

    #[test]
    fn every_quantity_and_every_flag_can_be_written_down() {
        for (_, name, unit) in Quantity::ALL {
            assert!(
                Moment::parse(&format!("{name} > 1 {unit}")).is_ok(),
                "{name}"
            );
        }
        for (flag, words) in Flag::ALL {
            let moment = Moment::parse(words).expect(words);
            assert_eq!(moment.alternatives[0][0].test, Test::Flag(flag));
        }
    }
}
