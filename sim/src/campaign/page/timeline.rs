//! A cell flown again and drawn: mast, shaft and bus in plant truth, the states of the
//! controller, and when the fault began, was told of, was answered and did harm.

use std::collections::BTreeMap;

use askama::Template;
use mastwright_core::Sequencer;

use super::Refused;
use super::worst::Why;
use crate::campaign::base::Base;
use crate::campaign::cell::Cell;
use crate::campaign::mission::MISSIONS;
use crate::campaign::plan;
use crate::campaign::record::{Record, Ticks};
use crate::report::number::round_up;
use crate::report::words;
use crate::scenario::quantity::Quantity;

/// Ticks drawn before the onset: 2 s.
const LEAD: u64 = 200;
/// Ticks drawn after the last event: 3 s.
const AFTER: u64 = 300;
/// Least ticks drawn after the onset: 8 s.
const LEAST: u64 = 800;

/// Left and right edge of the lanes, units of the drawing.
const LEFT: f64 = 64.0;
const RIGHT: f64 = 630.0;
/// Bottom of the drawing.
const BOTTOM: usize = 337;
/// Top of the first lane, height of a lane, and from one lane to the next.
const LANES: f64 = 110.0;
const LANE: f64 = 56.0;
const PITCH: f64 = 68.0;
/// Width of a letter of the state's names.
const LETTER: f64 = 5.6;
/// Marks nearer than this stand above one another.
const CROWDED: f64 = 13.0;
/// From one such row to the next, and the room there is for all of them.
const ROW: usize = 14;
const HEADROOM: usize = 44 + 3 * ROW;
/// Columns into which the samples are gathered.
const COLUMNS: f64 = 280.0;

/// What the lanes show, the unit, and where the scale must at least reach.
const SHOWN: [(Quantity, &str, f64); 3] = [
    (Quantity::Mast, "mast, %", 100.0),
    (Quantity::Propeller, "shaft, rpm", 100.0),
    (Quantity::Bus, "bus, V", 100.0),
];

/// A cell of the worst, drawn.
pub(super) struct Drawing {
    /// Why it is among the worst.
    pub(super) why: Why,
    /// Its record in the table.
    pub(super) record: Record,
    /// What stands at its marks, in words and in order of time.
    pub(super) events: Vec<String>,
    /// This build flies it as the table says.
    pub(super) same: bool,
    /// The drawing.
    pub(super) svg: String,
}

/// One tick.
struct Sample {
    tick: u64,
    state: &'static str,
    values: [f64; 3],
}

struct Lane {
    name: &'static str,
    top: f64,
    bottom: f64,
    greatest: String,
    line: String,
}

struct Stay {
    x: String,
    width: String,
    middle: String,
    name: &'static str,
    told: bool,
    odd: bool,
}

struct Mark {
    letter: char,
    x: String,
    y: usize,
}

struct Rule {
    x: String,
    text: String,
}

#[derive(Template)]
#[template(path = "timeline.svg")]
struct Plot {
    id: String,
    title: String,
    words: String,
    lanes: Vec<Lane>,
    stays: Vec<Stay>,
    marks: Vec<Mark>,
    rules: Vec<Rule>,
    /// Where the drawing begins: above the highest row of marks.
    above: usize,
    height: usize,
}

/// Flies each of `cells` again and draws it.
pub(super) fn draw(cells: &[(Why, &Record)], seed: u64) -> Result<Vec<Drawing>, Refused> {
    let mut bases: BTreeMap<usize, Base<Sequencer>> = BTreeMap::new();
    let mut drawings = Vec::new();
    for (number, (why, record)) in cells.iter().enumerate() {
        let cell: Cell = record
            .cell
            .parse()
            .map_err(|error| Refused::Cell(format!("{error}")))?;
        let scenario = MISSIONS[cell.mission]
            .scenario()
            .map_err(|problem| Refused::Cell(format!("{problem}")))?;
        if cell.onset() >= scenario.ticks {
            return Err(Refused::Cell(format!("{}: begins too late", record.cell)));
        }
        let base = bases
            .entry(cell.mission)
            .or_insert_with(|| Base::fly(scenario, seed));
        let flown = plan::fly_alone(base, &cell);
        let again = Record {
            instant: record.instant.clone(),
            frozen_harm_after: record.frozen_harm_after,
            blind_harm_after: record.blind_harm_after,
            ..flown.record
        };
        let samples = samples(base, &cell, last_drawn(record).min(flown.length));
        drawings.push(Drawing {
            why: *why,
            record: (*record).clone(),
            events: events(record)
                .into_iter()
                .map(|event| event.words)
                .collect(),
            same: again == **record,
            svg: plot(number, record, &samples)?,
        });
    }
    Ok(drawings)
}

