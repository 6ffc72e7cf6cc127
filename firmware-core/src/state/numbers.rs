//! States as numbers, for tools that explore or record the controller.

use super::{Halt, State};
use crate::walk::Choice;

impl State {
    /// How many states there are, each safe halt counted by its reason.
    pub const COUNT: u8 = 28;
    /// The number of the first safe halt; the others follow in the order of
    /// [`Halt::ALL`].
    const FIRST_HALT: u8 = 18;
}

impl Choice for State {
    fn number(self) -> u8 {
        match self {
            Self::Waking => 0,
            Self::Resting => 1,
            Self::Stowed => 2,
            Self::DeployPower => 3,
            Self::DeployPark => 4,
            Self::DeployDoors => 5,
            Self::DeployMast => 6,
            Self::Deployed => 7,
            Self::Armed => 8,
            Self::Thrust => 9,
            Self::StowPower => 10,
            Self::StowBrake => 11,
            Self::StowPark => 12,
            Self::StowProve => 13,
            Self::StowMast => 14,
            Self::StowDoors => 15,
            Self::Jog => 16,
            Self::Bench => 17,
            Self::Halted(halt) => Self::FIRST_HALT.saturating_add(match halt {
                Halt::NoBus => 0,
                Halt::NotSlowed => 1,
                Halt::NotParked => 2,
                Halt::Doors => 3,
                Halt::MastOverdue => 4,
                Halt::MastFault => 5,
                Halt::LockLost => 6,
                Halt::StopThrown => 7,
                Halt::TooFast => 8,
                Halt::BenchKey => 9,
            }),
        }
    }

    fn numbered(number: u8) -> Self {
        const PLAIN: [State; 18] = [
            State::Waking,
            State::Resting,
            State::Stowed,
            State::DeployPower,
            State::DeployPark,
            State::DeployDoors,
            State::DeployMast,
            State::Deployed,
            State::Armed,
            State::Thrust,
            State::StowPower,
            State::StowBrake,
            State::StowPark,
            State::StowProve,
            State::StowMast,
            State::StowDoors,
            State::Jog,
            State::Bench,
        ];
        let halt = usize::from(number.saturating_sub(Self::FIRST_HALT));
        match PLAIN.get(usize::from(number)) {
            Some(&state) => state,
            None => Halt::ALL
                .get(halt)
                .map_or(Self::Waking, |&halt| Self::Halted(halt)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_has_its_own_number_and_comes_back_from_it() {
        for number in 0..State::COUNT {
            assert_eq!(State::numbered(number).number(), number);
        }
    }
}
