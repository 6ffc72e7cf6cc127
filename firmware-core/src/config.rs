//! Every limit: its unit, its default, its allowed range, and where it comes from.
//!
//! Responsibilities:
//! 1. Hold each number the controller compares against, in one table (`settings`).
//! 2. Refuse a bad value at start, saying which and why: a value outside its range, a time
//!    that is no whole number of ticks, or two values that contradict each other
//!    (`rules`). A [`Config`] in hand is a validated one.

mod rules;
mod settings;

use core::ops::Deref;

pub use settings::{Field, Settings};

/// Why settings were refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// A value is outside its allowed range.
    OutOfRange {
        /// The row of the table it breaks.
        field: &'static Field,
        /// The value given.
        value: i32,
    },
    /// A time is no whole number of ticks: it would be cut short, and so would what it is
    /// to last at least.
    NotWholeTicks {
        /// The row of the table it breaks.
        field: &'static Field,
        /// The value given.
        value: i32,
    },
    /// Two values are each allowed but not together.
    Contradiction {
        /// The rule they break.
        rule: &'static str,
    },
}

impl core::fmt::Display for Refusal {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::OutOfRange { field, value } => write!(
                f,
                "setting {} is {value} {unit}: allowed are {} to {} {unit}",
                field.name,
                field.min,
                field.max,
                unit = field.unit
            ),
            Self::NotWholeTicks { field, value } => write!(
                f,
                "setting {} is {value} {unit}: allowed are multiples of {step} {unit}",
                field.name,
                step = field.step(),
                unit = field.unit
            ),
            Self::Contradiction { rule } => write!(f, "settings contradict each other: {rule}"),
        }
    }
}

impl core::error::Error for Refusal {}

/// Validated limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Config(Settings);

impl Config {
    /// Validates settings.
    ///
    /// # Errors
    /// The first value outside its range or no whole number of ticks, or the first rule two
    /// values break.
    pub fn new(settings: Settings) -> Result<Self, Refusal> {
        for (field, value) in Settings::FIELDS.iter().zip(settings.numbers()) {
            if value < field.min || value > field.max {
                return Err(Refusal::OutOfRange { field, value });
            }
            if value.checked_rem(field.step()) != Some(0) {
                return Err(Refusal::NotWholeTicks { field, value });
            }
        }
        match rules::broken(&settings) {
            Some(rule) => Err(Refusal::Contradiction { rule }),
            None => Ok(Self(settings)),
        }
    }

    /// The limits, to be changed and validated again.
    #[must_use]
    pub const fn settings(&self) -> Settings {
        self.0
    }

    /// The longest a stop-and-stow can take from the demand to the mast stowed or a
    /// declared safe halt: the sum of its stages' limits (SR-07).
    #[must_use]
    pub fn stow_bound(&self) -> u32 {
        [
            self.power_time,
            self.brake_time,
            self.park_time,
            self.stand_proof,
            self.mast_stage_time,
            self.door_stage_time,
        ]
        .iter()
        .fold(0_u32, |sum, time| sum.saturating_add(u32::from(time.get())))
    }
}

impl Default for Config {
    /// The default settings; that they validate is a test of this module.
    fn default() -> Self {
        Self(Settings::default())
    }
}

impl Deref for Config {
    type Target = Settings;

    fn deref(&self) -> &Settings {
        &self.0
    }
}

#[cfg(test)]
mod tests;
