//! What a debrief says, in words that text and page share.

use super::{Became, Score, Task, seconds};
use crate::controls::Push;
use crate::flight::{Outcome, Row};
use crate::lesson::hands::{Move, Moved};

/// A move, as it is told.
pub(super) fn moved(one: &Move) -> String {
    // A push that is seen in one tick lasts one tick.
    let held = seconds(one.ended - one.began + 1);
    match one.what {
        Moved::Selector(Push::Deploy) => format!("selector to deploy for {held:.2} s"),
        Moved::Selector(Push::Stow) => format!("selector to stow for {held:.2} s"),
        Moved::Selector(Push::Hold) => "selector centred".to_owned(),
        Moved::Throttle { from, to } => {
            format!("throttle from {:.0} % to {:.0} %", from * 100.0, to * 100.0)
        }
        Moved::Stop(true) => "stop-and-stow switch thrown".to_owned(),
        Moved::Stop(false) => "stop-and-stow switch released".to_owned(),
        Moved::Acknowledge => format!("acknowledge pressed for {held:.2} s"),
        Moved::BenchKey(true) => "bench key on".to_owned(),
        Moved::BenchKey(false) => "bench key off".to_owned(),
        Moved::HeatTest => format!("heat test pressed for {held:.2} s"),
        Moved::AuxCharge(true) => "auxiliary charge on".to_owned(),
        Moved::AuxCharge(false) => "auxiliary charge off".to_owned(),
    }
}

/// The sign of an outcome: readable without colour.
pub(super) const fn sign(became: Became) -> &'static str {
    match became {
        Became::InTime => "in time",
        Became::Early => "EARLY",
        Became::Late => "LATE",
        Became::Missed => "MISSED",
        Became::Open => "cut short",
        Became::NotCalledFor => "not reached",
    }
}

/// What became of a task, in one sentence.
pub(super) fn became(task: &Task) -> String {
    let within = task.within;
    let hint = task
        .hinted
        .map_or_else(String::new, |at| format!(" A hint came up at {at:.2} s."));
    let sentence = match (task.outcome, task.called, task.done) {
        (Became::InTime | Became::Late, Some(called), Some(done)) => format!(
            "Called for at {called:.2} s, done at {done:.2} s: {:.2} s later; {within:.0} s allowed.",
            task.reaction.unwrap_or(0.0)
        ),
        (_, Some(called), Some(done)) => {
            format!("Done at {done:.2} s, before it was called for at {called:.2} s.")
        }
        (_, None, Some(done)) => {
            format!("Done at {done:.2} s; it was never called for.")
        }
        (Became::Missed, Some(called), None) => {
            format!("Called for at {called:.2} s and not done; {within:.0} s allowed.")
        }
        (_, Some(called), None) => format!(
            "Called for at {called:.2} s; the flight ended within the {within:.0} s allowed."
        ),
        (_, None, None) => "The flight did not come to it.".to_owned(),
    };
    format!("{sentence}{hint}")
}

/// The count, in sentences.
pub(super) fn score(score: &Score) -> Vec<String> {
    let mut tasks = format!("{} of {} actions in time", score.in_time, score.expected);
    for (count, word) in [
        (score.early, "early"),
        (score.late, "late"),
        (score.missed, "missed"),
        (score.open, "cut short"),
        (score.not_called_for, "not reached"),
    ] {
        if count > 0 {
            tasks += &format!(", {count} {word}");
        }
    }
    let slips = match score.slips {
        0 => "Nothing was done that should have been avoided".to_owned(),
        1 => "Once something was done that should have been avoided".to_owned(),
        times => format!("{times} times something was done that should have been avoided"),
    };
    let hints = match score.hints {
        0 => "no hint was needed".to_owned(),
        1 => "1 hint came up".to_owned(),
        hints => format!("{hints} hints came up"),
    };
    let harm = match (score.hazards, score.requirements_broken) {
        (0, 0) => "No hazard came about, and no requirement was broken".to_owned(),
        (hazards, broken) => {
            format!("HAZARDS that came about: {hazards}; REQUIREMENTS broken: {broken}")
        }
    };
    let end = match score.otherwise {
        0 => "The flight ended as the lesson intends".to_owned(),
        _ => "The flight did not end as the lesson intends".to_owned(),
    };
    vec![
        format!("{tasks}."),
        format!("{slips}; {hints}."),
        format!("{harm}."),
        format!("{end}."),
    ]
}

/// How the numbers are to be read.
pub(super) const READING: &str = "Counts of this one flight, for trainer and trainee to talk \
    about; no mark, no pass, and nothing to do with any licence. Times are from the tick in \
    which the hands moved.";

/// What became of a hazard or requirement.
pub(super) fn judged(row: &Row) -> (&'static str, String) {
    match &row.outcome {
        Outcome::Held => ("held", row.title.clone()),
        Outcome::Broken { at, why } => (
            "BROKEN",
            format!("{}: at {at:.2} s {why}. {}", row.title, row.statement),
        ),
        Outcome::NotExercised => ("not exercised", row.title.clone()),
        Outcome::JudgedElsewhere { by } => {
            ("not in flight", format!("{} (judged by {by})", row.title))
        }
    }
}
