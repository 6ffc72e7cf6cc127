//! How long the world stays unharmed if the controller does not react.
//!
//! The idea is that of the fault tolerant time interval: detection time and reaction
//! time together must stay below it (ISO 26262-1:2018 3.55-3.61; a standard for road
//! vehicles, an analogy, quoted by a third party). It is measured, not claimed: the cell
//! is flown again with the reaction withheld, in two ways, until the first harm.

use serde::{Deserialize, Serialize};

use super::base::{Base, Checkpoint, Done};
use super::record::Ticks;
use crate::faults::{Fault, SensorId, Target};
use crate::world::Controller;

/// How far each of the two flights goes, ticks: 15 s, longer than any one motion of
/// mast or doors takes.
pub const HORIZON: u64 = 1500;

/// Time from the onset of a fault to harm with the controller's reaction withheld;
/// none where no harm came within [`HORIZON`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tolerance {
    /// Outputs frozen as they were in the tick before the onset.
    pub frozen: Option<Ticks>,
    /// The faultless mission's outputs continued blindly.
    pub blind: Option<Ticks>,
}

impl Tolerance {
    /// The shorter of the two.
    #[must_use]
    pub fn least(&self) -> Option<Ticks> {
        self.frozen.into_iter().chain(self.blind).min()
    }
}

/// Flies `fault` from `start` on with the reaction withheld, both ways.
#[must_use]
pub fn tolerance<C: Controller>(
    base: &Base<C>,
    start: &Checkpoint<C>,
    fault: Option<Fault>,
) -> Tolerance {
    let frozen = Done::in_frame(start.world.frame());
    Tolerance {
        frozen: harm(base, start, fault, |_| &frozen),
        blind: harm(base, start, fault, |tick| base.done(tick)),
    }
}

fn harm<'a, C: Controller>(
    base: &Base<C>,
    start: &Checkpoint<C>,
    fault: Option<Fault>,
    done: impl Fn(u64) -> &'a Done,
) -> Option<Ticks> {
    let mut flown = start.clone();
    if let Some(fault) = fault {
        flown.world.inject(fault, base.seed);
    }
    (0..HORIZON).find_map(|after| {
        let Done {
            drives,
            indications,
            ..
        } = done(start.tick + after);
        let frame = flown.world.step_withheld(drives, indications);
        flown.oracle.judge_hazards(frame);
        flown.oracle.harmed().then_some(Ticks(after))
    })
}

/// True when a fault of `target` can change what happens while the controller is not
/// asked. A reading it is told, its memory, its processor and the link to it change
/// nothing then, nor does a heat detector, so all of these share the tolerance of their moment. The plant reads
/// one sensor itself: the motor is held and turned by blade angle source A.
#[must_use]
pub fn matters_unasked(target: Target) -> bool {
    match target {
        Target::Sensor(id) => matches!(id, SensorId::AngleA | SensorId::AngleB),
        Target::Detector(_) | Target::Link | Target::Memory | Target::Processor => false,
        Target::Actuator(_) | Target::Mechanics(_) | Target::Pilot(_) | Target::Power => true,
    }
}
