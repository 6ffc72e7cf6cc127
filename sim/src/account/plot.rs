//! The flight as a drawing: states, what was measured in plant truth, injected faults and
//! alerts, over one axis of time.

use askama::Template;
use mastwright_core::fault::Class;

use super::{Account, Stretch};
use crate::frame::{Frame, TICK};
use crate::report::number::round_up;
use crate::report::words;
use crate::scenario::quantity::Quantity;

/// Columns into which the ticks are gathered: each keeps the least and the greatest.
const COLUMNS: u64 = 320;
/// Left and right edge of what is drawn over time, units of the drawing.
const LEFT: f64 = 64.0;
const RIGHT: f64 = 712.0;
/// Top of the first lane, below the row of states.
const LANES: f64 = 36.0;
/// Height of a lane, and from one lane to the next.
const LANE: f64 = 52.0;
const PITCH: f64 = 64.0;
/// From one bar to the next.
const BAR: f64 = 26.0;
/// Width of a letter of the smaller script.
const LETTER: f64 = 5.6;
/// Bars of alerts, or of faults, that are drawn at most; the tables hold all of them.
const BARS: usize = 12;

/// What the lanes show, the unit, and where the scale must at least reach.
const SHOWN: [(Quantity, &str, f64); 5] = [
    (Quantity::Mast, "mast, %", 100.0),
    (Quantity::Doors, "doors, %", 100.0),
    (Quantity::Propeller, "shaft, rpm", 100.0),
    (Quantity::Bus, "bus, V", 100.0),
    (Quantity::Airspeed, "air, m/s", 10.0),
];

/// What is measured, gathered into columns.
#[derive(Debug)]
pub(super) struct Samples {
    ticks: u64,
    columns: Vec<[Option<(f64, f64)>; SHOWN.len()]>,
}

impl Samples {
    pub(super) fn new(ticks: u64) -> Self {
        let columns = usize::try_from(COLUMNS.min(ticks.max(1))).unwrap_or(1);
        Self {
            ticks: ticks.max(1),
            columns: vec![[None; SHOWN.len()]; columns],
        }
    }

    pub(super) fn add(&mut self, frame: &Frame) {
        let many = self.columns.len() as u64;
        let index = usize::try_from(frame.tick * many / self.ticks).unwrap_or(usize::MAX);
        let Some(column) = self.columns.get_mut(index) else {
            return;
        };
        for ((quantity, ..), place) in SHOWN.iter().zip(column) {
            let value = quantity.read(frame);
            let (low, high) = place.unwrap_or((value, value));
            *place = Some((low.min(value), high.max(value)));
        }
    }
}

struct Lane {
    name: &'static str,
    top: f64,
    bottom: f64,
    greatest: String,
    lines: Vec<String>,
}

struct State {
    x: String,
    width: String,
    middle: String,
    name: &'static str,
    told: bool,
    odd: bool,
}

struct Bar {
    x: String,
    width: String,
    y: f64,
    label: String,
    label_x: String,
    at_end: bool,
    kind: &'static str,
}

struct Rule {
    x: String,
    text: String,
}

#[derive(Template)]
#[template(path = "report.svg")]
struct Plot {
    title: String,
    words: String,
    height: f64,
    bottom: f64,
    states: Vec<State>,
    lanes: Vec<Lane>,
    bars: Vec<Bar>,
    rules: Vec<Rule>,
}

/// Where a tick stands on the axis of time.
#[derive(Clone, Copy)]
struct Axis(u64);

impl Axis {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
    fn x(self, tick: u64) -> f64 {
        LEFT + tick as f64 / self.0 as f64 * (RIGHT - LEFT)
    }

    fn span(self, during: Stretch) -> (f64, f64) {
        let (from, to) = (self.x(during.from), self.x(during.to));
        // The shortest is still to be seen.
        (from, (to - from).max(1.5))
    }
}

/// Draws the flight.
pub(super) fn draw(account: &Account<'_>) -> askama::Result<String> {
    let axis = Axis(account.samples.ticks);
    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    let first = LANES + SHOWN.len() as f64 * PITCH + 4.0;
    let bars = bars(account, axis, first);
    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    let bottom = first + bars.len() as f64 * BAR;
    Plot {
        title: format!("Flight of {}", account.trace.header().scenario.name),
        words: in_words(account),
        height: bottom + 34.0,
        bottom,
        states: states(account, axis),
        lanes: (0..SHOWN.len())
            .map(|lane| draw_lane(lane, &account.samples))
            .collect(),
        bars,
        rules: rules(axis),
    }
    .render()
}

