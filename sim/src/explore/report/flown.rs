//! Whether the full world comes to what a story tells.

use std::fmt;

use serde::Serialize;

use crate::flight::{Flight, Outcome};
use crate::join::take_off;
use crate::report::words;
use crate::scenario::Scenario;

/// What came of a scenario in the full world.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flown {
    /// The same is broken.
    Reproduced {
        /// When, s.
        at: f64,
        /// How.
        why: String,
    },
    /// It is not.
    NotSo {
        /// How it ended.
        ended: String,
        /// What else was broken.
        broken: Vec<String>,
        /// What was ordered and never began.
        never_began: usize,
    },
}

/// Flies a scenario and looks at what became of `id`.
#[must_use]
pub fn fly(id: &str, scenario: &Scenario) -> Flown {
    fly_in(id, scenario, &mut take_off(scenario, scenario.seed))
}

/// Likewise, in a flight of the scenario that has not begun.
#[must_use]
pub fn fly_in(id: &str, scenario: &Scenario, flight: &mut impl Flight) -> Flown {
    let report = crate::report::fly(scenario, scenario.seed, "", flight, |_| {});
    let rows = report.verdict.hazards.iter();
    let rows = || rows.clone().chain(&report.verdict.requirements);
    if let Some(Outcome::Broken { at, why }) = rows()
        .find(|row| row.id == id)
        .map(|row| row.outcome.clone())
    {
        return Flown::Reproduced { at, why };
    }
    let broken = rows().filter(|row| matches!(row.outcome, Outcome::Broken { .. }));
    let state = flight.frame().outputs.indications.state;
    Flown::NotSo {
        ended: words::state(state),
        broken: broken.map(|row| row.id.clone()).collect(),
        never_began: report.never_began.len(),
    }
}

impl fmt::Display for Flown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reproduced { at, why } => {
                write!(f, "the full world reproduces it at {at:.2} s: {why}")
            }
            Self::NotSo {
                ended,
                broken,
                never_began,
            } => {
                write!(f, "the plant cannot do it, or not so: it ended as {ended}")?;
                if *never_began > 0 {
                    write!(f, "; {never_began} ordered things never began")?;
                }
                if !broken.is_empty() {
                    write!(f, "; broken instead: {}", broken.join(", "))?;
                }
                Ok(())
            }
        }
    }
}
