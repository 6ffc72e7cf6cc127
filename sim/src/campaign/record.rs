//! What became of one cell: one line of the table.

use std::fmt;

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::faults::Target;

/// A time in ticks of 10 ms, written in seconds with two decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ticks(pub u64);

impl fmt::Display for Ticks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}.{:02}", self.0 / 100, self.0 % 100))
    }
}

impl Serialize for Ticks {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Ticks {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        let read = |text: &str| {
            let (whole, part) = text.split_once('.')?;
            let (seconds, hundredths): (u64, u64) = (whole.parse().ok()?, part.parse().ok()?);
            (part.len() == 2).then_some(Self(seconds.checked_mul(100)? + hundredths))
        };
        read(&text).ok_or_else(|| D::Error::custom(format!("`{text}` is no time in seconds")))
    }
}

macro_rules! words {
    ($(#[$about:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $text:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum $name {
            $($(#[$doc])* #[serde(rename = $text)] $variant,)+
        }

        impl $name {
            /// Every one, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// Its name in the table.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $text,)+
                }
            }
        }
    };
}
words! {
    /// What came of a cell, the worst first.
    Outcome {
        /// A hazard came about, in plant truth.
        Harm = "harm",
        /// No hazard, but a requirement was broken.
        Broken = "broken",
        /// Nothing was broken, and the controller told of the fault.
        Detected = "detected",
        /// Nothing was broken; the controller acted or showed otherwise than without the
        /// fault, and named none.
        Undetected = "undetected",
        /// Nothing was broken, and nothing the controller did or showed was different.
        NoEffect = "no-effect",
    }
}

words! {
    /// How a cell ended.
    End {
        /// Mast stowed and doors shut, in truth, and nothing driven.
        Stowed = "stowed",
        /// A safe halt is declared.
        Halted = "halted",
        /// The mast is up, ready or nearly.
        Deployed = "deployed",
        /// At rest, waiting for an intention.
        Resting = "resting",
        /// In Bench.
        Bench = "bench",
        /// The controller has no supply; nothing moves.
        Unpowered = "unpowered",
        /// Something still moved, was driven or was under way when the cell was given up.
        Moving = "moving",
    }
}

words! {
    /// What kind of thing fails.
    Family {
        /// A reading.
        Sensor = "sensor",
        /// A drive, relay or contactor.
        Actuator = "actuator",
        /// A thing of the physical world.
        Mechanics = "mechanics",
        /// The pilot's hands.
        Pilot = "pilot",
        /// The link to the pilot's controls.
        Link = "link",
        /// The controller's supply.
        Power = "power",
        /// The controller's memory.
        Memory = "memory",
        /// The controller's processor.
        Processor = "processor",
    }
}

impl Family {
    /// The family of a target.
    #[must_use]
    pub const fn of(target: Target) -> Self {
        match target {
            Target::Sensor(_) | Target::Detector(_) => Self::Sensor,
            Target::Actuator(_) => Self::Actuator,
            Target::Mechanics(_) => Self::Mechanics,
            Target::Pilot(_) => Self::Pilot,
            Target::Link => Self::Link,
            Target::Power => Self::Power,
            Target::Memory => Self::Memory,
            Target::Processor => Self::Processor,
        }
    }
}

/// One line of the table. Times are in seconds; where a time is missing, the thing did
/// not happen. Where a cell has several faults, `family`, `target` and `kind` are those
/// of the first, and `cell` names them all.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    /// The cell's name; `mastwright matrix --cell` flies it again.
    pub cell: String,
    /// The base mission.
    pub mission: String,
    /// State of the controller at the onset.
    pub phase: String,
    /// Where in that state.
    pub instant: String,
    /// When the (first) fault began.
    pub onset: Ticks,
    /// What kind of thing failed.
    pub family: Family,
    /// What failed.
    pub target: String,
    /// How.
    pub kind: String,
    /// What came of it.
    pub outcome: Outcome,
    /// Every hazard that came about, the first one first, parted by spaces.
    pub hazards: String,
    /// From the onset to the first harm.
    pub harm_after: Option<Ticks>,
    /// Every requirement broken, the first one first.
    pub requirements: String,
    /// From the onset to the first requirement broken.
    pub broken_after: Option<Ticks>,
    /// What was first told of the fault: a fault code, the heat warning, or a halt.
    pub detected_by: String,
    /// From the onset until then.
    pub detected_after: Option<Ticks>,
    /// From the onset to the first tick in which something else was driven than in the
    /// faultless mission.
    pub reacted_after: Option<Ticks>,
    /// State of the controller at the end.
    pub final_state: String,
    /// How it ended.
    pub end: End,
    /// How long stop-and-stow lasted, if it was asked for.
    pub emergency: Option<Ticks>,
    /// From the onset to harm with the outputs frozen.
    pub frozen_harm_after: Option<Ticks>,
    /// From the onset to harm with the faultless mission's outputs continued.
    pub blind_harm_after: Option<Ticks>,
}

impl Record {
    /// A record of no cell, from which the columns are named.
    pub(super) fn example() -> Self {
        Self {
            cell: String::new(),
            mission: String::new(),
            phase: String::new(),
            instant: String::new(),
            onset: Ticks(0),
            family: Family::Sensor,
            target: String::new(),
            kind: String::new(),
            outcome: Outcome::NoEffect,
            hazards: String::new(),
            harm_after: None,
            requirements: String::new(),
            broken_after: None,
            detected_by: String::new(),
            detected_after: None,
            reacted_after: None,
            final_state: String::new(),
            end: End::Stowed,
            emergency: None,
            frozen_harm_after: None,
            blind_harm_after: None,
        }
    }

    /// The shorter time to harm with the reaction withheld.
    #[must_use]
    pub fn tolerance(&self) -> Option<Ticks> {
        self.frozen_harm_after
            .into_iter()
            .chain(self.blind_harm_after)
            .min()
    }

    /// Margin in ticks against frozen outputs: the time to harm had they stayed as they
    /// were, less the time the controller took to react. Negative when it came too late;
    /// none where no harm threatened within the horizon, or where it did not react.
    #[must_use]
    pub fn frozen_margin(&self) -> Option<i64> {
        self.margin(self.frozen_harm_after)
    }

    /// Margin in ticks against the faultless mission's outputs, continued. Where the
    /// controller answers by withholding its next order, it first differs when that
    /// order would have come: this margin then is the time from the order withheld to
    /// the harm it would have done.
    #[must_use]
    pub fn blind_margin(&self) -> Option<i64> {
        self.margin(self.blind_harm_after)
    }

    fn margin(&self, harm: Option<Ticks>) -> Option<i64> {
        let tolerance = i64::try_from(harm?.0).ok()?;
        let reaction = i64::try_from(self.reacted_after?.0).ok()?;
        Some(tolerance - reaction)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_written_in_seconds_and_read_back() {
        for ticks in [0, 1, 99, 100, 12_345] {
            let text = serde_json::to_string(&Ticks(ticks)).expect("it serialises");
            assert_eq!(
                serde_json::from_str::<Ticks>(&text).expect("it reads"),
                Ticks(ticks)
            );
        }
        assert_eq!(Ticks(1_207).to_string(), "12.07");
        for wrong in ["\"1\"", "\"1.5\"", "\"a.00\"", "\"-1.00\""] {
            assert!(serde_json::from_str::<Ticks>(wrong).is_err(), "{wrong}");
        }
    }
}