/// What the drawing shows, for who cannot see it.
fn in_words(account: &Account<'_>) -> String {
    let stays = account.stays.iter().map(|stay| {
        let from = seconds(stay.during.from);
        format!("{} from {from:.1} s", stay.state)
    });
    let states: Vec<String> = stays.collect();
    format!(
        "States of the controller: {}. Below them mast, doors, shaft, bus and airspeed in plant \
         truth; then injected faults and alerts as bars. The tables hold the same in figures.",
        states.join(", ")
    )
}

#[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
fn seconds(tick: u64) -> f64 {
    tick as f64 * TICK
}

fn states(account: &Account<'_>, axis: Axis) -> Vec<State> {
    let stays = account.stays.iter().enumerate();
    stays
        .map(|(number, stay)| {
            let (x, width) = axis.span(stay.during);
            #[expect(clippy::cast_precision_loss, reason = "letters of a name")]
            let room = (stay.state.len() + 1) as f64 * LETTER;
            State {
                x: format!("{x:.1}"),
                width: format!("{width:.1}"),
                middle: format!("{:.1}", x + width / 2.0),
                name: stay.state,
                told: room < width,
                odd: number % 2 == 1,
            }
        })
        .collect()
}

/// Injected faults, then alerts.
fn bars(account: &Account<'_>, axis: Axis, top: f64) -> Vec<Bar> {
    let faults = account.faults.iter().take(BARS).map(|fault| {
        let label = format!("fault {}: {}", fault.number, fault.words);
        (fault.during, label, "fault")
    });
    let alerts = account.alerts.iter().take(BARS).map(|alert| {
        let class = alert.fault.class();
        let label = format!("{}: {}", words::class(class), words::fault(alert.fault));
        let kind = match class {
            Class::Warning => "warning",
            Class::Caution => "caution",
            Class::Advisory => "advisory",
        };
        (alert.during, label, kind)
    });
    let all = faults.chain(alerts).enumerate();
    all.map(|(number, (during, label, kind))| {
        let (x, width) = axis.span(during);
        #[expect(
            clippy::cast_precision_loss,
            reason = "a handful, and letters of a label"
        )]
        let (row, room) = (number as f64, label.chars().count() as f64 * LETTER);
        let at_end = x + room > RIGHT;
        // A label longer than the drawing begins at its left edge.
        let label_x = if at_end {
            (x + width).max(room).min(RIGHT)
        } else {
            x
        };
        Bar {
            x: format!("{x:.1}"),
            width: format!("{width:.1}"),
            y: top + row * BAR,
            label,
            label_x: format!("{label_x:.1}"),
            at_end,
            kind,
        }
    })
    .collect()
}

fn draw_lane(lane: usize, samples: &Samples) -> Lane {
    let (_, name, least) = SHOWN[lane];
    let there = samples.columns.iter().filter_map(|column| column[lane]);
    let greatest = round_up(there.map(|(_, high)| high).fold(least, f64::max));
    #[expect(clippy::cast_precision_loss, reason = "a handful")]
    let top = LANES + lane as f64 * PITCH;
    let y = |value: f64| top + LANE * (1.0 - (value / greatest).clamp(0.0, 1.0));
    #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
    let step = (RIGHT - LEFT) / samples.columns.len() as f64;
    let mut lines = vec![String::new()];
    for (number, column) in samples.columns.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
        let x = LEFT + (number as f64 + 0.5) * step;
        let Some((low, high)) = column[lane] else {
            // Where nothing is known no line is drawn.
            lines.push(String::new());
            continue;
        };
        let line = lines.last_mut().expect("there is always one");
        *line += &format!("{x:.1},{:.1} ", y(low));
        if high > low {
            *line += &format!("{x:.1},{:.1} ", y(high));
        }
    }
    lines.retain(|line| !line.is_empty());
    Lane {
        name,
        top,
        bottom: top + LANE,
        greatest: format!("{greatest:.0}"),
        lines,
    }
}

/// Lines at full seconds, not more than ten.
fn rules(axis: Axis) -> Vec<Rule> {
    let steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
    let span = axis.0 / 100;
    let step = steps.into_iter().find(|step| span / step <= 10);
    let step = step.unwrap_or(2000);
    (0..=10)
        .map(|number| number * step)
        .take_while(|second| second * 100 <= axis.0)
        .map(|second| Rule {
            x: format!("{:.1}", axis.x(second * 100)),
            text: second.to_string(),
        })
        .collect()
}
