//! Two traces side by side: where they part, and what follows.
//!
//! What holds is compared tick by tick: which readings, outputs, permissions and states
//! are first unlike, and when. What happened is aligned by event instead: the same event
//! stands in one row though it came later in one of the two.

use serde::Serialize;
use similar::{Algorithm, DiffTag, capture_diff_slices};

use super::read::Trace;
use super::tick::Tick;
use super::trouble::Unreadable;
use crate::frame::TICK;
use crate::link::tell;
use crate::report::timeline::{Entry, Kind, Timeline, What};
use crate::scenario::Scenario;
use crate::scenario::problem::Problem;

/// What comparing two traces found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Ticks that both have, up to where one of them could not be read.
    pub ticks: u64,
    /// How many ticks each has.
    pub lengths: [u64; 2],
    /// Where they first part, each in its own regard; the earliest first, and within a
    /// tick causes before effects.
    pub first: Vec<Parting>,
    /// What happened in both, aligned.
    pub rows: Vec<Row>,
    /// Why it was compared no further, if either could not be read on.
    pub broken_off: Option<String>,
}

impl Comparison {
    /// True when both are alike in every tick, and as long.
    #[must_use]
    pub fn is_equal(&self) -> bool {
        self.first.is_empty() && self.lengths[0] == self.lengths[1] && self.broken_off.is_none()
    }

    /// The first row in which they are unlike.
    #[must_use]
    pub fn parted(&self) -> Option<usize> {
        self.rows.iter().position(|row| row.times.contains(&None))
    }
}

/// In what two ticks can be unlike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Regard {
    /// What began or ended, and the controller's supply.
    World,
    /// The pilot's hands.
    Hands,
    /// What the controller was told.
    Readings,
    /// The controller's state: what it shows, or what is behind it.
    State,
    /// What the readings prove, and what was denied and why.
    Permissions,
    /// What the controller drives.
    Outputs,
}

impl Regard {
    /// Every regard, from causes to effects.
    pub const ALL: [Self; 6] = [
        Self::World,
        Self::Hands,
        Self::Readings,
        Self::State,
        Self::Permissions,
        Self::Outputs,
    ];

    /// It in a word or two.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::World => "what began or ended",
            Self::Hands => "the pilot's hands",
            Self::Readings => "readings",
            Self::State => "controller's state",
            Self::Permissions => "permissions",
            Self::Outputs => "outputs",
        }
    }
}

/// Where two traces first part in one regard.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Parting {
    /// In what.
    pub regard: Regard,
    /// When.
    pub tick: u64,
    /// When, s.
    pub time: f64,
    /// What is unlike: its name, what the first says and what the second.
    pub unlike: Vec<(String, String, String)>,
}

/// An event of one of them or of both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// When it came in each, s; none where it did not come.
    pub times: [Option<f64>; 2],
    /// Of what kind.
    pub kind: Kind,
    /// In words: of the first, if it has it.
    pub text: String,
}

/// Why two traces cannot be compared.
#[derive(Debug, thiserror::Error)]
pub enum CannotCompare {
    /// This build cannot read the scenario of one of them.
    #[error("the scenario in {file} cannot be read by this program: {why}")]
    Scenario {
        /// Which trace.
        file: String,
        /// Why.
        why: Box<Problem>,
    },
}

/// Compares two traces.
///
/// # Errors
/// When the scenario of one of them cannot be read any more, which names its actions and
/// faults.
pub fn compare(a: &Trace, b: &Trace) -> Result<Comparison, CannotCompare> {
    let mut comparison = Comparison {
        ticks: 0,
        lengths: [a.len(), b.len()],
        first: Vec::new(),
        rows: Vec::new(),
        broken_off: None,
    };
    tick_by_tick(a, b, &mut comparison);
    comparison
        .first
        .sort_by_key(|parting| place(parting.regard));
    comparison.rows = aligned(&happened(a)?, &happened(b)?);
    Ok(comparison)
}

fn place(regard: Regard) -> usize {
    let place = Regard::ALL.iter().position(|other| *other == regard);
    place.unwrap_or(Regard::ALL.len())
}

fn tick_by_tick(a: &Trace, b: &Trace, comparison: &mut Comparison) {
    let same_form = a.header().waking == b.header().waking;
    for pair in a.ticks().zip(b.ticks()) {
        let (one, other) = match pair {
            (Ok(one), Ok(other)) => (one, other),
            (Err(why), _) | (_, Err(why)) => {
                comparison.broken_off = Some(broken(&why));
                return;
            }
        };
        comparison.ticks += 1;
        if one == other {
            continue;
        }
        for regard in Regard::ALL {
            if comparison.first.iter().any(|known| known.regard == regard) {
                continue;
            }
            let unlike = unlike(regard, &one, &other, same_form);
            if !unlike.is_empty() {
                comparison.first.push(Parting {
                    regard,
                    tick: one.frame.tick,
                    time: one.frame.seconds(),
                    unlike,
                });
            }
        }
        if comparison.first.len() == Regard::ALL.len() {
            // Nothing is left to be found first.
            comparison.ticks = comparison.lengths[0].min(comparison.lengths[1]);
            return;
        }
    }
}

fn broken(why: &Unreadable) -> String {
    why.to_string()
}

type Named = (String, String, String);

