//! What of the blade is chosen anew in a step.

use mastwright_core::State;

use crate::explore::plant::{Blade, Mast};

impl Blade {
    /// What of the blade can matter in a step that begins in `state`, the mast out of the
    /// bay. Off its lock the motor has no torque, nor has it without a live bus, unless it
    /// `grips` the blade still; and only the parking proof is asked for.
    #[must_use]
    pub fn of(state: State, mast: Mast, grips: bool) -> Self {
        let torque = grips && mast == Mast::Locked;
        match state {
            State::Waking | State::Stowed => Self::Not,
            State::StowBrake => Self::All,
            State::Resting
            | State::Halted(_)
            | State::DeployPower
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
                if !torque =>
            {
                Self::Not
            }
            State::Bench | State::StowProve => Self::Place,
            State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::StowPark
            | State::StowMast
            | State::StowDoors
            | State::Jog
                if !torque =>
            {
                Self::Place
            }
            State::Resting
            | State::Halted(_)
            | State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
            | State::StowPark
            | State::StowMast
            | State::StowDoors
            | State::Jog => Self::All,
        }
    }
}
