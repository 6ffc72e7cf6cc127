//! Every permission, as a table of named conditions.
//!
//! Responsibilities:
//! 1. Name what can be proven in one tick: the [`Condition`]s. Each is a positive
//!    proof; what is unknown is simply absent, and so never permits anything.
//! 2. State each [`Permission`] as clauses. Every clause must hold; a clause holds
//!    when any one of its conditions is proven; a clause that does not hold is a
//!    [`Reason`] for denial.
//! 3. Decide, in one place, by one rule. A denial lists every reason it has.
//! 4. Say what each condition and permission means, and which safety requirements a
//!    permission serves, as data.
//!
//! The screen, the journal, the tests and the page of permissions read the same table.

use enumset::{EnumSet, EnumSetType, enum_set};

/// An enum whose docs can be read by the program too, so that what a page or a screen
/// says of a variant is what stands beside it here.
macro_rules! documented {
    (
        $(#[$about:meta])*
        pub enum $name:ident { $($(#[doc = $doc:literal])+ $variant:ident,)+ }
    ) => {
        $(#[$about])*
        pub enum $name {
            $($(#[doc = $doc])+ $variant,)+
        }

        impl $name {
            /// What it means, in the words of its own doc.
            #[must_use]
            pub const fn meaning(self) -> &'static str {
                match self {
                    $(Self::$variant => concat!($($doc),+).trim_ascii(),)+
                }
            }
        }
    };
}

#[cfg(feature = "walk")]
mod asked;
mod condition;

#[cfg(feature = "walk")]
pub(crate) use asked::{Asked, Permissions};
pub use condition::{Condition, Conditions};

documented! {
    /// Something that may only be done when it is permitted.
    #[derive(EnumSetType, Debug, Hash)]
    #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum Permission {
        /// Give propulsive torque.
        Propel,
        /// Raise the mast.
        Extend,
        /// Lower the mast.
        Retract,
        /// Open the bay doors.
        OpenDoors,
        /// Close the bay doors.
        CloseDoors,
        /// Turn the blade slowly towards its park angle.
        TurnBlade,
        /// Hold the blade at its park angle.
        HoldBlade,
        /// Brake the propeller with bus power.
        BrakeBlade,
        /// Connect the packs and pre-charge the bus.
        Precharge,
        /// Close the main contactor.
        CloseMain,
        /// Charge the auxiliary battery from the bus.
        AuxCharge,
    }
}

/// Why something was denied: the clause that did not hold.
#[derive(EnumSetType, Debug, Hash)]
#[enumset(repr = "u32")]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// The mast is not proven locked.
    MastNotLocked,
    /// The mast is not proven stowed.
    MastNotStowed,
    /// Mast sensors contradict each other or are not heard.
    MastNotConsistent,
    /// A mast fault is latched.
    MastFaultLatched,
    /// The dead time before reversing the drive is not over.
    DeadTime,
    /// The doors are not proven open.
    DoorsNotOpen,
    /// A door fault is latched.
    DoorFaultLatched,
    /// The propeller is not proven parked.
    NotParked,
    /// Blade angle or shaft speed is not heard.
    BladeUnknown,
    /// The blade angle sources disagree.
    BladeDisagrees,
    /// The blade is not near its park angle.
    BladeNotNearPark,
    /// A source sees the blade outside its park window, or none is heard.
    BladeNotInPlace,
    /// The shaft turns too fast.
    ShaftFast,
    /// Restraint of the blade is not confirmed.
    NotRestrained,
    /// The motor is commanded to propel.
    TorqueOn,
    /// The motor drew current unasked, or a blade that was turned or held ran away.
    MotorDisobeyed,
    /// The bus is not live.
    BusNotLive,
    /// The bus is not pre-charged.
    NotPrecharged,
    /// The pre-charge current has not faded.
    InrushNotFaded,
    /// The main contactor is not proven open.
    MainNotOpen,
    /// A bus fault is latched.
    BusFaultLatched,
    /// Insulation is low or unknown.
    InsulationNotOk,
    /// No pack is usable.
    NoUsablePack,
    /// A temperature is too high.
    TooHot,
    /// The throttle is not proven.
    ThrottleUnproven,
    /// Thrust is not armed.
    NotArmed,
    /// The stop-and-stow switch is thrown or not proven released.
    StopThrown,
    /// Airspeed is too high or unknown.
    AirspeedOutOfRange,
    /// Auxiliary charging is not wanted, or the battery is full.
    AuxNotWanted,
    /// Bench forbids it.
    Bench,
    /// The previous tick missed its deadline.
    Late,
}

/// One clause of a permission: at least one of `any_of` must be proven.
#[derive(Clone, Copy, Debug)]
pub struct Clause {
    /// The conditions, any one of which satisfies the clause.
    pub any_of: Conditions,
    /// Why the permission is denied when none is proven.
    pub reason: Reason,
}

const fn needs(any_of: Conditions, reason: Reason) -> Clause {
    Clause { any_of, reason }
}

macro_rules! clauses {
    ($($($condition:ident)|+ => $reason:ident),+ $(,)?) => {
        const { &[$(needs(enum_set!($(Condition::$condition)|+), Reason::$reason)),+] }
    };
}

impl Permission {
    /// How many permissions there are.
    pub const COUNT: usize = 11;

    /// The safety requirements it serves by its clauses. SR-11 is served by all: what is
    /// not proven is absent.
    #[must_use]
    pub const fn requirements(self) -> &'static [&'static str] {
        match self {
            Self::Propel => &["SR-01", "SR-06", "SR-08", "SR-10", "SR-16", "SR-25"],
            Self::Extend | Self::Retract => &["SR-02", "SR-03", "SR-09", "SR-12", "SR-16", "SR-23"],
            Self::OpenDoors | Self::CloseDoors => &["SR-03", "SR-09", "SR-16", "SR-23"],
            Self::TurnBlade | Self::HoldBlade | Self::BrakeBlade => &["SR-16", "SR-24", "SR-25"],
            Self::Precharge | Self::CloseMain => &["SR-04", "SR-21"],
            Self::AuxCharge => &["SR-19"],
        }
    }

    /// The clauses, all of which must hold.
    #[must_use]
    pub const fn clauses(self) -> &'static [Clause] {
        match self {
            Self::Propel => clauses![
                MastLocked => MastNotLocked,
                Armed => NotArmed,
                StopReleased => StopThrown,
                ThrottleProven => ThrottleUnproven,
                BusLive => BusNotLive,
                Pack1Usable | Pack2Usable => NoUsablePack,
                CoolEnough => TooHot,
                MotorObeys => MotorDisobeyed,
                OnTime => Late,
            ],
            // Above the clearance position the blade is outside the bay, and raising the
            // mast takes it further away. Doors that coast off their open switches end it
            // at once.
            Self::Extend => clauses![
                DoorsOpen => DoorsNotOpen,
                Parked | Restrained | MastClear => NotParked,
                BladeInPlace | MastClear => BladeNotInPlace,
                NotBench | Restrained => NotRestrained,
                MastConsistent => MastNotConsistent,
                MastHealthy => MastFaultLatched,
                ExtendRested => DeadTime,
                TorqueOff => TorqueOn,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // As above; lowering needs the parking proof at any height, since
            // only one sensor tells the height.
            Self::Retract => clauses![
                DoorsOpen => DoorsNotOpen,
                Parked | Restrained => NotParked,
                BladeInPlace => BladeNotInPlace,
                NotBench | Restrained => NotRestrained,
                MastConsistent => MastNotConsistent,
                MastHealthy => MastFaultLatched,
                RetractRested => DeadTime,
                TorqueOff => TorqueOn,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // Opening is harmless wherever the mast is.
            Self::OpenDoors => clauses![
                DoorsHealthy => DoorFaultLatched,
                OpenRested => DeadTime,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // A mast that was just raised, and coasts off its stowed end, must not meet
            // doors that close.
            Self::CloseDoors => clauses![
                MastStowed => MastNotStowed,
                RetractRested => DeadTime,
                MastConsistent => MastNotConsistent,
                DoorsHealthy => DoorFaultLatched,
                CloseRested => DeadTime,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // No torque unless the mast is locked. In the bay the blade has no room
            // to turn, and a motor that disobeyed would turn it; elsewhere it would pull
            // on a mast that nothing holds. Off its lock the blade is slowed by shorted
            // windings and kept by its detent.
            Self::TurnBlade => clauses![
                MastLocked => MastNotLocked,
                BusLive => BusNotLive,
                BladeKnown => BladeUnknown,
                BladeAgrees => BladeDisagrees,
                ShaftSlow => ShaftFast,
                MotorObeys => MotorDisobeyed,
                NotBench => Bench,
                OnTime => Late,
            ],
            Self::HoldBlade => clauses![
                MastLocked => MastNotLocked,
                BusLive => BusNotLive,
                BladeKnown => BladeUnknown,
                BladeAgrees => BladeDisagrees,
                BladeNearPark => BladeNotNearPark,
                ShaftSlow => ShaftFast,
                MotorObeys => MotorDisobeyed,
                NotBench => Bench,
                OnTime => Late,
            ],
            Self::BrakeBlade => clauses![
                MastLocked => MastNotLocked,
                BusLive => BusNotLive,
                MotorObeys => MotorDisobeyed,
                NotBench => Bench,
                OnTime => Late,
            ],
            Self::Precharge => clauses![
                MainOpen => MainNotOpen,
                InsulationOk => InsulationNotOk,
                BusHealthy => BusFaultLatched,
                Pack1Usable | Pack2Usable => NoUsablePack,
                NotBench => Bench,
            ],
            Self::CloseMain => clauses![
                Precharged => NotPrecharged,
                InrushFaded => InrushNotFaded,
                InsulationOk => InsulationNotOk,
                BusHealthy => BusFaultLatched,
                Pack1Usable | Pack2Usable => NoUsablePack,
                NotBench => Bench,
            ],
            Self::AuxCharge => clauses![
                AuxWanted => AuxNotWanted,
                TorqueOff => TorqueOn,
                BusLive => BusNotLive,
                MainClosed => BusNotLive,
                Precharged => NotPrecharged,
                BusHealthy => BusFaultLatched,
                InsulationOk => InsulationNotOk,
                Pack1Usable | Pack2Usable => NoUsablePack,
            ],
        }
    }

    /// Every reason to deny this permission, given what is proven. Empty: permitted.
    #[must_use]
    pub fn reasons(self, proven: Conditions) -> EnumSet<Reason> {
        let mut reasons = EnumSet::empty();
        for clause in self.clauses() {
            if clause.any_of.is_disjoint(proven) {
                reasons |= clause.reason;
            }
        }
        reasons
    }

    /// True when every clause holds.
    #[must_use]
    pub fn permitted(self, proven: Conditions) -> bool {
        self.reasons(proven).is_empty()
    }
}

impl Reason {
    /// The reason in plain words, to follow "denied: ".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::MastNotLocked => "mast not proven locked",
            Self::MastNotStowed => "mast not proven stowed",
            Self::MastNotConsistent => "mast sensors contradict each other or are not heard",
            Self::MastFaultLatched => "a mast fault is latched",
            Self::DeadTime => "dead time before reversing",
            Self::DoorsNotOpen => "doors not proven open",
            Self::DoorFaultLatched => "a door fault is latched",
            Self::NotParked => "propeller not proven parked",
            Self::BladeUnknown => "blade angle or shaft speed not heard",
            Self::BladeDisagrees => "blade angle sources disagree",
            Self::BladeNotNearPark => "blade not near its park angle",
            Self::BladeNotInPlace => "a source sees the blade out of its park window",
            Self::ShaftFast => "shaft not slow enough",
            Self::NotRestrained => "restraint of the blade not confirmed",
            Self::TorqueOn => "motor commanded to propel",
            Self::MotorDisobeyed => "motor drew current unasked, or a held blade ran away",
            Self::BusNotLive => "bus not live",
            Self::NotPrecharged => "bus not pre-charged",
            Self::InrushNotFaded => "pre-charge current not faded",
            Self::MainNotOpen => "main contactor not proven open",
            Self::BusFaultLatched => "a bus fault is latched",
            Self::InsulationNotOk => "insulation low or unknown",
            Self::NoUsablePack => "no usable pack",
            Self::TooHot => "a temperature is too high",
            Self::ThrottleUnproven => "throttle not proven",
            Self::NotArmed => "not armed: throttle not seen at zero since the mast locked",
            Self::StopThrown => "stop-and-stow switch thrown or unproven",
            Self::AirspeedOutOfRange => "airspeed too high or unknown",
            Self::AuxNotWanted => "not asked for, or battery full",
            Self::Bench => "Bench forbids it",
            Self::Late => "a tick deadline was missed",
        }
    }
}

#[cfg(test)]
mod tests;
