//! What comes to the controller in one tick.

use mastwright_core::command::Selector;
use mastwright_core::inputs::Controls;
use mastwright_core::signal::Signal;
use mastwright_core::units::DeciMetresPerSecond;

use crate::explore::cases::Cases;
use crate::explore::hands::Hands;
use crate::explore::memory::Chosen;
use crate::explore::plant::Plant;
use crate::explore::scratch::Reading;
use crate::explore::sense::{Sensed, under};
use crate::explore::told::Told;

/// What a control or the airspeed says that lies.
#[derive(Clone, Debug)]
pub(super) struct Lie {
    pub(super) controls: Controls,
    pub(super) airspeed: Signal<DeciMetresPerSecond>,
    /// What lies.
    pub(super) cases: Cases,
}

impl Lie {
    /// Both tracks of the throttle are heard.
    pub(super) const fn hears_throttle(&self) -> bool {
        self.controls.throttle_a.is_valid() && self.controls.throttle_b.is_valid()
    }
}

/// What the selector comes to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pushed {
    /// What it may have counted as before, if that is not remembered.
    pub(super) counted: Option<Selector>,
    /// What it reads, and settles on.
    pub(super) selector: Selector,
    /// The cases in which it may.
    pub(super) cases: Cases,
}

/// What comes to the controller in one tick.
#[derive(Clone, Copy)]
pub(super) struct Coming<'a> {
    /// The plant, the blade where it was chosen to be.
    pub(super) plant: &'a Plant,
    pub(super) hands: &'a Hands,
    pub(super) reading: &'a Reading,
    /// A control that lies.
    pub(super) lie: Option<&'a Lie>,
    pub(super) push: &'a Pushed,
    /// The cases in which it comes.
    pub(super) cases: Cases,
}

impl Coming<'_> {
    /// All that is read.
    pub(super) fn sensed(&self) -> Sensed {
        let mut sensed = under(&self.reading.sensed, self.hands);
        if let Some(lie) = self.lie {
            sensed.inputs.controls = lie.controls;
            sensed.inputs.airspeed = lie.airspeed;
        }
        let Pushed {
            counted, selector, ..
        } = *self.push;
        if selector != self.hands.selector.selector() {
            let closed = |of| Signal::fresh(selector == of);
            let controls = &mut sensed.inputs.controls;
            controls.select_hold = closed(Selector::Hold);
            controls.select_deploy = closed(Selector::Deploy);
            controls.select_stow = closed(Selector::Stow);
        }
        Sensed {
            counted,
            selector,
            ..sensed
        }
    }

    /// What the checks look at of what is read.
    pub(super) fn told(&self) -> Told {
        let throttle = self.lie.is_none_or(Lie::hears_throttle);
        Told {
            throttle,
            ..self.reading.told
        }
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
