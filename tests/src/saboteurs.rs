//! Saboteurs: controllers that are wrong on purpose, to show that wrong ones are caught.
//!
//! Responsibilities:
//! 1. For each safety requirement, and each hazard where one is natural, at least one
//!    controller, configuration, board or journal that breaks it, in few lines.
//! 2. The scene in which that shows, or the check that must find it.
//! 3. The same trial for the honest one, which must pass it, so that a check that
//!    complains of everything catches nothing.
//!
//! A saboteur of a controller wraps the real one. It believes a lie, drives what was not
//! permitted, tells what is not so, or has wrong limits; all else is as it should be.
//! Adding one is adding an entry to the table of its subject.

pub mod board;
pub mod explored;
pub mod flown;
mod heat;
mod high_voltage;
pub mod journal;
mod motion;
mod proof;
pub mod scenes;
mod thrust;
pub mod totality;
pub mod way_out;

use mastwright_core::{Faults, Outputs};
use mastwright_sim::oracle::{Outcome, Verdict};
use mastwright_sim::scenario::Scenario;

use crate::sight::Eyes;

pub use flown::Tamper;
pub use scenes::Scene;

/// A saboteur and its trial.
#[derive(Clone, Copy, Debug)]
pub struct Saboteur {
    /// Its name.
    pub name: &'static str,
    /// The requirement or hazard that it breaks.
    pub breaks: &'static str,
    /// What it does wrong, to follow its name.
    pub does: &'static str,
    /// How it is tried.
    pub trial: Trial,
}

/// How a saboteur is tried.
#[derive(Clone, Copy, Debug)]
pub enum Trial {
    /// It flies a scene and the oracle judges.
    Flown {
        /// The scene.
        scene: &'static Scene,
        /// Flies it.
        fly: fn(&Scenario) -> Verdict,
        /// Flies it elsewhere: through the fault matrix and random missions.
        eyes: Eyes,
        /// Explores it.
        kind: explored::Kind,
    },
    /// A check that both it and the honest one go through.
    Checked {
        /// The check, in words.
        by: &'static str,
        /// The honest one goes through.
        honest: fn() -> Result<(), String>,
        /// The saboteur goes through.
        saboteur: fn() -> Result<(), String>,
    },
}

/// What a trial found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caught {
    /// The first breach, in words.
    pub breach: String,
    /// What else it broke, hazards first.
    pub besides: Vec<&'static str>,
}

impl Saboteur {
    const fn flown<T: Tamper>(
        name: &'static str,
        breaks: &'static str,
        does: &'static str,
        scene: &'static Scene,
    ) -> Self {
        Self {
            name,
            breaks,
            does,
            trial: Trial::Flown {
                scene,
                fly: flown::fly::<T>,
                eyes: Eyes::on::<flown::Sabotaged<T>>(),
                kind: explored::Kind::of::<T>(),
            },
        }
    }

    /// The place where it is tried, in words.
    #[must_use]
    pub const fn tried(&self) -> &'static str {
        match self.trial {
            Trial::Flown { scene, .. } => scene.name,
            Trial::Checked { by, .. } => by,
        }
    }

    /// Tries the honest one and then the saboteur.
    ///
    /// # Errors
    /// The honest one does not pass, its trial shows nothing, or the saboteur is not
    /// caught.
    pub fn catch(&self) -> Result<Caught, String> {
        match self.trial {
            Trial::Flown { scene, fly, .. } => {
                let scenario = scene.read()?;
                must_hold(self.breaks, &flown::fly_honest(&scenario))?;
                must_break(self.breaks, &fly(&scenario))
            }
            Trial::Checked {
                honest, saboteur, ..
            } => {
                honest().map_err(|why| format!("the honest one does not pass: {why}"))?;
                let breach = saboteur().err().ok_or("it passes")?;
                Ok(Caught {
                    breach,
                    besides: Vec::new(),
                })
            }
        }
    }
}

/// Every saboteur, subject by subject.
pub fn all() -> impl Iterator<Item = &'static Saboteur> {
    [
        thrust::TABLE,
        motion::TABLE,
        high_voltage::TABLE,
        heat::TABLE,
        proof::TABLE,
        totality::TABLE,
        board::TABLE,
        journal::TABLE,
        way_out::TABLE,
    ]
    .into_iter()
    .flatten()
}

/// All that a saboteur remembers is one flag or one small number.
macro_rules! remembers {
    ($field:ident: bool) => {
        const TELLS: bool = true;

        fn mind(&self) -> u8 {
            u8::from(self.$field)
        }

        fn of_mind(mind: u8) -> Self {
            Self { $field: mind == 1 }
        }
    };
    ($field:ident: u8) => {
        const TELLS: bool = true;

        fn mind(&self) -> u8 {
            self.$field
        }

        fn of_mind(mind: u8) -> Self {
            Self { $field: mind }
        }
    };
}
use remembers;

/// Leaves `faults` untold.
fn hide(outputs: &mut Outputs, faults: Faults) {
    outputs.indications.faults -= faults;
    outputs.indications.sounding -= faults;
}

/// The honest controller breaks nothing, and the trial puts `id` to the test.
fn must_hold(id: &str, verdict: &Verdict) -> Result<(), String> {
    if let Some(broken) = verdict.broken().next() {
        return Err(format!("the honest controller breaks {broken}"));
    }
    match verdict.outcome(id) {
        Some(Outcome::Held { .. }) => Ok(()),
        other => Err(format!("the scene does not exercise {id}: {other:?}")),
    }
}

/// The saboteur breaks `id`.
fn must_break(id: &str, verdict: &Verdict) -> Result<Caught, String> {
    let Some(Outcome::Broken { first, .. }) = verdict.outcome(id) else {
        return Err(format!("the oracle lets it pass: {verdict}"));
    };
    Ok(Caught {
        breach: first.to_string(),
        besides: verdict
            .broken()
            .map(|judgement| judgement.id)
            .filter(|other| *other != id)
            .collect(),
    })
}
