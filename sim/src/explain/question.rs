//! What can be asked, and the tick each question is about.

use std::str::FromStr;

use enumset::EnumSet;
use mastwright_core::interlock::{Condition, Permission};
use mastwright_core::outputs::{DoorDrive, MastDrive, Motor, Outputs};
use mastwright_core::{Config, Fault, State};

use super::{CannotExplain, seconds};
use crate::frame::Frame;
use crate::report::why::Why;
use crate::report::words;
use crate::trace::Trace;

/// A question about a flight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// Why the thing then asked for happens or does not.
    Then,
    /// What let the mast drive run.
    MastMoved,
    /// Why the mast drive went off, short of an end if it ever did.
    MastStopped,
    /// Why the door drive went off, short of an end if it ever did.
    DoorsStopped,
    /// Why the open throttle gave no thrust.
    NoThrust,
    /// Why the main contactor was opened, not stowed if it ever was.
    BusOpened,
    /// Why a safe halt was declared.
    Halted,
    /// Why this alert came.
    Alert(Fault),
}

/// A question that is none of those known.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no question is `{given}`")]
pub struct UnknownQuestion {
    /// What was asked.
    pub given: String,
    /// What can be asked.
    pub remedy: String,
}

impl Question {
    /// The questions that need no name of an alert, as they are asked.
    pub const PLAIN: [(Self, &'static str); 6] = [
        (Self::MastMoved, "mast moved"),
        (Self::MastStopped, "mast stopped"),
        (Self::DoorsStopped, "doors stopped"),
        (Self::NoThrust, "no thrust"),
        (Self::BusOpened, "bus opened"),
        (Self::Halted, "halted"),
    ];

    /// The question in words.
    #[must_use]
    pub fn words(self) -> String {
        let plain = Self::PLAIN.iter().find(|(question, _)| *question == self);
        match (self, plain) {
            (_, Some((_, words))) => (*words).to_owned(),
            (Self::Alert(fault), None) => format!("alert {fault:?}"),
            (_, None) => "what was asked for then".to_owned(),
        }
    }
}

impl FromStr for Question {
    type Err = UnknownQuestion;

    fn from_str(given: &str) -> Result<Self, UnknownQuestion> {
        let asked = given.trim().to_lowercase();
        if let Some((question, _)) = Self::PLAIN.iter().find(|(_, words)| *words == asked) {
            return Ok(*question);
        }
        let unknown = |remedy| UnknownQuestion {
            given: given.to_owned(),
            remedy,
        };
        let Some(name) = asked.strip_prefix("alert ").map(str::trim) else {
            let plain: Vec<&str> = Self::PLAIN.iter().map(|(_, words)| *words).collect();
            return Err(unknown(format!(
                "ask one of: {}, alert NAME",
                plain.join(", ")
            )));
        };
        let names = || EnumSet::<Fault>::all().iter();
        let is_named = |fault: &Fault| {
            format!("{fault:?}").to_lowercase() == name || words::fault(*fault) == name
        };
        names().find(is_named).map(Self::Alert).ok_or_else(|| {
            let known: Vec<String> = names().map(|fault| format!("{fault:?}")).collect();
            let known = known.iter().map(String::as_str);
            unknown(crate::scenario::problem::did_you_mean(name, known))
        })
    }
}

/// What would have been otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// This is permitted.
    Permit(Permission),
    /// The mast drive goes on, or stays off.
    Mast(MastDrive),
    /// The door drive goes on.
    Doors(DoorDrive),
    /// The motor propels.
    Thrust,
    /// The main contactor stays closed.
    MainClosed,
    /// The controller goes on with what it was about.
    GoesOn(State),
    /// This fault is not latched.
    NoFault(Fault),
}

impl Goal {
    /// Whether outputs meet it.
    pub(super) fn met(self, outputs: &Outputs) -> bool {
        let drives = &outputs.drives;
        match self {
            Self::Permit(permission) => permission.permitted(outputs.proven),
            Self::Mast(drive) => drives.mast == drive,
            Self::Doors(drive) => drives.doors == drive,
            Self::Thrust => matches!(drives.motor, Motor::Thrust(_)),
            Self::MainClosed => drives.bus.main,
            Self::GoesOn(from) => goes_on(from, outputs.indications.state),
            Self::NoFault(fault) => !outputs.indications.faults.contains(fault),
        }
    }

