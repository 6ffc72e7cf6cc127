//! Fault codes: their alert class, their latching, their clearing.
//!
//! Responsibilities:
//! 1. Name every fault the controller can recognise, once.
//! 2. Latch a fault the tick its cause is established; keep it until the pilot
//!    clears it on purpose and the cause is gone (SR-20).
//! 3. Let an acknowledge silence an alert, never hide it.
//!
//! The class follows the airworthiness codes: a warning needs immediate awareness
//! and immediate response, a caution immediate awareness and a later response, an
//! advisory awareness. Source: 14 CFR 25.1322(a)-(c), read; used as a model.

use enumset::{EnumSet, EnumSetType};

/// A set of faults.
pub type Faults = EnumSet<Fault>;

/// Class of an alert.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Class {
    /// The crew should know.
    Advisory,
    /// The crew must know at once and act later.
    Caution,
    /// The crew must know at once and act at once.
    Warning,
}

/// Every fault the controller can recognise.
#[derive(EnumSetType, Debug, Hash)]
#[enumset(repr = "u64")]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Fault {
    /// Mast switches contradict each other or the position sensor (SR-12).
    MastContradiction,
    /// A mast sensor gives no proven reading.
    MastSensorLost,
    /// The mast drive draws more than its limit.
    MastOverload,
    /// The mast drive ran its time out without reaching its end.
    MastOverdue,
    /// The mast is driven, and its position does not follow.
    MastNotFollowing,
    /// The mast moves though it is not driven.
    MastUnasked,
    /// The lock was lost with the mast deployed, armed or propelling.
    LockLost,
    /// The door switches contradict one another.
    DoorContradiction,
    /// A door switch gives no proven reading.
    DoorSensorLost,
    /// The door drive draws more than its limit.
    DoorOverload,
    /// The door drive ran its time out without reaching its end, the doors were not where
    /// they must be when their stage was over, or they were told shut and never pressed.
    DoorOverdue,
    /// A door moved though it is not driven.
    DoorUnasked,
    /// The two blade angle sources disagree while the shaft is slow.
    BladeDisagreement,
    /// A blade angle source or the shaft speed gives no proven reading.
    BladeSensorLost,
    /// The propeller did not slow down within its time.
    BrakeOverdue,
    /// The propeller was not proven parked within its time.
    ParkOverdue,
    /// The propeller left its parked angle while the mast needed it there.
    ParkLost,
    /// The motor draws current though no torque is commanded, or a blade that it turns or
    /// holds runs away.
    MotorUnasked,
    /// Insulation resistance is below its limit, or unknown.
    InsulationLow,
    /// The bus did not pre-charge within its time, or its packs were let go before it closed.
    PrechargeFailed,
    /// The main contactor did not close when commanded.
    MainStuckOpen,
    /// The main contactor is closed though commanded open.
    MainWelded,
    /// The bus did not fall below the high-voltage limit within its time (SR-18).
    DischargeFailed,
    /// The bus was lost while in use.
    BusLost,
    /// Pack 1 is out of its limits or not heard.
    Pack1Unusable,
    /// Pack 2 is out of its limits or not heard.
    Pack2Unusable,
    /// The packs differ too much to be joined; the fuller one serves alone.
    PacksUnbalanced,
    /// Charge is below the reserve.
    ChargeLow,
    /// A pack is hot.
    PackHot,
    /// The motor is hot.
    MotorHot,
    /// The motor controller is hot.
    ControllerHot,
    /// A temperature gives no proven reading; power is limited.
    TemperatureUnknown,
    /// The fans are commanded on and do not turn.
    FansFailed,
    /// The controller heats faster than working cooling can explain.
    HeatingTooFast,
    /// The throttle tracks disagree or give no proven reading.
    ThrottleUnproven,
    /// The contacts of the stop-and-stow switch disagree or give no proven reading.
    StopSwitchUnproven,
    /// The contacts of the mast selector contradict one another or are not heard.
    SelectorUnproven,
    /// Airspeed gives no proven reading; the mast will not move.
    AirspeedUnknown,
    /// Airspeed is above the limit for a mast out of its bay.
    Overspeed,
    /// The auxiliary battery is low.
    AuxiliaryLow,
    /// The board missed a tick deadline.
    DeadlineMissed,
}

