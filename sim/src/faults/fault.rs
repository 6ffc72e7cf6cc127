//! A fault as data, and why one is refused.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::catalogue::{Entry, entries};
use super::kind::Kind;
use super::target::Target;

/// Longest duration or cycle accepted, s: one day.
const LONGEST: f64 = 86_400.0;
/// Shortest duration or cycle accepted, s: one tick.
const SHORTEST: f64 = crate::frame::TICK;

/// One thing that fails, how, how much and for how long. Valid by construction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Form")]
pub struct Fault {
    target: Target,
    kind: Kind,
    #[serde(skip_serializing_if = "Option::is_none")]
    strength: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    duration: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cycle: Option<f64>,
}

/// A fault as written, not yet validated.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Form {
    target: Target,
    kind: Kind,
    strength: Option<f64>,
    duration: Option<f64>,
    cycle: Option<f64>,
}

impl TryFrom<Form> for Fault {
    type Error = Refusal;

    fn try_from(form: Form) -> Result<Self, Refusal> {
        let fault = Self::new(form.target, form.kind, form.strength, form.duration)?;
        match form.cycle {
            Some(cycle) => fault.with_cycle(cycle),
            None => Ok(fault),
        }
    }
}

/// Why a fault is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The target cannot fail so.
    #[error("{target} cannot be `{kind}`: it can be {}", list(.can))]
    Kind {
        /// What was to fail.
        target: Target,
        /// How.
        kind: Kind,
        /// How it can fail.
        can: Vec<Kind>,
    },
    /// The strength is out of its range, or would do nothing.
    #[error(
        "{target} `{kind}` cannot have strength {given}: give {min} to {max} {unit}{}",
        if *.min < 0.0 && *.least > 0.0 { format!(", and no nearer to zero than {least}") } else { String::new() }
    )]
    Strength {
        /// What was to fail.
        target: Target,
        /// How.
        kind: Kind,
        /// The strength given.
        given: f64,
        /// Least strength accepted.
        min: f64,
        /// Greatest strength accepted.
        max: f64,
        /// Least distance from zero accepted.
        least: f64,
        /// Unit of all three.
        unit: &'static str,
    },
    /// The fault has no such property.
    #[error("{target} `{kind}` takes no {property}: leave it out")]
    Needless {
        /// What was to fail.
        target: Target,
        /// How.
        kind: Kind,
        /// What was given in vain: strength, duration or cycle.
        property: &'static str,
    },
    /// The duration or the cycle is out of its range.
    #[error(
        "{target} `{kind}` cannot have a {property} of {given} s: give {SHORTEST} to {LONGEST} s"
    )]
    Time {
        /// What was to fail.
        target: Target,
        /// How.
        kind: Kind,
        /// Which one: duration or cycle.
        property: &'static str,
        /// What was given, s.
        given: f64,
    },
}

fn list(kinds: &[Kind]) -> String {
    let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
    names.join(", ")
}

impl Fault {
    /// A fault of `target`. Without a strength it has the default one; without a
    /// duration (s) it stays until cleared.
    ///
    /// # Errors
    /// A [`Refusal`] when the target cannot fail so, or not so much, or not so long.
    pub fn new(
        target: Target,
        kind: Kind,
        strength: Option<f64>,
        duration: Option<f64>,
    ) -> Result<Self, Refusal> {
        let entry = entry(target, kind)?;
        let strength = accepted_strength(&entry, strength)?;
        if let Some(seconds) = duration {
            accept_time(&entry, entry.lasts, "duration", seconds)?;
        }
        Ok(Self {
            target,
            kind,
            strength,
            duration,
            cycle: entry.cycle,
        })
    }

    /// The same fault, coming and going with this mean cycle (s).
    ///
    /// # Errors
    /// A [`Refusal`] when it does not come and go, or not so.
    pub fn with_cycle(self, cycle: f64) -> Result<Self, Refusal> {
        let entry = entry(self.target, self.kind)?;
        accept_time(&entry, entry.cycle.is_some(), "cycle", cycle)?;
        Ok(Self {
            cycle: Some(cycle),
            ..self
        })
    }

    /// The same fault, over after so long (s).
    ///
    /// # Errors
    /// A [`Refusal`] when it cannot last, or not so long.
    pub fn lasting(self, duration: f64) -> Result<Self, Refusal> {
        let entry = entry(self.target, self.kind)?;
        accept_time(&entry, entry.lasts, "duration", duration)?;
        Ok(Self {
            duration: Some(duration),
            ..self
        })
    }

    /// What fails.
    #[must_use]
    pub const fn target(&self) -> Target {
        self.target
    }

    /// How it fails.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    /// How much, in the unit its [`Entry`] names.
    #[must_use]
    pub const fn strength(&self) -> Option<f64> {
        self.strength
    }

    /// How long, s; nothing means until cleared.
    #[must_use]
    pub const fn duration(&self) -> Option<f64> {
        self.duration
    }

    /// Mean cycle of a fault that comes and goes, s.
    #[must_use]
    pub const fn cycle(&self) -> Option<f64> {
        self.cycle
    }

    /// Its entry in the catalogue.
    #[must_use]
    pub fn entry(&self) -> Entry {
        entry(self.target, self.kind).expect("a fault is validated when it is made")
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.target, self.kind)?;
        if let (Some(strength), Some(scale)) = (self.strength, self.entry().strength) {
            write!(f, " {strength} {}", scale.unit)?;
        }
        if let Some(duration) = self.duration {
            write!(f, " for {duration} s")?;
        }
        Ok(())
    }
}

fn entry(target: Target, kind: Kind) -> Result<Entry, Refusal> {
    let all = entries(target);
    let found = all.iter().find(|entry| entry.kind == kind).copied();
    found.ok_or_else(|| Refusal::Kind {
        target,
        kind,
        can: all.iter().map(|entry| entry.kind).collect(),
    })
}

fn accepted_strength(entry: &Entry, given: Option<f64>) -> Result<Option<f64>, Refusal> {
    let &Entry { target, kind, .. } = entry;
    match (entry.strength, given) {
        (Some(scale), None) => Ok(Some(scale.default)),
        (Some(scale), Some(strength)) if scale.takes(strength) => Ok(given),
        (Some(scale), Some(strength)) => Err(Refusal::Strength {
            target,
            kind,
            given: strength,
            min: scale.min,
            max: scale.max,
            least: scale.least,
            unit: scale.unit,
        }),
        (None, None) => Ok(None),
        (None, Some(_)) => Err(Refusal::Needless {
            target,
            kind,
            property: "strength",
        }),
    }
}

fn accept_time(
    entry: &Entry,
    wanted: bool,
    property: &'static str,
    given: f64,
) -> Result<(), Refusal> {
    let &Entry { target, kind, .. } = entry;
    if !wanted {
        return Err(Refusal::Needless {
            target,
            kind,
            property,
        });
    }
    if (SHORTEST..=LONGEST).contains(&given) {
        return Ok(());
    }
    Err(Refusal::Time {
        target,
        kind,
        property,
        given,
    })
}
