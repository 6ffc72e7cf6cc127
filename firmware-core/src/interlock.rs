//! Every permission, as a table of named conditions.
//!
//! Responsibilities:
//! 1. Name what can be proven in one tick: the [`Condition`]s. Each is a positive
//!    proof; what is unknown is simply absent, and so never permits anything.
//! 2. State each [`Permission`] as clauses. Every clause must hold; a clause holds
//!    when any one of its conditions is proven; a clause that does not hold is a
//!    [`Reason`] for denial.
//! 3. Decide, in one place, by one rule. A denial lists every reason it has.
//!
//! The screen, the journal and the tests read the same reasons.

use enumset::{EnumSet, EnumSetType, enum_set};

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
    /// The mast is deployed and its latch pin has engaged.
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
    /// No current was seen that the motor was not asked to draw.
    MotorObeys,
    /// The bus is proven below the high-voltage limit.
    BusDead,
    /// The bus is live through the main contactor.
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
    /// Airspeed is known and below the limit for moving the mast.
    AirspeedInRange,
    /// Auxiliary charging is asked for and the auxiliary battery can take it.
    AuxWanted,
    /// The mode of control is not Bench.
    NotBench,
    /// The previous tick met its deadline.
    OnTime,
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
    /// The motor drew current unasked.
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

    /// The clauses, all of which must hold.
    #[must_use]
    pub const fn clauses(self) -> &'static [Clause] {
        match self {
            // SR-01, SR-06, SR-08, SR-10.
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
            // SR-02, SR-03, SR-09, SR-12. Above the clearance position the blade
            // is outside the bay, and raising the mast takes it further away.
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
            // SR-09. Opening is harmless wherever the mast is.
            Self::OpenDoors => clauses![
                DoorsHealthy => DoorFaultLatched,
                OpenRested => DeadTime,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // SR-09. A mast that was just raised, and coasts off its stowed end, must not
            // meet doors that close.
            Self::CloseDoors => clauses![
                MastStowed => MastNotStowed,
                RetractRested => DeadTime,
                MastConsistent => MastNotConsistent,
                DoorsHealthy => DoorFaultLatched,
                CloseRested => DeadTime,
                AirspeedInRange => AirspeedOutOfRange,
                OnTime => Late,
            ],
            // SR-25: no torque unless the mast is locked. In the bay the blade has no room
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
            // SR-04, SR-21.
            Self::Precharge => clauses![
                MainOpen => MainNotOpen,
                InsulationOk => InsulationNotOk,
                BusHealthy => BusFaultLatched,
                Pack1Usable | Pack2Usable => NoUsablePack,
                NotBench => Bench,
            ],
            // SR-04.
            Self::CloseMain => clauses![
                Precharged => NotPrecharged,
                InrushFaded => InrushNotFaded,
                InsulationOk => InsulationNotOk,
                BusHealthy => BusFaultLatched,
                Pack1Usable | Pack2Usable => NoUsablePack,
                NotBench => Bench,
            ],
            // SR-19.
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
            Self::MotorDisobeyed => "motor drew current unasked",
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
            Self::Bench => "not in Bench",
            Self::Late => "a tick deadline was missed",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_proven_permits_nothing() {
        for permission in EnumSet::<Permission>::all() {
            assert!(!permission.permitted(Conditions::empty()), "{permission:?}");
        }
    }

    #[test]
    fn everything_proven_permits_everything() {
        for permission in EnumSet::<Permission>::all() {
            assert!(permission.permitted(Conditions::all()), "{permission:?}");
        }
        assert_eq!(EnumSet::<Permission>::all().len(), Permission::COUNT);
    }

    #[test]
    fn more_proof_never_takes_a_permission_away() {
        for permission in EnumSet::<Permission>::all() {
            for absent in Conditions::all() {
                let fewer = Conditions::all() - absent;
                let reasons = permission.reasons(fewer);
                assert!(
                    permission.reasons(fewer | absent).is_subset(reasons),
                    "{permission:?} without {absent:?}"
                );
            }
        }
    }

    #[test]
    fn every_condition_of_a_clause_can_alone_decide_it() {
        for permission in EnumSet::<Permission>::all() {
            for clause in permission.clauses() {
                for condition in clause.any_of {
                    let without = Conditions::all() - clause.any_of;
                    let with = without | condition;
                    assert!(
                        permission.reasons(without).contains(clause.reason),
                        "{permission:?} is not denied without {:?}",
                        clause.any_of
                    );
                    assert!(
                        !permission.reasons(with).contains(clause.reason),
                        "{permission:?}: {condition:?} does not satisfy its clause"
                    );
                }
            }
        }
    }

    #[test]
    fn doors_wait_for_a_mast_that_was_just_raised_to_come_to_rest() {
        let coasting = Conditions::all() - Condition::RetractRested;
        assert_eq!(Permission::CloseDoors.reasons(coasting), Reason::DeadTime);
    }

    #[test]
    fn a_denial_lists_every_reason_it_has() {
        let proven = Conditions::all() - Condition::Parked - Condition::DoorsOpen;
        assert_eq!(
            Permission::Retract.reasons(proven - Condition::Restrained),
            Reason::DoorsNotOpen | Reason::NotParked
        );
    }
}
