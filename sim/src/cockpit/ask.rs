//! What can be asked of a session from beside the controls: time, faults, and how it goes.
//!
//! The line-by-line cockpit and a trainer's prompt ask the same. The orders go through the
//! flight's own log, so that rewinding and the debrief know them.

use std::sync::Arc;

use super::desk::{Desk, MOST_FAULTS};
use super::faults::FaultDesk;
use super::speed::Speed;
use super::timeline::{Armed, Order};
use crate::faults::Fault;
use crate::flight::Outcome;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::words;
use crate::scenario::quantity::Quantity;
use crate::scenario::ticks;

/// Something asked.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Ask {
    /// Time stands still.
    Pause,
    /// Time passes.
    Go,
    /// How fast.
    Speed(Speed),
    /// So many seconds back.
    Back(f64),
    /// So many seconds on.
    Forward(f64),
    /// The branch left last.
    Other,
    /// A fault begins.
    Inject(Fault),
    /// A fault begins when its moment comes.
    Arm(Arc<Armed>),
    /// The armed fault of this number, from 1, waits no longer.
    Disarm(usize),
    /// The active fault of this number, from 1, ends.
    Clear(usize),
    /// Every active fault ends.
    ClearAll,
    /// List the armed faults.
    Armed,
    /// List the active faults.
    Active,
    /// Where we are.
    State,
    /// What is denied.
    Why,
    /// What held.
    Verdict,
}

/// What is to be said of something asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Said {
    pub(super) lines: Vec<String>,
    /// The tape of the flight tells it as well.
    pub(super) on_tape: bool,
}

impl Said {
    fn line(text: impl Into<String>) -> Self {
        Self {
            lines: vec![text.into()],
            on_tape: false,
        }
    }

    fn on_tape(text: String) -> Self {
        Self {
            on_tape: true,
            ..Self::line(text)
        }
    }
}

impl Ask {
    /// It sets or shows faults: not for the eyes of a trainee.
    pub(super) const fn is_of_faults(&self) -> bool {
        match self {
            Self::Inject(_)
            | Self::Arm(_)
            | Self::Disarm(_)
            | Self::Clear(_)
            | Self::ClearAll
            | Self::Armed
            | Self::Active => true,
            Self::Pause
            | Self::Go
            | Self::Speed(_)
            | Self::Back(_)
            | Self::Forward(_)
            | Self::Other
            | Self::State
            | Self::Why
            | Self::Verdict => false,
        }
    }

    /// Does it, or tells it; what is to be said.
    ///
    /// # Errors
    /// Why it was not done.
    pub(super) fn put(self, desk: &mut Desk) -> Result<Said, String> {
        match self {
            Self::Pause => {
                desk.set_running(false);
                Ok(Said::line("time stands still"))
            }
            Self::Go => {
                desk.set_running(true);
                Ok(Said::line("time passes"))
            }
            Self::Speed(speed) => {
                desk.set_speed(speed);
                Ok(Said::line(format!("speed: {}", speed.name())))
            }
            Self::Back(seconds) => Ok(seek(desk, -seconds)),
            Self::Forward(seconds) => Ok(seek(desk, seconds)),
            Self::Other => other(desk),
            Self::Inject(fault) if desk.inject(fault) => {
                Ok(Said::on_tape(format!("injected: {fault}")))
            }
            Self::Arm(armed) if desk.takes_faults() => {
                let text = format!("armed: {}, when {}", armed.fault, armed.when);
                desk.give(Order::Arm(armed));
                Ok(Said::on_tape(text))
            }
            Self::Inject(_) | Self::Arm(_) => Err(format!(
                "this flight has had {MOST_FAULTS} faults; restart, or go back"
            )),
            Self::Disarm(number) => disarm(desk, number),
            Self::Clear(number) => clear(desk, number),
            Self::ClearAll => {
                desk.give(Order::ClearAll);
                Ok(Said::on_tape("every active fault ended".to_owned()))
            }
            Self::Armed => Ok(armed(desk)),
            Self::Active => Ok(active(desk)),
            Self::State => Ok(Said::line(state(desk))),
            Self::Why => Ok(why(desk)),
            Self::Verdict => Ok(verdict(desk)),
        }
    }
}

fn seek(desk: &mut Desk, seconds: f64) -> Said {
    #[expect(clippy::cast_possible_wrap, reason = "at most an hour or two")]
    let distance = ticks(seconds.abs()) as i64;
    desk.seek_by(if seconds < 0.0 { -distance } else { distance });
    let end = desk.timeline().end();
    let text = if desk.frame().tick < end {
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let flown = end as f64 * crate::frame::TICK;
        format!("here again; flown up to {flown:.2} s: another order leaves that future")
    } else {
        "here the flight has come to".to_owned()
    };
    Said {
        lines: vec![text, state(desk)],
        on_tape: false,
    }
}