    /// It in words, to follow "for".
    pub(super) fn words(self) -> String {
        match self {
            Self::Permit(permission) => {
                format!("the permission to {}", words::permission(permission))
            }
            Self::Mast(MastDrive::Off) => "the mast drive to be off".to_owned(),
            Self::Mast(MastDrive::Extend(_) | MastDrive::Retract(_)) => {
                "the mast drive to go on".to_owned()
            }
            Self::Doors(_) => "the door drive to go on".to_owned(),
            Self::Thrust => "the motor to propel".to_owned(),
            Self::MainClosed => "the main contactor to stay closed".to_owned(),
            Self::GoesOn(from) => format!("the controller to go on from {}", from.name()),
            Self::NoFault(fault) => format!("no alert {fault:?}"),
        }
    }
}

/// Whether a controller that was in `from` is still about the same thing in `to`.
fn goes_on(from: State, to: State) -> bool {
    let regime = |state: State| (state.is_deploying(), state.is_stowing());
    let away = matches!(to, State::Halted(_) | State::Jog | State::Resting);
    !away && (regime(from) == regime(to) || from.leads_to(to))
}

/// What a question is about.
#[derive(Clone, Debug)]
pub(super) struct Found {
    /// The tick.
    pub(super) tick: u64,
    /// What happened in it.
    pub(super) what: String,
    /// The permission to look at.
    pub(super) permission: Permission,
    /// What would have been otherwise.
    pub(super) goal: Goal,
}

/// An answer to a question in one tick, and whether it is one of those asked about first.
type Hit = Option<(Found, bool)>;

/// Finds the last tick, up to `at`, in which `question` has something to ask about.
pub(super) fn find(
    trace: &Trace,
    question: Question,
    at: Option<u64>,
    config: &Config,
) -> Result<Found, CannotExplain> {
    if question == Question::Then {
        let tick = trace.at(at.unwrap_or(trace.len().saturating_sub(1)))?;
        return Ok(then(&tick.frame, config));
    }
    let last = at.map_or(u64::MAX, |at| at);
    let (mut foremost, mut any) = (None, None);
    let mut before: Option<Frame> = None;
    for tick in trace.ticks() {
        let Ok(tick) = tick else {
            // What changed in ticks that are lost is not known.
            before = None;
            continue;
        };
        if tick.frame.tick > last {
            break;
        }
        if let Some((found, first)) = before
            .as_ref()
            .and_then(|before| hit(question, before, &tick.frame, config))
        {
            if first {
                foremost = Some(found.clone());
            }
            any = Some(found);
        }
        before = Some(tick.frame);
    }
    foremost.or(any).ok_or_else(|| CannotExplain::Never {
        file: trace.file().to_owned(),
        question: question.words(),
        until: seconds(last.min(trace.len().saturating_sub(1))),
    })
}

fn then(frame: &Frame, config: &Config) -> Found {
    let why = Why::of(frame, config);
    let asked = if why.denied {
        "asked for and denied"
    } else {
        "looked at"
    };
    Found {
        tick: frame.tick,
        what: format!("{asked}: {}", words::permission(why.permission)),
        permission: why.permission,
        goal: Goal::Permit(why.permission),
    }
}

