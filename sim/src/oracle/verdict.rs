//! What the oracle found: tallies while it watches, a verdict when it is asked.

use std::fmt;

use serde::Serialize;

use crate::frame::TICK;

/// A number with its unit, as measured where something broke.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
}

/// The first time something was broken.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Breach {
    /// The tick of the frame that broke it.
    pub tick: u64,
    /// What happened.
    pub what: &'static str,
    /// What was measured, where a number says more than the words.
    pub measured: Option<Measured>,
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let seconds = self.tick as f64 * TICK;
        write!(f, "at {seconds:.2} s: {}", self.what)?;
        match self.measured {
            Some(Measured { value, unit }) => write!(f, " ({value:.3} {unit})"),
            None => Ok(()),
        }
    }
}

/// What became of one requirement or hazard.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Its condition was met, and it held every time.
    Held {
        /// Ticks in which its condition was met.
        exercised: u64,
    },
    /// Its condition was never met: nothing was shown.
    NotExercised,
    /// It was broken.
    Broken {
        /// The first breach.
        first: Breach,
        /// Ticks in which it was broken.
        count: u64,
    },
    /// It cannot be judged while running.
    ByTest {
        /// Where it is judged.
        place: &'static str,
    },
}

impl Outcome {
    /// True when it was broken.
    #[must_use]
    pub const fn is_broken(&self) -> bool {
        matches!(self, Self::Broken { .. })
    }

    /// Ticks in which its condition was met and it held; 0 for what was broken.
    #[must_use]
    pub const fn exercised(&self) -> u64 {
        match self {
            Self::Held { exercised } => *exercised,
            Self::NotExercised | Self::Broken { .. } | Self::ByTest { .. } => 0,
        }
    }
}

/// One line of the verdict.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// The requirement or hazard, such as "SR-01" or "HZ-1".
    pub id: &'static str,
    /// What became of it.
    pub outcome: Outcome,
}

impl fmt::Display for Judgement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:<6} ", self.id)?;
        match &self.outcome {
            Outcome::Held { exercised } => write!(f, "held (exercised in {exercised} ticks)"),
            Outcome::NotExercised => f.write_str("not exercised"),
            Outcome::Broken { first, count } => {
                write!(f, "BROKEN {first}; {count} ticks in all")
            }
            Outcome::ByTest { place } => write!(f, "judged elsewhere: {place}"),
        }
    }
}

/// The oracle's verdict over everything it saw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// How many frames were judged.
    pub frames: u64,
    /// Every hazard, in the order of [`super::HAZARDS`].
    pub hazards: Vec<Judgement>,
    /// Every requirement, in the order of [`super::REQUIREMENTS`].
    pub requirements: Vec<Judgement>,
}

impl Verdict {
    /// Everything that was broken, hazards first.
    pub fn broken(&self) -> impl Iterator<Item = &Judgement> {
        self.hazards
            .iter()
            .chain(&self.requirements)
            .filter(|line| line.outcome.is_broken())
    }

    /// True when nothing was broken.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.broken().next().is_none()
    }

    /// What became of a requirement or hazard, by its id.
    #[must_use]
    pub fn outcome(&self, id: &str) -> Option<&Outcome> {
        self.hazards
            .iter()
            .chain(&self.requirements)
            .find(|line| line.id == id)
            .map(|line| &line.outcome)
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "hazards, in plant truth:")?;
        for line in &self.hazards {
            writeln!(f, "  {line}")?;
        }
        writeln!(f, "safety requirements:")?;
        for line in &self.requirements {
            writeln!(f, "  {line}")?;
        }
        Ok(())
    }
}

/// What a rule finds in one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Finding {
    /// Its condition was not met.
    Idle,
    /// Its condition was met and it held.
    Held,
    /// It was broken.
    Broken(&'static str, Option<Measured>),
}

impl Finding {
    /// Broken, where words say it all.
    pub(super) const fn broken(what: &'static str) -> Self {
        Self::Broken(what, None)
    }

    /// Broken, with what was measured.
    pub(super) const fn measured(what: &'static str, value: f64, unit: &'static str) -> Self {
        Self::Broken(what, Some(Measured { value, unit }))
    }

    /// Held when `condition` was met, idle otherwise.
    pub(super) const fn held_if(condition: bool) -> Self {
        if condition { Self::Held } else { Self::Idle }
    }
}

/// Findings of one rule, added up.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Tally {
    exercised: u64,
    broken: u64,
    first: Option<Breach>,
}

impl Tally {
    #[inline]
    pub(super) fn add(&mut self, tick: u64, finding: Finding) {
        match finding {
            Finding::Idle => {}
            Finding::Held => self.exercised += 1,
            Finding::Broken(what, measured) => {
                self.broken += 1;
                self.first.get_or_insert(Breach {
                    tick,
                    what,
                    measured,
                });
            }
        }
    }

    pub(super) const fn is_broken(&self) -> bool {
        self.first.is_some()
    }

    pub(super) const fn outcome(&self) -> Outcome {
        match self.first {
            Some(first) => Outcome::Broken {
                first,
                count: self.broken,
            },
            None if self.exercised > 0 => Outcome::Held {
                exercised: self.exercised,
            },
            None => Outcome::NotExercised,
        }
    }
}
