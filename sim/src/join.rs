//! Where the parts meet: scenarios and the fault catalogue, flights and the oracle.

use std::str::FromStr;

use crate::faults::{Fault, Kind, Refusal, Target, catalogue};
use crate::flight::{Begun, Flight, Outcome, Row, Verdict};
use crate::frame::{Frame, TICK};
use crate::oracle::{self, HAZARDS, Judgement, Limits, Oracle, REQUIREMENTS};
use crate::scenario::Scenario;
use crate::scenario::injection::Injection;
use crate::world::{Controller, World};

/// The part of an ordered fault that was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What fails.
    Target,
    /// How.
    Kind,
    /// How much.
    Strength,
    /// For how long.
    Duration,
    /// How often it comes and goes.
    Cycle,
}

/// Why an ordered fault is refused, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaultRefusal {
    /// What was refused.
    pub part: Part,
    /// Why.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

const LISTED: &str = "`mastwright list faults` shows every target and how it can fail";

/// The fault that a scenario orders.
///
/// # Errors
/// The part that the catalogue does not know or its target cannot have.
pub fn fault(order: &Injection) -> Result<Fault, FaultRefusal> {
    let unknown = |part, error: crate::faults::Unknown| FaultRefusal {
        part,
        message: error.to_string(),
        remedy: LISTED.to_owned(),
    };
    let target = Target::from_str(&order.target).map_err(|e| unknown(Part::Target, e))?;
    let kind = Kind::from_str(&order.kind).map_err(|e| unknown(Part::Kind, e))?;
    let fault =
        Fault::new(target, kind, order.strength, order.duration).map_err(|e| refused(&e))?;
    match order.cycle {
        Some(cycle) => fault.with_cycle(cycle).map_err(|e| refused(&e)),
        None => Ok(fault),
    }
}

fn refused(refusal: &Refusal) -> FaultRefusal {
    let part = match refusal {
        Refusal::Kind { .. } => Part::Kind,
        Refusal::Strength { .. } => Part::Strength,
        Refusal::Needless { property, .. } | Refusal::Time { property, .. } => match *property {
            "strength" => Part::Strength,
            "duration" => Part::Duration,
            _ => Part::Cycle,
        },
    };
    FaultRefusal {
        part,
        message: refusal.to_string(),
        remedy: LISTED.to_owned(),
    }
}

/// Every fault that can be ordered: its target and kind, and what it does.
#[must_use]
pub fn fault_rows() -> Vec<(String, String)> {
    catalogue()
        .map(|entry| {
            let strength = entry.strength.map_or_else(String::new, |scale| {
                format!(
                    " Strength {} to {} {}, {} unless given.",
                    scale.min, scale.max, scale.unit, scale.default
                )
            });
            (
                format!("{} {}", entry.target, entry.kind),
                format!("{}{strength}", entry.sentence()),
            )
        })
        .collect()
}

/// A world and the oracle that judges it.
#[derive(Clone, Debug)]
pub struct Judged<C = mastwright_core::Sequencer> {
    world: World<C>,
    oracle: Oracle,
}

impl<C: Controller> Judged<C> {
    /// Judges `world` from its first tick on.
    #[must_use]
    pub fn new(world: World<C>) -> Self {
        Self {
            world,
            oracle: Oracle::new(&Limits::default()),
        }
    }

    /// The world.
    #[must_use]
    pub const fn world(&self) -> &World<C> {
        &self.world
    }

    /// The world, to act on between two ticks.
    pub const fn world_mut(&mut self) -> &mut World<C> {
        &mut self.world
    }

    /// What has judged it so far.
    #[must_use]
    pub const fn oracle(&self) -> &Oracle {
        &self.oracle
    }
}

/// The world of a scenario, judged, ready for its first tick.
#[must_use]
pub fn take_off(scenario: &Scenario, seed: u64) -> Judged {
    Judged::new(World::new(scenario, seed))
}

impl<C: Controller> Flight for Judged<C> {
    fn step(&mut self) {
        self.oracle.judge(self.world.step());
    }

    fn frame(&self) -> &Frame {
        self.world.frame()
    }

    fn begun(&self) -> Begun {
        Begun {
            actions: self.world.started_actions(),
            faults: self.world.started_faults(),
        }
    }

    fn verdict(&self) -> Verdict {
        verdict(&self.oracle)
    }
}

/// What an oracle found up to now, with the words of what it judges.
#[must_use]
pub fn verdict(oracle: &Oracle) -> Verdict {
    let verdict = oracle.finish();
    Verdict {
        hazards: verdict
            .hazards
            .iter()
            .zip(HAZARDS)
            .map(|(line, hazard)| row(line, hazard.title, hazard.statement))
            .collect(),
        requirements: verdict
            .requirements
            .iter()
            .zip(REQUIREMENTS)
            .map(|(line, required)| row(line, required.title, required.statement))
            .collect(),
    }
}

fn row(judgement: &Judgement, title: &str, statement: &str) -> Row {
    Row {
        id: judgement.id.to_owned(),
        title: title.to_owned(),
        statement: statement.to_owned(),
        outcome: outcome(&judgement.outcome),
    }
}

fn outcome(outcome: &oracle::Outcome) -> Outcome {
    match outcome {
        oracle::Outcome::Held { .. } => Outcome::Held,
        oracle::Outcome::NotExercised => Outcome::NotExercised,
        oracle::Outcome::Broken { first, .. } => {
            #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
            let at = first.tick as f64 * TICK;
            let measured = first
                .measured
                .map(|measured| format!(" ({:.3} {})", measured.value, measured.unit))
                .unwrap_or_default();
            Outcome::Broken {
                at,
                why: format!("{}{measured}", first.what),
            }
        }
        oracle::Outcome::ByTest { place } => Outcome::JudgedElsewhere {
            by: (*place).to_owned(),
        },
    }
}