/// Something that is marked.
struct Event {
    after: u64,
    letter: char,
    words: String,
}

/// What is marked, in order of time.
fn events(record: &Record) -> Vec<Event> {
    let event = |letter, time: Option<Ticks>, what: String| {
        time.map(|after| Event {
            after: after.0,
            letter,
            words: format!("{letter} {what} after {after} s"),
        })
    };
    let withheld = "harm, had the outputs been frozen,".to_owned();
    let mut events: Vec<Event> = [
        event(
            'D',
            record.detected_after,
            format!("told of by {}", record.detected_by),
        ),
        event(
            'R',
            record.reacted_after,
            "first drives otherwise".to_owned(),
        ),
        event(
            'B',
            record.broken_after,
            format!("requirement broken ({})", record.requirements),
        ),
        event('H', record.harm_after, format!("harm ({})", record.hazards)),
        event('W', record.frozen_harm_after, withheld),
    ]
    .into_iter()
    .flatten()
    .collect();
    events.sort_by_key(|event| event.after);
    events.insert(
        0,
        Event {
            after: 0,
            letter: 'F',
            words: format!("F fault begins at {} s of the mission", record.onset),
        },
    );
    events
}

/// The last tick drawn of a cell that goes on long enough.
fn last_drawn(record: &Record) -> u64 {
    let last = events(record).iter().map(|event| event.after).max();
    record.onset.0 + (last.unwrap_or(0) + AFTER).max(LEAST)
}

fn samples(base: &Base<Sequencer>, cell: &Cell, end: u64) -> Vec<Sample> {
    let mut flown = base.at(cell.onset().saturating_sub(LEAD));
    let mut due = cell.faults.iter().peekable();
    let mut samples = Vec::new();
    while flown.tick < end {
        while let Some(ordered) = due.next_if(|ordered| ordered.tick <= flown.tick) {
            flown.world.inject(ordered.fault, base.seed);
        }
        let frame = flown.step();
        samples.push(Sample {
            tick: frame.tick,
            state: words::phase(frame),
            values: SHOWN.map(|(quantity, ..)| quantity.read(frame)),
        });
    }
    samples
}

/// The axis of time: ticks between the edges of the drawing.
#[derive(Clone, Copy)]
struct Axis {
    from: u64,
    to: u64,
}

impl Axis {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
    fn x(self, tick: u64) -> f64 {
        let along = tick.saturating_sub(self.from) as f64 / (self.to - self.from).max(1) as f64;
        LEFT + along.min(1.0) * (RIGHT - LEFT)
    }
}

fn plot(number: usize, record: &Record, samples: &[Sample]) -> askama::Result<String> {
    let axis = Axis {
        from: samples.first().map_or(0, |sample| sample.tick),
        to: samples.last().map_or(1, |sample| sample.tick),
    };
    let events = events(record);
    let words: Vec<&str> = events.iter().map(|event| event.words.as_str()).collect();
    let marks = marks(&events, record.onset.0, axis);
    let above = marks.iter().map(|mark| mark.y).min().unwrap_or(0) - ROW / 2 - 1;
    Plot {
        above,
        height: BOTTOM - above,
        id: format!("w{number}"),
        title: format!("Flight of {}", record.cell),
        words: format!("{}.", words.join("; ")),
        lanes: (0..SHOWN.len())
            .map(|lane| draw_lane(lane, samples, axis))
            .collect(),
        stays: stays(samples, axis),
        marks,
        rules: rules(record.onset.0, axis),
    }
    .render()
}

