//! A flight: a scenario's world, tick by tick, whoever steps it.

use crate::frame::Frame;
use crate::scenario::script::Marks;

/// A world that can be stepped and judged.
pub trait Flight {
    /// Moves on by one tick.
    fn step(&mut self);

    /// The frame of the tick last stepped.
    fn frame(&self) -> &Frame;

    /// What the scenario began in that tick.
    fn begun(&self) -> Begun;

    /// The oracle's verdict on everything up to and with that tick.
    fn verdict(&self) -> Verdict;

    /// The flight is over: it is not stepped any more.
    fn landed(&mut self) {}
}

/// What a scenario began in one tick, by index in the scenario.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Begun {
    /// Actions.
    pub actions: Marks,
    /// Faults.
    pub faults: Marks,
}

/// What an oracle found in a flight.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Verdict {
    /// Hazards, judged in plant truth.
    pub hazards: Vec<Row>,
    /// Safety requirements.
    pub requirements: Vec<Row>,
}

/// One requirement or hazard, judged.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Row {
    /// Its id.
    pub id: String,
    /// What it is about, in one line.
    pub title: String,
    /// What it says.
    pub statement: String,
    /// What became of it.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What became of a requirement or hazard.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case", tag = "outcome")]
pub enum Outcome {
    /// It was put to the test and held.
    Held,
    /// It was broken.
    Broken {
        /// When first, s.
        at: f64,
        /// How.
        why: String,
    },
    /// Nothing put it to the test.
    NotExercised,
    /// Nothing of it shows in a flight.
    JudgedElsewhere {
        /// What judges it.
        by: String,
    },
}

impl Verdict {
    /// Hazards, then requirements.
    pub fn rows(&self) -> impl Iterator<Item = &Row> {
        self.hazards.iter().chain(&self.requirements)
    }

    /// How many rows were broken.
    #[must_use]
    pub fn broken(&self) -> usize {
        self.rows()
            .filter(|row| matches!(row.outcome, Outcome::Broken { .. }))
            .count()
    }

    /// The ids of what was put to the test, broken or not.
    #[must_use]
    pub fn exercised(&self) -> Vec<&str> {
        self.rows()
            .filter(|row| matches!(row.outcome, Outcome::Held | Outcome::Broken { .. }))
            .map(|row| row.id.as_str())
            .collect()
    }
}