/// What of two ticks is unlike in one regard.
fn unlike(regard: Regard, one: &Tick, other: &Tick, same_form: bool) -> Vec<Named> {
    let (a, b) = (&one.frame, &other.frame);
    match regard {
        Regard::World => world(one, other),
        Regard::Hands if a.controls == b.controls => Vec::new(),
        Regard::Hands => vec![(
            "hands".to_owned(),
            format!("{:?}", a.controls),
            format!("{:?}", b.controls),
        )],
        Regard::Readings => tell::readings_apart(&a.inputs, &b.inputs),
        Regard::State => {
            let mut rows = answers(one, other, STATE);
            if rows.is_empty() && same_form && one.state != other.state {
                let print = |state: Option<u32>| {
                    state.map_or_else(|| "no supply".to_owned(), |state| format!("{state:08x}"))
                };
                rows.push((
                    "behind what it shows".to_owned(),
                    print(one.state),
                    print(other.state),
                ));
            }
            rows
        }
        Regard::Permissions => answers(one, other, PERMISSIONS),
        Regard::Outputs => {
            let named = |name: &str| STATE.contains(&name) || PERMISSIONS.contains(&name);
            let rows = tell::differing(&a.outputs, &b.outputs).into_iter();
            rows.filter(|(name, ..)| !named(name) && !name.starts_with("events"))
                .map(|(name, a, b)| (name.to_owned(), a, b))
                .collect()
        }
    }
}

const STATE: &[&str] = &["state", "mode", "faults", "sounding"];
const PERMISSIONS: &[&str] = &["proven", "denials"];

fn answers(one: &Tick, other: &Tick, names: &[&str]) -> Vec<Named> {
    tell::differing(&one.frame.outputs, &other.frame.outputs)
        .into_iter()
        .filter(|(name, ..)| names.contains(name))
        .map(|(name, a, b)| (name.to_owned(), a, b))
        .collect()
}

fn world(one: &Tick, other: &Tick) -> Vec<Named> {
    let marks = |tick: &Tick| {
        let words: Vec<String> = tick.marks.iter().map(ToString::to_string).collect();
        if words.is_empty() {
            "nothing".to_owned()
        } else {
            words.join(", ")
        }
    };
    let mut rows = Vec::new();
    if one.marks != other.marks {
        rows.push(("in this tick".to_owned(), marks(one), marks(other)));
    }
    if one.frame.powered != other.frame.powered {
        let words = |powered: bool| if powered { "on" } else { "off" }.to_owned();
        rows.push((
            "supply".to_owned(),
            words(one.frame.powered),
            words(other.frame.powered),
        ));
    }
    rows
}

/// An event with what makes it the same event.
struct Event {
    key: String,
    entry: Entry,
}

/// What happened in a trace, as far as it can be read.
fn happened(trace: &Trace) -> Result<Vec<Event>, CannotCompare> {
    let scenario = trace.header().scenario();
    let scenario = scenario.map_err(|why| CannotCompare::Scenario {
        file: trace.file().to_owned(),
        why: Box::new(why),
    })?;
    let mut timeline = Timeline::default();
    let mut events = Vec::new();
    for tick in trace.ticks().map_while(Result::ok) {
        timeline.note(&tick.frame, tick.begun, &mut |note| {
            events.push(Event {
                key: key(&note.what, &scenario),
                entry: note.entry(&scenario),
            });
        });
        for fault in tick.marks.iter().filter_map(|mark| given(trace, mark)) {
            #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
            let time = tick.frame.tick as f64 * TICK;
            events.push(Event {
                key: fault.clone(),
                entry: Entry {
                    time,
                    phase: crate::report::words::phase(&tick.frame),
                    kind: Kind::Fault,
                    text: fault,
                },
            });
        }
    }
    Ok(events)
}

/// A fault that began and that no scenario ordered, in words.
fn given(trace: &Trace, mark: &super::Mark) -> Option<String> {
    match *mark {
        super::Mark::FaultBegan(number) if number as usize >= trace.header().scenario.faults => {
            let fault = trace.fault(number)?;
            Some(format!("{fault}. {}", fault.entry().sentence()))
        }
        super::Mark::FaultBegan(_)
        | super::Mark::FaultEnded(_)
        | super::Mark::ActionBegan(_)
        | super::Mark::BitFlipped(_) => None,
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
fn aligned(a: &[Event], b: &[Event]) -> Vec<Row> {
    let keys = |events: &[Event]| -> Vec<String> {
        events.iter().map(|event| event.key.clone()).collect()
    };
    let mut rows = Vec::new();
    for part in capture_diff_slices(Algorithm::Myers, &keys(a), &keys(b)) {
        let (tag, of_a, of_b) = part.as_tag_tuple();
        match tag {
            DiffTag::Equal => {
                for (one, other) in a[of_a].iter().zip(&b[of_b]) {
                    rows.push(row(
                        &one.entry,
                        [Some(one.entry.time), Some(other.entry.time)],
                    ));
                }
            }
            DiffTag::Delete | DiffTag::Insert | DiffTag::Replace => {
                let mut apart: Vec<Row> = a[of_a]
                    .iter()
                    .map(|event| row(&event.entry, [Some(event.entry.time), None]))
                    .chain(
                        b[of_b]
                            .iter()
                            .map(|event| row(&event.entry, [None, Some(event.entry.time)])),
                    )
                    .collect();
                let time = |row: &Row| row.times[0].or(row.times[1]).unwrap_or_default();
                apart.sort_by(|one, other| time(one).total_cmp(&time(other)));
                rows.append(&mut apart);
            }
        }
    }
    rows
}

fn row(entry: &Entry, times: [Option<f64>; 2]) -> Row {
    Row {
        times,
        kind: entry.kind,
        text: entry.text.clone(),
    }
}
