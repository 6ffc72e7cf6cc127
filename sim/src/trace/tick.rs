//! One tick of a trace, and what happened around the controller.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::faults::Fault;
use crate::flight::Begun;
use crate::frame::Frame;

/// Everything kept of one tick.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tick {
    /// Time, hands, truth, readings and outputs, as in the world that was recorded.
    /// Readings and outputs are exact; the truth and the throttle lever are rounded to
    /// the steps of `docs/trace-format.md`.
    pub frame: Frame,
    /// Fingerprint of the controller's state after the tick
    /// ([`fingerprint`](fn@mastwright_core::link::fingerprint)); none without its supply.
    pub state: Option<u32>,
    /// What the scenario began in it, as [`Flight::begun`](crate::flight::Flight::begun)
    /// told.
    pub begun: Begun,
    /// Everything that began or ended in it, in order; what the scenario began too.
    pub marks: Vec<Mark>,
}

/// Something that began or ended in the world, numbered from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "mark", content = "number")]
pub enum Mark {
    /// This action of the scenario began.
    ActionBegan(u32),
    /// This fault began: one of the scenario, or one given by hand
    /// ([`Trace::fault`](super::Trace::fault)).
    FaultBegan(u32),
    /// This fault acts no more after this tick.
    FaultEnded(u32),
    /// This bit of the controller's memory was flipped before it took the tick.
    BitFlipped(u32),
}

impl Mark {
    /// Its kind and its number, as a table keeps them.
    pub(super) const fn parts(self) -> (i32, u32) {
        match self {
            Self::ActionBegan(number) => (0, number),
            Self::FaultBegan(number) => (1, number),
            Self::FaultEnded(number) => (2, number),
            Self::BitFlipped(number) => (3, number),
        }
    }

    /// The mark of these parts; none of an unknown kind.
    pub(super) const fn of(kind: i32, number: u32) -> Option<Self> {
        match kind {
            0 => Some(Self::ActionBegan(number)),
            1 => Some(Self::FaultBegan(number)),
            2 => Some(Self::FaultEnded(number)),
            3 => Some(Self::BitFlipped(number)),
            _ => None,
        }
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ActionBegan(number) => write!(f, "action {} begins", number + 1),
            Self::FaultBegan(number) => write!(f, "fault {} begins", number + 1),
            Self::FaultEnded(number) => write!(f, "fault {} ends", number + 1),
            Self::BitFlipped(bit) => write!(f, "bit {bit} of the controller's memory flips"),
        }
    }
}

/// Something noted beside the ticks: what no scenario says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// The tick in which it takes effect.
    pub tick: u32,
    /// What.
    #[serde(flatten)]
    pub noted: Noted,
}

/// What can be noted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "note")]
pub enum Noted {
    /// A fault was given by hand.
    Fault {
        /// Its number.
        number: u32,
        /// What it is.
        fault: Fault,
    },
    /// A fault was ended by hand, before this tick.
    Ended {
        /// Its number.
        number: u32,
    },
    /// Every fault that acted was ended by hand, before this tick.
    AllEnded,
    /// A person at the controls did this, in the words of a scenario.
    Deed {
        /// What.
        words: String,
    },
    /// Something worth knowing, in words.
    Remark {
        /// What.
        words: String,
    },
}
