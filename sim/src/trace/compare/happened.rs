//! What happened in each of two flights, and which of it is the same.

use similar::{Algorithm, DiffTag, capture_diff_slices};

use super::{CannotCompare, Row};
use crate::frame::{TICK, told_seconds};
use crate::report::timeline::{Entry, Kind, Timeline, What};
use crate::report::words;
use crate::scenario::Scenario;
use crate::trace::{Mark, Trace};

/// What happened in a trace, as far as it can be read.
pub(super) struct Told {
    events: Vec<Event>,
    /// Ticks read: all of them, or those before the first that cannot be.
    pub(super) read: u64,
    /// Why no further.
    pub(super) broken_off: Option<String>,
}

/// An event with what makes it the same event.
struct Event {
    key: String,
    entry: Entry,
}

/// What happened in a trace, as far as it can be read.
pub(super) fn happened(trace: &Trace) -> Result<Told, CannotCompare> {
    let scenario = trace.header().scenario();
    let scenario = scenario.map_err(|why| CannotCompare::Scenario {
        file: trace.file().to_owned(),
        why: Box::new(why),
    })?;
    let mut timeline = Timeline::default();
    let mut told = Told {
        events: Vec::new(),
        read: 0,
        broken_off: None,
    };
    for tick in trace.ticks() {
        let tick = match tick {
            Ok(tick) => tick,
            Err(why) => {
                told.broken_off = Some(why.to_string());
                break;
            }
        };
        told.read += 1;
        timeline.note(&tick.frame, tick.begun, &mut |note| {
            told.events.push(Event {
                key: key(&note.what, &scenario),
                entry: note.entry(&scenario),
            });
        });
        for fault in tick.marks.iter().filter_map(|mark| given(trace, mark)) {
            told.events.push(Event {
                key: fault.clone(),
                entry: Entry {
                    time: told_seconds(tick.frame.tick),
                    phase: words::phase(&tick.frame),
                    kind: Kind::Fault,
                    text: fault,
                },
            });
        }
    }
    Ok(told)
}

/// A fault that began and that no scenario ordered, in words.
fn given(trace: &Trace, mark: &Mark) -> Option<String> {
    match *mark {
        Mark::FaultBegan(number) if number as usize >= trace.header().scenario.faults => {
            let fault = trace.fault(number)?;
            Some(format!("{fault}. {}", fault.entry().sentence()))
        }
        Mark::FaultBegan(_) | Mark::FaultEnded(_) | Mark::ActionBegan(_) | Mark::BitFlipped(_) => {
            None
        }
    }
}

/// What makes an event the same in two flights: all but what was measured at it.
fn key(what: &What, scenario: &Scenario) -> String {
    match what {
        What::Bus(stage, _) => format!("bus {stage:?}"),
        What::Mast(drive, ..) => format!("mast {drive:?}"),
        What::Doors(drive, _) => format!("doors {drive:?}"),
        What::Motor(motor, _) => format!("motor {:?}", std::mem::discriminant(motor)),
        What::AuxCharger(on, _) => format!("charger {on}"),
        What::Action(_) | What::Ordered(_) => what.words(scenario),
        What::Supply(_)
        | What::Asked(_)
        | What::AskedByHand(_)
        | What::Ignored(_)
        | What::Entered(_)
        | What::Acknowledged { .. }
        | What::Restraint(_)
        | What::EventsLost(_)
        | What::Denied(..)
        | What::Alert(_)
        | What::Cleared(_)
        | What::Fans(_)
        | What::Heat(_) => format!("{what:?}"),
    }
}

/// Both lists of events, the same ones in one row.
pub(super) fn aligned(a: &Told, b: &Told) -> Vec<Row> {
    let keys = |told: &Told| -> Vec<String> {
        told.events.iter().map(|event| event.key.clone()).collect()
    };
    let (ends, events) = ([a.read, b.read].map(behind), (&a.events, &b.events));
    let mut rows = Vec::new();
    for part in capture_diff_slices(Algorithm::Myers, &keys(a), &keys(b)) {
        let (tag, of_a, of_b) = part.as_tag_tuple();
        let (of_a, of_b) = (&events.0[of_a], &events.1[of_b]);
        match tag {
            DiffTag::Equal => {
                rows.extend(of_a.iter().zip(of_b).map(|(a, b)| both(&a.entry, &b.entry)));
            }
            DiffTag::Delete | DiffTag::Insert | DiffTag::Replace => {
                let in_a = of_a.iter().map(|event| alone(&event.entry, 0, ends[1]));
                let in_b = of_b.iter().map(|event| alone(&event.entry, 1, ends[0]));
                let mut apart: Vec<Row> = in_a.chain(in_b).collect();
                let time = |row: &Row| row.times[0].or(row.times[1]).unwrap_or_default();
                apart.sort_by(|one, other| time(one).total_cmp(&time(other)));
                rows.append(&mut apart);
            }
        }
    }
    rows
}

#[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
fn behind(ticks: u64) -> f64 {
    // Half a tick early: between the last tick that was read and the one behind it.
    (ticks as f64 - 0.5) * TICK
}

fn both(a: &Entry, b: &Entry) -> Row {
    Row {
        times: [Some(a.time), Some(b.time)],
        untold: false,
        kind: a.kind,
        text: a.text.clone(),
        text_b: (a.text != b.text).then(|| b.text.clone()),
    }
}

/// An event of one of them, while the other was read until `end`, s.
fn alone(entry: &Entry, of: usize, end: f64) -> Row {
    let mut times = [None; 2];
    times[of] = Some(entry.time);
    Row {
        times,
        untold: entry.time > end,
        kind: entry.kind,
        text: entry.text.clone(),
        text_b: None,
    }
}
