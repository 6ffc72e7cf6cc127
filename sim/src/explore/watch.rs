//! What an observer outside the controller remembers in order to judge it: what the hands
//! have asked for, and what must come of it.

use mastwright_core::Outputs;
use mastwright_core::State;
use mastwright_core::outputs::Motor;

use super::hands::{Hands, Push};
use super::memory::Acknowledge;
use super::plant::{Mast, Plant};

/// What has been asked for since power-up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Asked {
    /// Nothing was seen of the controls that a fresh push could come out of.
    #[default]
    Nothing,
    /// The selector was seen centred.
    Centred,
    /// The stop switch was seen released.
    Released,
    /// Both.
    Ready,
    /// A fresh push has come.
    Given,
}

/// What a stop still forbids.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stop {
    /// Nothing.
    #[default]
    Free,
    /// Thrust, until the switch is released and Deploy is asked for.
    Thrown,
    /// Thrust, until Deploy is asked for.
    Released,
    /// Thrust, until the switch is released: Deploy was asked for since it was thrown.
    Opposed,
}

/// The memory of the observer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Watch {
    /// Fresh pushes since power-up (SR-05).
    pub asked: Asked,
    /// What a stop still forbids (SR-06, but for the throttle seen closed after it).
    pub stop: Stop,
    /// The throttle was seen closed since the mast locked (SR-08).
    pub closed: bool,
    /// Acknowledge was pressed since Bench is shown (SR-02).
    pub restrained: bool,
}

impl Watch {
    /// The observer after a step that began in `before` and told `outputs`.
    #[must_use]
    pub fn after(&self, plant: &Plant, hands: &Hands, before: State, outputs: &Outputs) -> Self {
        let shown = outputs.indications.state;
        let locked = plant.mast == Mast::Locked;
        // Where the aircraft rests or stows, a stop counts as not yet answered: whatever was
        // asked for before, thrust needs a Deploy asked for from here.
        let rests = matches!(
            shown,
            State::Waking | State::Resting | State::Stowed | State::Bench | State::Halted(_)
        );
        let stop = match self.stop_after(hands) {
            Stop::Free if rests || shown.is_stowing() => Stop::Released,
            Stop::Opposed if rests || shown.is_stowing() => Stop::Thrown,
            stop @ (Stop::Free | Stop::Thrown | Stop::Released | Stop::Opposed) => stop,
        };
        // A throttle that was closed before the last move counts for nothing: the judge may
        // be stricter than it must.
        let closed = is_ready(before) && !hands.throttle;
        Self {
            asked: self.asked_after(hands),
            stop,
            closed: locked && is_ready(shown) && (self.closed || closed),
            restrained: shown == State::Bench
                && (self.restrained
                    || (before == State::Bench && hands.acknowledge == Acknowledge::Pressed)),
        }
    }

    /// What has been asked for after a step under these hands.
    pub(super) fn asked_after(&self, hands: &Hands) -> Asked {
        let centred = matches!(self.asked, Asked::Centred | Asked::Ready);
        let released = matches!(self.asked, Asked::Released | Asked::Ready);
        let pushed = hands.selector != Push::Hold && centred;
        if self.asked == Asked::Given || pushed || (hands.stop && released) {
            return Asked::Given;
        }
        match (
            centred || hands.selector == Push::Hold,
            released || !hands.stop,
        ) {
            (false, false) => Asked::Nothing,
            (true, false) => Asked::Centred,
            (false, true) => Asked::Released,
            (true, true) => Asked::Ready,
        }
    }

    fn stop_after(&self, hands: &Hands) -> Stop {
        match (self.stop, hands.stop, hands.selector) {
            (_, true, Push::Deploy) | (Stop::Opposed, true, _) => Stop::Opposed,
            (_, true, Push::Hold | Push::Stow) => Stop::Thrown,
            (Stop::Free | Stop::Opposed, false, _) | (_, false, Push::Deploy) => Stop::Free,
            (Stop::Thrown | Stop::Released, false, Push::Hold | Push::Stow) => Stop::Released,
        }
    }

    /// True when thrust is commanded.
    #[must_use]
    pub fn propels(outputs: &Outputs) -> bool {
        matches!(outputs.drives.motor, Motor::Thrust(_))
    }
}

/// The mast is out, and the throttle counts.
const fn is_ready(state: State) -> bool {
    matches!(state, State::Deployed | State::Armed | State::Thrust)
}
