//! Faults of the heat detectors and of their test button, which the controller never
//! sees: they serve the heat warning alone.
//!
//! They fail as any other sensor does, except that a detector is not exchanged with
//! another: one hot detector is enough and the horn does not say which, so that nobody
//! could tell.

use mastwright_core::heat_warning::HeatInputs;

use super::catalogue::Entry;
use super::channel::{Channel, Number, Sample};
use super::named::named;
use super::sensor;
use super::target::Target;

named! {
    /// A heat detector, or the button that tests all of them.
    DetectorId {
        One = "one", "first heat detector";
        Two = "two", "second heat detector";
        Three = "three", "third heat detector";
        Four = "four", "fourth heat detector";
        Test = "test", "heat detectors' test button";
    }
}

/// What a detector's input can tell: down to a broken wire and up to a fire.
const FELT: Channel = Channel::Number(Number {
    unit: "C",
    rate_unit: "C/s",
    counts: 10.0,
    min: -100.0,
    max: 400.0,
    error: 80.0,
    wraps: false,
    inverts: false,
});

impl DetectorId {
    /// What it carries.
    #[must_use]
    pub const fn channel(self) -> Channel {
        match self {
            Self::One | Self::Two | Self::Three | Self::Four => FELT,
            Self::Test => Channel::Contact,
        }
    }

    /// Its sample in `inputs`.
    pub(super) fn read(self, inputs: &HeatInputs) -> Sample {
        match self.index() {
            Some(index) => Sample::of(&inputs.detectors[index]),
            None => Sample::of(&inputs.test),
        }
    }

    /// Puts a sample into `inputs`.
    pub(super) fn write(self, inputs: &mut HeatInputs, sample: Sample) {
        match self.index() {
            Some(index) => inputs.detectors[index] = sample.signal(),
            None => inputs.test = sample.signal(),
        }
    }

    const fn index(self) -> Option<usize> {
        match self {
            Self::One => Some(0),
            Self::Two => Some(1),
            Self::Three => Some(2),
            Self::Four => Some(3),
            Self::Test => None,
        }
    }
}

/// Every fault it can have.
pub(super) fn entries(id: DetectorId) -> Vec<Entry> {
    sensor::entries(Target::Detector(id), id.channel(), false)
}
