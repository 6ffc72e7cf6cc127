//! What can be proven in one tick.

use enumset::{EnumSet, EnumSetType};

documented! {
    /// Something proven in this tick.
    #[derive(EnumSetType, Debug, Hash)]
    #[enumset(repr = "u64")]
    #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum Condition {
        /// Every mast sensor is heard and none contradicts another.
        MastConsistent,
        /// No mast fault is latched that forbids driving it.
        MastHealthy,
        /// The mast is at its stowed end, by switch and position.
        MastStowed,
        /// The mast is above the blade-clearance position, with margin.
        MastClear,
        /// The mast is at its deployed end, by switch and position.
        MastDeployed,
        /// The mast is deployed and its latch pin has engaged: it shows so, and the mast was
        /// driven against it since it last moved or power came.
        MastLocked,
        /// The dead time since the mast was last lowered is over.
        ExtendRested,
        /// The dead time since the mast was last raised is over.
        RetractRested,
        /// Both doors are fully open.
        DoorsOpen,
        /// Both doors are shut.
        DoorsShut,
        /// No door fault is latched that forbids driving them.
        DoorsHealthy,
        /// The dead time since the doors were last closed is over.
        OpenRested,
        /// The dead time since the doors were last opened is over.
        CloseRested,
        /// Both blade angle sources and the shaft speed are heard.
        BladeKnown,
        /// The two blade angle sources agree.
        BladeAgrees,
        /// Both sources see the blade near a park angle, where holding can begin.
        BladeNearPark,
        /// At least one blade angle source is heard, and every one that is heard sees the
        /// blade in its park window. Weaker than `Parked`; what restraint by hand needs.
        BladeInPlace,
        /// The shaft is slow enough to begin parking.
        ShaftSlow,
        /// The propeller is proven parked.
        Parked,
        /// The crew has confirmed that the blade is restrained (Bench).
        Restrained,
        /// The motor is not commanded to propel.
        TorqueOff,
        /// No current was seen that the motor was not asked to draw, nor did a blade that
        /// was turned or held run away.
        MotorObeys,
        /// The bus is proven below the high-voltage limit.
        BusDead,
        /// The bus is live through the main contactor, a pack joined.
        BusLive,
        /// The bus has reached the set share of pack voltage.
        Precharged,
        /// The pre-charge current has faded: a second proof of pre-charge.
        InrushFaded,
        /// The main contactor is proven open by its auxiliary contact.
        MainOpen,
        /// The main contactor is proven closed by its auxiliary contact.
        MainClosed,
        /// No bus fault is latched that forbids closing.
        BusHealthy,
        /// Insulation resistance is at or above its limit.
        InsulationOk,
        /// Pack 1 is within its limits.
        Pack1Usable,
        /// Pack 2 is within its limits.
        Pack2Usable,
        /// No temperature demands that thrust stops.
        CoolEnough,
        /// Both throttle tracks are heard and agree.
        ThrottleProven,
        /// The throttle is proven at zero.
        ThrottleZero,
        /// Thrust has been armed.
        Armed,
        /// No contact of the stop-and-stow switch says thrown, and at least one is heard.
        StopReleased,
        /// Airspeed is known and at or below the limit for moving mast and doors; once it
        /// was above, below that by a band.
        AirspeedInRange,
        /// Auxiliary charging is asked for and the auxiliary battery can take it.
        AuxWanted,
        /// The mode of control is not Bench.
        NotBench,
        /// The previous tick met its deadline.
        OnTime,
    }
}

/// A set of things proven in one tick.
pub type Conditions = EnumSet<Condition>;

impl Condition {
    /// This condition alone if it holds, nothing otherwise.
    #[must_use]
    pub fn when(self, holds: bool) -> Conditions {
        if holds {
            Conditions::only(self)
        } else {
            Conditions::empty()
        }
    }
}