fn draw_lane(lane: usize, samples: &[Sample], axis: Axis) -> Lane {
    let (_, name, least) = SHOWN[lane];
    let values = samples.iter().map(|sample| sample.values[lane]);
    let greatest = round_up(values.fold(least, f64::max));
    let lanes: [f64; 3] = [0.0, 1.0, 2.0];
    let top = LANES + lanes[lane] * PITCH;
    let y = |value: f64| top + LANE * (1.0 - (value / greatest).clamp(0.0, 1.0));
    let column = (RIGHT - LEFT) / COLUMNS;
    let mut line = String::new();
    let mut rest = samples;
    while let Some(first) = rest.first() {
        let x = axis.x(first.tick);
        let many = rest
            .partition_point(|sample| axis.x(sample.tick) < x + column)
            .max(1);
        let (here, next) = rest.split_at(many);
        let values = here.iter().map(|sample| sample.values[lane]);
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        line += &format!("{x:.1},{:.1} ", y(low));
        if high > low {
            line += &format!("{x:.1},{:.1} ", y(high));
        }
        rest = next;
    }
    Lane {
        name,
        top,
        bottom: top + LANE,
        greatest: format!("{greatest:.0}"),
        line: line.trim_end().to_owned(),
    }
}

/// The stretches of one state.
fn stays(samples: &[Sample], axis: Axis) -> Vec<Stay> {
    let same = samples.chunk_by(|one, next| one.state == next.state);
    let mut odd = false;
    same.map(|stay| {
        odd = !odd;
        let from = axis.x(stay[0].tick);
        let to = axis.x(stay.last().map_or(0, |last| last.tick + 1));
        let name = stay[0].state;
        #[expect(clippy::cast_precision_loss, reason = "letters of a name")]
        let room = name.len() as f64 * LETTER;
        Stay {
            x: format!("{from:.1}"),
            width: format!("{:.1}", to - from),
            middle: format!("{:.1}", f64::midpoint(from, to)),
            name,
            told: room < to - from,
            odd,
        }
    })
    .collect()
}

fn marks(events: &[Event], onset: u64, axis: Axis) -> Vec<Mark> {
    let mut taken: Vec<f64> = Vec::new();
    events
        .iter()
        .map(|event| {
            let x = axis.x(onset + event.after);
            let free = taken.iter().position(|last| x - last >= CROWDED);
            let row = free.unwrap_or(taken.len());
            if row == taken.len() {
                taken.push(x);
            } else {
                taken[row] = x;
            }
            Mark {
                letter: event.letter,
                x: format!("{x:.1}"),
                y: HEADROOM - 8 - row * ROW,
            }
        })
        .collect()
}

/// Lines at full seconds from the onset, not more than ten.
fn rules(onset: u64, axis: Axis) -> Vec<Rule> {
    let steps = [1, 2, 5, 10, 20, 50, 100];
    let span = (axis.to - axis.from) / 100;
    let step = steps
        .into_iter()
        .find(|step| span / step <= 10)
        .unwrap_or(200);
    (0..=10)
        .map(|number| number * step)
        .take_while(|second| onset + second * 100 <= axis.to)
        .map(|second| Rule {
            x: format!("{:.1}", axis.x(onset + second * 100)),
            text: second.to_string(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_of_this_build_is_drawn_as_its_table_says_and_one_that_is_not_is_marked() {
        let scenario = MISSIONS[0].scenario().expect("in order");
        let base = Base::<Sequencer>::fly(scenario, 1);
        let cell: Cell = "ground-cycle@600/mechanics.mast-jam/acts"
            .parse()
            .expect("a cell");
        let record = plan::fly_alone(&base, &cell).record;
        let other = Record {
            final_state: "Stowed-by-magic".to_owned(),
            ..record.clone()
        };
        let drawn = draw(&[(Why::Margin, &record), (Why::Margin, &other)], 1).expect("drawn");
        assert!(drawn[0].same && !drawn[1].same);
        assert!(drawn[0].svg.contains("Flight of ground-cycle@600/"));
        assert!(drawn[0].events[0].starts_with("F fault begins at 6.00 s"));
    }
}