fn other(desk: &mut Desk) -> Result<Said, String> {
    if !desk.take_back() {
        return Err("no branch has been left: go back and do something else".to_owned());
    }
    let (number, _) = desk.timeline().branch();
    Ok(Said {
        lines: vec![format!("this is branch {number} again"), state(desk)],
        on_tape: false,
    })
}

fn disarm(desk: &mut Desk, number: usize) -> Result<Said, String> {
    let armed = desk.present().armed();
    let Some(dropped) = number.checked_sub(1).and_then(|index| armed.get(index)) else {
        return Err(format!("no armed fault has number {number}: see `armed`"));
    };
    let text = format!("waits no longer: {}", dropped.fault);
    desk.give(Order::Disarm(number - 1));
    Ok(Said::line(text))
}

fn clear(desk: &mut Desk, number: usize) -> Result<Said, String> {
    let nth = number.checked_sub(1);
    let found = nth.and_then(|nth| desk.present().world().active_faults().nth(nth));
    let Some((index, fault)) = found else {
        return Err(format!("no active fault has number {number}: see `active`"));
    };
    let text = format!("ended: {fault}");
    desk.give(Order::Clear(index));
    Ok(Said::on_tape(text))
}

fn armed(desk: &Desk) -> Said {
    let armed = desk.present().armed().iter();
    let words = armed.map(|armed| format!("{}, when {}", armed.fault, armed.when));
    numbered(words, "no fault is armed")
}

fn active(desk: &Desk) -> Said {
    let active = desk.present().world().active_faults();
    numbered(
        active.map(|(_, fault)| fault.to_string()),
        "no fault is active",
    )
}

fn numbered(words: impl Iterator<Item = String>, none: &str) -> Said {
    let lines: Vec<String> = (1..)
        .zip(words)
        .map(|(number, words)| format!("{number}. {words}"))
        .collect();
    if lines.is_empty() {
        return Said::line(none);
    }
    Said {
        lines,
        on_tape: false,
    }
}

/// Where the flight is, in one line.
pub(super) fn state(desk: &Desk) -> String {
    let frame = desk.frame();
    let read = |quantity: Quantity| quantity.read(frame);
    format!(
        "{}; mast {:.0} %, doors {:.0} %, propeller {:.0} rpm, bus {:.0} V, motor {:.0} C, \
         height {:.0} m, airspeed {:.0} m/s; throttle {:.0} %, stop switch {}",
        words::phase(frame),
        read(Quantity::Mast),
        read(Quantity::Doors),
        read(Quantity::Propeller),
        read(Quantity::Bus),
        read(Quantity::Motor),
        read(Quantity::Height),
        read(Quantity::Airspeed),
        read(Quantity::Throttle),
        if frame.controls.stop { "thrown" } else { "off" },
    )
}

fn why(desk: &Desk) -> Said {
    let denials = &desk.frame().outputs.denials;
    if denials.is_empty() {
        return Said::line("nothing asked for now is denied");
    }
    let words = denials.iter().map(|denial| {
        let what = crate::report::timeline::What::Denied(denial.permission, denial.reasons);
        format!("denied: {}", what.words(desk.scenario()))
    });
    Said {
        lines: words.collect(),
        on_tape: false,
    }
}

fn verdict(desk: &Desk) -> Said {
    let verdict = desk.verdict();
    let mut lines: Vec<String> = verdict
        .rows()
        .filter_map(|row| match &row.outcome {
            Outcome::Broken { at, why } => Some(format!("{} BROKEN at {at:.2} s: {why}", row.id)),
            Outcome::Held | Outcome::NotExercised | Outcome::JudgedElsewhere { .. } => None,
        })
        .collect();
    let broken = verdict.broken();
    let held = verdict.exercised().len() - broken;
    lines.push(format!(
        "so far {held} put to the test and held, {broken} broken"
    ));
    Said {
        lines,
        on_tape: false,
    }
}

/// The faults that match every word of `search`, each with what happens then.
pub(super) fn find(search: &str) -> Vec<String> {
    let mut faults = FaultDesk::default();
    search.chars().for_each(|letter| faults.type_letter(letter));
    let mut lines = Vec::new();
    for listed in faults.matches() {
        lines.push(format!("{:14}{}", "", listed.name));
        let words = wrap(&listed.words, COLUMNS - 18).into_iter();
        lines.extend(words.map(|text| format!("{:18}{text}", "")));
    }
    lines
}
