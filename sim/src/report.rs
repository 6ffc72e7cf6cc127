//! Telling what happened in a flight, for people and for programs.

pub mod layout;
pub mod number;
pub mod paint;
pub mod text;
pub mod timeline;
pub mod why;
pub mod witness;
pub mod words;

use serde::Serialize;

use crate::flight::{Begun, Flight, Verdict};
use crate::frame::Frame;
use crate::scenario::Scenario;
use crate::scenario::expect::{Finding, Watch};
use timeline::{Entry, Timeline};

/// Stands where a report ends, in text and in JSON.
pub const CAUTION: &str = "Bench and training tool; not certified, not airworthy. Local codes, the \
    flight manual and licensed practice come first. Keep clear of propellers.";

/// Everything about one flight.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// The scenario's name.
    pub scenario: String,
    /// Its title.
    pub title: String,
    /// The seed it was flown with.
    pub seed: u64,
    /// All held, and everything came as expected.
    pub good: bool,
    /// The command that flies it again.
    pub replay: String,
    /// What happened, in order.
    pub timeline: Vec<Entry>,
    /// What the scenario ordered and what never began, its moment not having come.
    pub never_began: Vec<String>,
    /// How it ended.
    pub end: End,
    /// The oracle's verdict.
    pub verdict: Verdict,
    /// What the scenario expected, and what came instead.
    pub expectations: Vec<Finding>,
    /// What no report may be read without.
    pub caution: &'static str,
}

/// How a flight ended, in plant truth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct End {
    /// When, s.
    pub time: f64,
    /// State of the controller.
    pub state: &'static str,
    /// Mast travel, %.
    pub mast: f64,
    /// Door opening, %.
    pub doors: f64,
    /// Shaft speed, rpm.
    pub propeller: f64,
    /// Bus voltage, V.
    pub bus: f64,
    /// Height above the field, m.
    pub height: f64,
    /// Airspeed, m/s.
    pub airspeed: f64,
}

/// Flies a scenario to its end. `told` hears each entry of the timeline as it comes.
pub fn fly(
    scenario: &Scenario,
    seed: u64,
    replay: &str,
    flight: &mut impl Flight,
    mut told: impl FnMut(&Entry),
) -> Report {
    let mut timeline = Timeline::default();
    let mut watch = Watch::new(&scenario.expect);
    let mut entries = Vec::new();
    let mut begun = Begun::default();
    for _ in 0..scenario.ticks {
        flight.step();
        watch.see(flight.frame());
        let new = flight.begun();
        new.actions
            .iter()
            .for_each(|index| begun.actions.add(index));
        new.faults.iter().for_each(|index| begun.faults.add(index));
        let before = entries.len();
        timeline.see(flight.frame(), new, scenario, &mut entries);
        entries[before..].iter().for_each(&mut told);
    }
    flight.landed();
    let verdict = flight.verdict();
    let expectations = watch.findings(&verdict.exercised());
    Report {
        scenario: scenario.name.clone(),
        title: scenario.title.clone(),
        seed,
        good: verdict.broken() == 0 && expectations.iter().all(|found| found.instead.is_none()),
        replay: replay.to_owned(),
        timeline: entries,
        never_began: never_began(scenario, begun),
        end: End::of(flight.frame()),
        verdict,
        expectations,
        caution: CAUTION,
    }
}

/// The actions and faults of `scenario` that are not among `begun`, by their number in
/// the file.
pub(crate) fn never_began(scenario: &Scenario, begun: Begun) -> Vec<String> {
    let actions = scenario.actions.iter().enumerate();
    let actions = actions
        .filter(|(index, _)| !begun.actions.contains(*index))
        .map(|(index, action)| format!("action {}: {}", index + 1, action.words));
    let faults = scenario.faults.iter().enumerate();
    let faults = faults
        .filter(|(index, _)| !begun.faults.contains(*index))
        .map(|(index, fault)| format!("fault {}: {}", index + 1, fault.words()));
    actions.chain(faults).collect()
}

impl End {
    /// It in words, without when.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "{}; mast {:.0} %, doors {:.0} %, propeller {:.0} rpm, bus {:.0} V, height {:.0} m, \
             airspeed {:.0} m/s",
            self.state, self.mast, self.doors, self.propeller, self.bus, self.height, self.airspeed
        )
    }

    /// What holds in `frame`, the last of a flight.
    #[must_use]
    pub fn of(frame: &Frame) -> Self {
        use crate::scenario::quantity::Quantity;
        Self {
            time: frame.seconds(),
            state: words::phase(frame),
            mast: Quantity::Mast.read(frame),
            doors: Quantity::Doors.read(frame),
            propeller: Quantity::Propeller.read(frame),
            bus: Quantity::Bus.read(frame),
            height: Quantity::Height.read(frame),
            airspeed: Quantity::Airspeed.read(frame),
        }
    }
}
