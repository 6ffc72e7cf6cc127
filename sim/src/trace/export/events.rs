//! What happened in a tick, as words a program can take apart.

use mastwright_core::outputs::Event;

use crate::trace::{Mark, Tick};

/// Everything that happened in a tick, in order: its kind, and what.
pub(super) fn events(tick: &Tick) -> Vec<(&'static str, String)> {
    let marks = tick.marks.iter().map(|mark| match mark {
        Mark::ActionBegan(number) => ("action-began", (number + 1).to_string()),
        Mark::FaultBegan(number) => ("fault-began", (number + 1).to_string()),
        Mark::FaultEnded(number) => ("fault-ended", (number + 1).to_string()),
        Mark::BitFlipped(bit) => ("bit-flipped", bit.to_string()),
    });
    let events = tick.frame.outputs.events.iter().map(|event| match event {
        Event::Went { from, to } => ("went", format!("{from:?}>{to:?}")),
        Event::Intended(intention) => ("intended", format!("{intention:?}")),
        Event::Ignored(intention) => ("ignored", format!("{intention:?}")),
        Event::Latched(fault) => ("latched", format!("{fault:?}")),
        Event::Cleared(fault) => ("cleared", format!("{fault:?}")),
        Event::Bus(stage) => ("bus", format!("{stage:?}")),
        Event::Acknowledged => ("acknowledged", "-".to_owned()),
        Event::RestraintConfirmed => ("restraint", "confirmed".to_owned()),
        Event::RestraintEnded => ("restraint", "ended".to_owned()),
    });
    marks.chain(events).collect()
}

/// The same in one word.
pub(super) fn joined(tick: &Tick) -> String {
    if tick.marks.is_empty() && tick.frame.outputs.events.is_empty() {
        return "-".to_owned();
    }
    let words = events(tick).into_iter();
    let words: Vec<String> = words.map(|(kind, what)| format!("{kind}:{what}")).collect();
    words.join("|")
}
