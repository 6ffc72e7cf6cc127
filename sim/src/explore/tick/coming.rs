//! What comes to the controller in one tick.

use mastwright_core::command::Selector;
use mastwright_core::walk::Choice;

use crate::explore::cases::Cases;
use crate::explore::hands::Hands;
use crate::explore::known::{Code, Lie};
use crate::explore::memory::Chosen;
use crate::explore::plant::Plant;
use crate::explore::scratch::Reading;
use crate::explore::sense::{Sensed, under};
use crate::explore::told::Told;

/// What comes to the controller in one tick.
#[derive(Clone, Copy)]
pub(super) struct Coming<'a> {
    /// The plant, the blade where it was chosen to be.
    pub(super) plant: &'a Plant,
    pub(super) hands: &'a Hands,
    pub(super) reading: &'a Reading,
    /// A control that lies, and its number.
    pub(super) lie: Option<(&'a Lie, Code)>,
    /// What the selector may have counted as before, if that is not remembered, and what it
    /// reads and settles on.
    pub(super) counted: Option<Selector>,
    pub(super) selector: Selector,
    /// The cases in which it comes.
    pub(super) cases: Cases,
}

impl Coming<'_> {
    /// All that is read.
    pub(super) fn sensed(&self) -> Sensed {
        let mut sensed = under(&self.reading.sensed, self.hands);
        if let Some((lie, _)) = self.lie {
            sensed.inputs.controls = lie.controls;
            sensed.inputs.airspeed = lie.airspeed;
        }
        Sensed {
            counted: self.counted,
            selector: self.selector,
            ..sensed
        }
    }

    /// What the checks look at of what is read.
    pub(super) fn told(&self) -> Told {
        let throttle = self.lie.is_none_or(|(lie, _)| lie.hears_throttle());
        Told {
            throttle,
            ..self.reading.told
        }
    }

    /// What comes beside the readings, as a number.
    pub(super) fn code(&self) -> Code {
        let counted = self.counted.map_or(0, |counted| 1 + counted.number());
        let lie = self.lie.map_or(0, |(_, number)| 1 + number);
        let pushes = u32::from(counted) << 2 | u32::from(self.selector.number());
        (lie << 5 | pushes) << 12 | self.hands.number()
    }
}

/// What is chosen of the memory under these hands, with what is sensed.
pub(super) fn chosen(hands: &Hands, sensed: &Sensed) -> Chosen {
    Chosen {
        acknowledge: hands.acknowledge,
        counted: sensed.counted,
        selector: sensed.selector,
        position: sensed.inputs.mast.position.raw(),
        strange: sensed.strange,
        strayed_from: sensed.strayed_from,
        parked: sensed.parked,
    }
}