impl Fault {
    /// How urgently the crew must know.
    #[must_use]
    pub const fn class(self) -> Class {
        match self {
            Self::MastContradiction
            | Self::MastOverload
            | Self::MastUnasked
            | Self::LockLost
            | Self::DoorUnasked
            | Self::ParkLost
            | Self::MotorUnasked
            | Self::MainWelded
            | Self::DischargeFailed
            | Self::BusLost
            | Self::MotorHot
            | Self::ControllerHot
            | Self::PackHot
            | Self::HeatingTooFast
            | Self::FansFailed
            | Self::Overspeed => Class::Warning,
            Self::MastSensorLost
            | Self::MastOverdue
            | Self::MastNotFollowing
            | Self::DoorContradiction
            | Self::DoorSensorLost
            | Self::DoorOverload
            | Self::DoorOverdue
            | Self::BladeDisagreement
            | Self::BladeSensorLost
            | Self::BrakeOverdue
            | Self::ParkOverdue
            | Self::InsulationLow
            | Self::PrechargeFailed
            | Self::MainStuckOpen
            | Self::Pack1Unusable
            | Self::Pack2Unusable
            | Self::ChargeLow
            | Self::TemperatureUnknown
            | Self::ThrottleUnproven
            | Self::StopSwitchUnproven
            | Self::SelectorUnproven
            | Self::DeadlineMissed => Class::Caution,
            Self::PacksUnbalanced | Self::AirspeedUnknown | Self::AuxiliaryLow => Class::Advisory,
        }
    }
}

/// The latched faults and which of their alerts are silenced.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Latch {
    latched: Faults,
    silenced: Faults,
}

impl Latch {
    /// A latch that already holds `faults`, all sounding: what a power loss must
    /// not make the controller forget.
    #[must_use]
    pub fn holding(faults: Faults) -> Self {
        Self {
            latched: faults,
            silenced: Faults::empty(),
        }
    }

    /// Latches `active` and returns those that were not latched before.
    pub fn latch(&mut self, active: Faults) -> Faults {
        let new = active - self.latched;
        self.latched |= new;
        new
    }

    /// Silences every alert that is latched now; hides none.
    pub fn acknowledge(&mut self) {
        self.silenced = self.latched;
    }

    /// Clears every latched fault whose cause is gone; returns those cleared.
    pub fn clear(&mut self, active: Faults) -> Faults {
        let gone = self.latched - active;
        self.latched -= gone;
        self.silenced &= self.latched;
        gone
    }

    /// Every latched fault.
    #[must_use]
    pub const fn latched(&self) -> Faults {
        self.latched
    }

    /// Latched faults whose alert still sounds.
    #[must_use]
    pub fn sounding(&self) -> Faults {
        self.latched - self.silenced
    }
}

#[cfg(feature = "walk")]
impl Latch {
    pub(crate) fn walk(&mut self, visitor: &mut impl crate::walk::Visitor) {
        visitor.latched(&mut self.latched);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_acknowledge_silences_and_never_hides() {
        let mut latch = Latch::default();
        latch.latch(Fault::MotorHot.into());
        latch.acknowledge();
        assert_eq!(latch.latched(), Faults::only(Fault::MotorHot));
        assert_eq!(latch.sounding(), Faults::empty());
    }

    #[test]
    fn a_new_fault_sounds_although_an_older_one_is_silenced() {
        let mut latch = Latch::default();
        latch.latch(Fault::MotorHot.into());
        latch.acknowledge();
        latch.latch(Fault::MotorHot | Fault::ParkLost);
        assert_eq!(latch.sounding(), Faults::only(Fault::ParkLost));
    }

    #[test]
    fn a_fault_whose_cause_remains_cannot_be_cleared() {
        let mut latch = Latch::default();
        latch.latch(Fault::MotorHot | Fault::ParkLost);
        let cleared = latch.clear(Fault::MotorHot.into());
        assert_eq!(cleared, Faults::only(Fault::ParkLost));
        assert_eq!(latch.latched(), Faults::only(Fault::MotorHot));
    }

    #[test]
    fn a_fault_that_returns_after_clearing_sounds_again() {
        let mut latch = Latch::default();
        latch.latch(Fault::ParkLost.into());
        latch.acknowledge();
        latch.clear(Faults::empty());
        latch.latch(Fault::ParkLost.into());
        assert_eq!(latch.sounding(), Faults::only(Fault::ParkLost));
    }
}
