//! The stable codes under which the journal keeps states, faults and events.
//!
//! A code outlives the program that wrote it: a record is read back by a later
//! version. Hence a code is never reused or changed, only added; and it is written
//! down here, apart from the order in which an enum happens to list its variants.
//! A new variant does not compile until it has a code.

use enumset::EnumSet;

use crate::bus::Stage;
use crate::command::Intention;
use crate::fault::{Fault, Faults};
use crate::outputs::Event;
use crate::state::{Halt, State};

use super::Entry;

/// A value with a code of one byte.
pub(super) trait Coded: Sized {
    /// The value's code.
    fn code(self) -> u8;
    /// The value with this code, if there is one.
    fn from_code(code: u8) -> Option<Self>;
}

/// Writes both directions from one table, so that they cannot drift apart.
macro_rules! codes {
    ($type:ident: $($code:literal => $variant:ident),+ $(,)?) => {
        impl Coded for $type {
            fn code(self) -> u8 {
                match self {
                    $(Self::$variant => $code,)+
                }
            }

            fn from_code(code: u8) -> Option<Self> {
                match code {
                    $($code => Some(Self::$variant),)+
                    _ => None,
                }
            }
        }
    };
}

codes!(Intention: 1 => Deploy, 2 => Stow, 3 => StopAndStow);

codes!(Stage:
    1 => Draining,
    2 => Dead,
    3 => Checking,
    4 => Precharging,
    5 => Closing,
    6 => Live,
    7 => Opening,
);

codes!(Halt:
    1 => NoBus,
    2 => NotSlowed,
    3 => NotParked,
    4 => Doors,
    5 => MastOverdue,
    6 => MastFault,
    7 => LockLost,
    8 => StopThrown,
    9 => TooFast,
);

// A fault's code is also its bit in a set of faults: 0 to 63.
codes!(Fault:
    0 => MastContradiction,
    1 => MastSensorLost,
    2 => MastOverload,
    3 => MastOverdue,
    4 => MastNotFollowing,
    5 => MastUnasked,
    6 => DoorContradiction,
    7 => DoorSensorLost,
    8 => DoorOverload,
    9 => DoorOverdue,
    10 => DoorUnasked,
    11 => BladeDisagreement,
    12 => BladeSensorLost,
    13 => BrakeOverdue,
    14 => ParkOverdue,
    15 => ParkLost,
    16 => MotorUnasked,
    17 => InsulationLow,
    18 => PrechargeFailed,
    19 => MainStuckOpen,
    20 => MainWelded,
    21 => DischargeFailed,
    22 => BusLost,
    23 => Pack1Unusable,
    24 => Pack2Unusable,
    25 => PacksUnbalanced,
    26 => ChargeLow,
    27 => PackHot,
    28 => MotorHot,
    29 => ControllerHot,
    30 => TemperatureUnknown,
    31 => FansFailed,
    32 => HeatingTooFast,
    33 => ThrottleUnproven,
    34 => StopSwitchUnproven,
    35 => SelectorUnproven,
    36 => AirspeedUnknown,
    37 => Overspeed,
    38 => AuxiliaryLow,
    39 => DeadlineMissed,
    40 => LockLost,
);

/// Marks a halt's code among the codes of states.
const HALTED: u8 = 0x80;

impl Coded for State {
    fn code(self) -> u8 {
        match self {
            Self::Waking => 1,
            Self::Resting => 2,
            Self::Stowed => 3,
            Self::DeployPower => 4,
            Self::DeployPark => 5,
            Self::DeployDoors => 6,
            Self::DeployMast => 7,
            Self::Deployed => 8,
            Self::Armed => 9,
            Self::Thrust => 10,
            Self::StowPower => 11,
            Self::StowBrake => 12,
            Self::StowPark => 13,
            Self::StowMast => 14,
            Self::StowDoors => 15,
            Self::Jog => 16,
            Self::Bench => 17,
            Self::StowProve => 18,
            Self::Halted(halt) => HALTED | halt.code(),
        }
    }

    fn from_code(code: u8) -> Option<Self> {
        match code {
            1 => Some(Self::Waking),
            2 => Some(Self::Resting),
            3 => Some(Self::Stowed),
            4 => Some(Self::DeployPower),
            5 => Some(Self::DeployPark),
            6 => Some(Self::DeployDoors),
            7 => Some(Self::DeployMast),
            8 => Some(Self::Deployed),
            9 => Some(Self::Armed),
            10 => Some(Self::Thrust),
            11 => Some(Self::StowPower),
            12 => Some(Self::StowBrake),
            13 => Some(Self::StowPark),
            14 => Some(Self::StowMast),
            15 => Some(Self::StowDoors),
            16 => Some(Self::Jog),
            17 => Some(Self::Bench),
            18 => Some(Self::StowProve),
            HALTED.. => Halt::from_code(code & !HALTED).map(Self::Halted),
            _ => None,
        }
    }
}

/// The bit of one fault.
fn bit(fault: Fault) -> u64 {
    1_u64.checked_shl(u32::from(fault.code())).unwrap_or(0)
}

/// A set of faults as bits.
pub(super) fn faults_to_bits(faults: Faults) -> u64 {
    faults.iter().fold(0, |bits, fault| bits | bit(fault))
}

