//! What can fail.

use std::fmt;
use std::str::FromStr;

use super::actuator::ActuatorId;
use super::channel::SensorId;
use super::detector::DetectorId;
use super::mechanics::MechanicsId;
use super::named::{Unknown, as_string};
use super::pilot::PilotId;

/// What can fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Target {
    /// A reading on its way to the controller.
    Sensor(SensorId),
    /// A reading on its way to the heat warning.
    Detector(DetectorId),
    /// A command on its way to what it moves or switches.
    Actuator(ActuatorId),
    /// A thing of the physical world.
    Mechanics(MechanicsId),
    /// The pilot's hands.
    Pilot(PilotId),
    /// The frames that carry all the pilot's controls to the controller.
    Link,
    /// The controller's supply.
    Power,
    /// The controller's memory.
    Memory,
    /// The controller's processor.
    Processor,
}

impl Target {
    /// Every target, family by family.
    pub fn all() -> impl Iterator<Item = Self> {
        let sensors = SensorId::ALL.iter().copied().map(Self::Sensor);
        let detectors = DetectorId::ALL.iter().copied().map(Self::Detector);
        let actuators = ActuatorId::ALL.iter().copied().map(Self::Actuator);
        let mechanics = MechanicsId::ALL.iter().copied().map(Self::Mechanics);
        let pilot = PilotId::ALL.iter().copied().map(Self::Pilot);
        sensors
            .chain(detectors)
            .chain(actuators)
            .chain(mechanics)
            .chain(pilot)
            .chain([Self::Link, Self::Power, Self::Memory, Self::Processor])
    }

    /// Family and, where the family has several members, the member's name.
    const fn parts(self) -> (&'static str, Option<&'static str>) {
        match self {
            Self::Sensor(id) => ("sensor", Some(id.name())),
            Self::Detector(id) => ("detector", Some(id.name())),
            Self::Actuator(id) => ("actuator", Some(id.name())),
            Self::Mechanics(id) => ("mechanics", Some(id.name())),
            Self::Pilot(id) => ("pilot", Some(id.name())),
            Self::Link => ("link", None),
            Self::Power => ("power", None),
            Self::Memory => ("memory", None),
            Self::Processor => ("processor", None),
        }
    }

    /// What it is, in words.
    #[must_use]
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Sensor(id) => id.meaning(),
            Self::Detector(id) => id.meaning(),
            Self::Actuator(id) => id.meaning(),
            Self::Mechanics(id) => id.meaning(),
            Self::Pilot(id) => id.meaning(),
            Self::Link => "link that carries the pilot's controls",
            Self::Power => "controller's supply",
            Self::Memory => "controller's memory",
            Self::Processor => "controller's processor",
        }
    }
}

impl fmt::Display for Target {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.parts() {
            (family, Some(member)) => f.pad(&format!("{family}.{member}")),
            (family, None) => f.pad(family),
        }
    }
}

impl FromStr for Target {
    type Err = Unknown;

    fn from_str(text: &str) -> Result<Self, Unknown> {
        let known = Self::all().find(|target| target.to_string() == text);
        known.ok_or_else(|| {
            let names = Self::all().map(|target| target.to_string());
            Unknown::new("fault target", text, names)
        })
    }
}

as_string!(Target);
