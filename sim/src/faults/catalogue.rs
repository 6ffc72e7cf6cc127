//! Every fault there is.

use super::fault::Fault;
use super::kind::Kind;
use super::target::Target;
use super::{actuator, detector, mechanics, pilot, sensor, supply};

/// What the strength of a fault means and how far it may go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Unit of the numbers that follow.
    pub unit: &'static str,
    /// Least strength.
    pub min: f64,
    /// Greatest strength.
    pub max: f64,
    /// Strength unless another is given.
    pub default: f64,
    /// A strength nearer to zero than this would do nothing, and is refused.
    pub least: f64,
}

impl Scale {
    /// True when a fault of this strength does something and is within its range.
    #[must_use]
    pub fn takes(&self, strength: f64) -> bool {
        (self.min..=self.max).contains(&strength) && strength.abs() >= self.least
    }
}

/// One fault that one target can have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// What fails.
    pub target: Target,
    /// How.
    pub kind: Kind,
    /// What happens then, as the rest of a sentence that begins with the target.
    pub does: &'static str,
    /// How much, if the fault has a strength.
    pub strength: Option<Scale>,
    /// Mean cycle, s, unless another is given, if the fault comes and goes.
    pub cycle: Option<f64>,
    /// The fault can last; otherwise it is over in one tick and takes no duration.
    pub lasts: bool,
}

impl Entry {
    /// One sentence: what fails and what happens then.
    #[must_use]
    pub fn sentence(&self) -> String {
        format!("The {} {}.", self.target.meaning(), self.does)
    }

    /// This fault with its default strength and cycle, without end.
    #[must_use]
    pub fn fault(&self) -> Fault {
        Fault::new(self.target, self.kind, None, None)
            .expect("every entry is accepted with its defaults")
    }
}

/// Every fault there is, target by target.
pub fn catalogue() -> impl Iterator<Item = Entry> {
    Target::all().flat_map(entries)
}

/// Every fault that `target` can have.
pub(super) fn entries(target: Target) -> Vec<Entry> {
    match target {
        Target::Sensor(id) => sensor::entries(target, id.channel(), id.twin().is_some()),
        Target::Detector(id) => detector::entries(id),
        Target::Actuator(id) => actuator::entries(id),
        Target::Mechanics(id) => mechanics::entries(id),
        Target::Pilot(id) => pilot::entries(id),
        Target::Link => supply::link_entries(),
        Target::Power | Target::Memory | Target::Processor => supply::entries(target),
    }
}