/// The set of faults these bits stand for; none if a bit stands for no fault.
pub(super) fn faults_from_bits(bits: u64) -> Option<Faults> {
    let faults: Faults = EnumSet::<Fault>::all()
        .iter()
        .filter(|fault| bits & bit(*fault) != 0)
        .collect();
    (faults_to_bits(faults) == bits).then_some(faults)
}

/// An entry as its kind and two operands; an operand not used is zero.
pub(super) fn entry_to_bytes(entry: Entry) -> [u8; 3] {
    match entry {
        Entry::Started => [1, 0, 0],
        Entry::Lost(count) => [2, count, 0],
        Entry::Happened(Event::Went { from, to }) => [3, from.code(), to.code()],
        Entry::Happened(Event::Intended(intention)) => [4, intention.code(), 0],
        Entry::Happened(Event::Ignored(intention)) => [5, intention.code(), 0],
        Entry::Happened(Event::Latched(fault)) => [6, fault.code(), 0],
        Entry::Happened(Event::Cleared(fault)) => [7, fault.code(), 0],
        Entry::Happened(Event::Bus(stage)) => [8, stage.code(), 0],
        Entry::Happened(Event::Acknowledged) => [9, 0, 0],
        Entry::Happened(Event::RestraintConfirmed) => [10, 0, 0],
        Entry::Happened(Event::RestraintEnded) => [11, 0, 0],
    }
}

/// The entry these bytes stand for, if they stand for one.
pub(super) fn entry_from_bytes(bytes: [u8; 3]) -> Option<Entry> {
    Some(match bytes {
        [1, 0, 0] => Entry::Started,
        [2, count, 0] => Entry::Lost(count),
        [3, from, to] => Entry::Happened(Event::Went {
            from: State::from_code(from)?,
            to: State::from_code(to)?,
        }),
        [4, code, 0] => Entry::Happened(Event::Intended(Intention::from_code(code)?)),
        [5, code, 0] => Entry::Happened(Event::Ignored(Intention::from_code(code)?)),
        [6, code, 0] => Entry::Happened(Event::Latched(Fault::from_code(code)?)),
        [7, code, 0] => Entry::Happened(Event::Cleared(Fault::from_code(code)?)),
        [8, code, 0] => Entry::Happened(Event::Bus(Stage::from_code(code)?)),
        [9, 0, 0] => Entry::Happened(Event::Acknowledged),
        [10, 0, 0] => Entry::Happened(Event::RestraintConfirmed),
        [11, 0, 0] => Entry::Happened(Event::RestraintEnded),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use super::*;

    /// Every value of one code space that decodes, by its code.
    fn decodable<T: Coded>() -> Vec<(u8, T)> {
        (0..=u8::MAX)
            .filter_map(|code| Some((code, T::from_code(code)?)))
            .collect()
    }

    fn states() -> Vec<State> {
        let named = State::ALL.into_iter();
        named.chain(Halt::ALL.map(State::Halted)).collect()
    }

    #[test]
    fn every_value_comes_back_from_its_code() {
        for state in states() {
            assert_eq!(State::from_code(state.code()), Some(state));
        }
        for halt in Halt::ALL {
            assert_eq!(Halt::from_code(halt.code()), Some(halt));
        }
        for fault in Faults::all() {
            assert_eq!(Fault::from_code(fault.code()), Some(fault));
        }
    }

    #[test]
    fn every_code_that_means_anything_means_one_thing() {
        for (code, value) in decodable::<State>() {
            assert_eq!(value.code(), code);
        }
        for (code, value) in decodable::<Halt>() {
            assert_eq!(value.code(), code);
        }
        for (code, value) in decodable::<Fault>() {
            assert_eq!(value.code(), code);
        }
        for (code, value) in decodable::<Intention>() {
            assert_eq!(value.code(), code);
        }
        for (code, value) in decodable::<Stage>() {
            assert_eq!(value.code(), code);
        }
    }

    #[test]
    fn as_many_codes_decode_as_there_are_values() {
        assert_eq!(decodable::<Fault>().len(), Faults::all().len());
        assert_eq!(decodable::<Halt>().len(), Halt::ALL.len());
        // `State::ALL` lists `Halted` once; its reasons are listed apart.
        assert_eq!(
            decodable::<State>().len() + 1,
            State::ALL.len() + Halt::ALL.len()
        );
        assert_eq!(decodable::<Intention>().len(), 3);
        assert_eq!(decodable::<Stage>().len(), 7);
    }

    #[test]
    fn every_three_bytes_either_mean_an_entry_that_encodes_to_them_or_nothing() {
        let mut entries = 0;
        for kind in 0..=u8::MAX {
            for a in 0..=u8::MAX {
                for b in 0..=u8::MAX {
                    if let Some(entry) = entry_from_bytes([kind, a, b]) {
                        assert_eq!(entry_to_bytes(entry), [kind, a, b]);
                        entries += 1;
                    }
                }
            }
        }
        let went = decodable::<State>().len() * decodable::<State>().len();
        let faults = 2 * Faults::all().len();
        assert_eq!(entries, 1 + 256 + went + 2 * 3 + faults + 7 + 3);
    }

    #[test]
    fn a_set_of_faults_comes_back_from_its_bits_and_a_stray_bit_is_refused() {
        for fault in Faults::all() {
            let others = !Faults::only(fault);
            assert_eq!(faults_from_bits(faults_to_bits(others)), Some(others));
            assert_eq!(faults_to_bits(fault.into()).count_ones(), 1);
        }
        assert_eq!(faults_from_bits(u64::MAX), None);
    }
}