fn hit(question: Question, before: &Frame, now: &Frame, config: &Config) -> Hit {
    let found = |what: String, permission, goal| Found {
        tick: now.tick,
        what,
        permission,
        goal,
    };
    let (was, is) = (&before.outputs, &now.outputs);
    match question {
        Question::Then => None,
        Question::MastMoved => {
            let (permission, verb) = match is.drives.mast {
                MastDrive::Off => return None,
                MastDrive::Extend(_) => (Permission::Extend, "extends"),
                MastDrive::Retract(_) => (Permission::Retract, "retracts"),
            };
            let percent = now.truth.mast.position * 100.0;
            let what = format!("mast {verb} at {percent:.0} %");
            Some((found(what, permission, Goal::Mast(MastDrive::Off)), true))
        }
        Question::MastStopped => {
            let (permission, end) = match was.drives.mast {
                MastDrive::Off => return None,
                MastDrive::Extend(_) => (Permission::Extend, Condition::MastLocked),
                MastDrive::Retract(_) => (Permission::Retract, Condition::MastStowed),
            };
            let what = format!("mast drive off at {:.0} %", now.truth.mast.position * 100.0);
            let goal = Goal::Mast(was.drives.mast);
            let stopped = is.drives.mast == MastDrive::Off;
            stopped.then(|| (found(what, permission, goal), !is.proven.contains(end)))
        }
        Question::DoorsStopped => {
            let (permission, end) = match was.drives.doors {
                DoorDrive::Off => return None,
                DoorDrive::Open => (Permission::OpenDoors, Condition::DoorsOpen),
                DoorDrive::Close => (Permission::CloseDoors, Condition::DoorsShut),
            };
            let what = format!(
                "door drive off, doors {:.0} % open",
                now.truth.doors * 100.0
            );
            let goal = Goal::Doors(was.drives.doors);
            let stopped = is.drives.doors == DoorDrive::Off;
            stopped.then(|| (found(what, permission, goal), !is.proven.contains(end)))
        }
        Question::NoThrust => {
            let began = wants_thrust(now, config) && !wants_thrust(before, config);
            let what = "throttle open, and the motor does not propel".to_owned();
            began.then(|| (found(what, Permission::Propel, Goal::Thrust), true))
        }
        Question::BusOpened => {
            let opened = was.drives.bus.main && !is.drives.bus.main;
            let what = format!("main contactor opened at {:.0} V", now.truth.bus.voltage);
            let odd = is.indications.state != State::Stowed;
            opened.then(|| (found(what, Permission::CloseMain, Goal::MainClosed), odd))
        }
        Question::Halted => {
            let (from, to) = (was.indications.state, is.indications.state);
            let halt = to.halt()?;
            let what = format!("safe halt: {}", halt.words());
            let permission = Why::of(now, config).permission;
            (from != to).then(|| (found(what, permission, Goal::GoesOn(from)), true))
        }
        Question::Alert(fault) => {
            let new = is.indications.faults - was.indications.faults;
            let class = words::class(fault.class());
            let what = format!("{class}: {}", words::fault(fault));
            let permission = Why::of(now, config).permission;
            new.contains(fault)
                .then(|| (found(what, permission, Goal::NoFault(fault)), true))
        }
    }
}

/// The throttle is open as both tracks read it, and the motor does not propel.
fn wants_thrust(frame: &Frame, config: &Config) -> bool {
    let controls = &frame.inputs.controls;
    let open = [controls.throttle_a, controls.throttle_b];
    let open = open.iter().all(|track| track.raw() > config.throttle_zero);
    open && !matches!(frame.outputs.drives.motor, Motor::Thrust(_))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_question_is_understood_as_it_is_worded() {
        let alerts = EnumSet::<Fault>::all().iter().map(Question::Alert);
        let plain = Question::PLAIN.into_iter().map(|(question, _)| question);
        for question in plain.chain(alerts) {
            assert_eq!(question.words().parse(), Ok(question));
        }
        assert_eq!(
            "alert mast overdue".parse(),
            Ok(Question::Alert(Fault::MastOverdue))
        );
        let unknown = "alert ParkOverdu".parse::<Question>().unwrap_err();
        assert!(
            unknown.remedy.contains("did you mean `ParkOverdue`?"),
            "{unknown:?}"
        );
        let unknown = "why".parse::<Question>().unwrap_err();
        assert!(
            unknown.remedy.contains("mast stopped, doors stopped"),
            "{unknown:?}"
        );
    }

    #[test]
    fn going_on_is_neither_a_halt_nor_another_regime() {
        use mastwright_core::Halt;
        assert!(goes_on(State::StowMast, State::StowMast));
        assert!(goes_on(State::StowMast, State::StowDoors));
        assert!(!goes_on(State::StowMast, State::Halted(Halt::NotParked)));
        assert!(!goes_on(State::StowMast, State::Jog));
        assert!(!goes_on(State::StowMast, State::DeployMast));
    }
}
