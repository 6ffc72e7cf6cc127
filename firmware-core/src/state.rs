//! The states of the sequencer, and the table of ways out of each.
//!
//! Regimes: at rest (nothing moves, an intention is awaited), deploying, thrust,
//! stowing, halted or hand-flown, maintenance. Each state says why it is entered and
//! how it is left; [`State::ways_out`] is the same table as data, from which the
//! diagram is made and against which every transition taken is checked.
//!
//! Interruptions are the same throughout a regime and are not told again at each state:
//! - deploying: stop-and-stow leads to the first step of stowing still to be done, a
//!   Stow intention into `Jog`, a stop by one contact alone or not heard to `Halted`;
//! - thrust: stop-and-stow and Stow lead to the first step of stowing, a Deploy intention
//!   while the bus is not live to `DeployPower`, a stop otherwise to `Halted`;
//! - stowing: a Deploy intention leads into `Jog`. A stop changes nothing: it is obeyed
//!   already.
//!
//! Whatever is demanded, a state never holds or turns the blade with torque unless the
//! bus is live and the mast locked; elsewhere shorted phases slow it at the most.

/// Where the sequencer stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum State {
    // At rest.
    /// Entered at power-up or reset. Nothing moves; signals are heard for the wake
    /// time. Left to `Stowed`, `Resting` or, by the deliberate combined action, `Bench`.
    #[default]
    Waking,
    /// Entered when the controller cannot know what is safe to do by itself: after
    /// waking anywhere but stowed, when what was stowed is no longer proven so, after
    /// Jog or Bench ends. Left by a fresh intention, which the bench key turns into
    /// `Halted`; to `Halted` by a stop of one contact alone or no longer heard; to
    /// `Stowed` when found stowed.
    Resting,
    /// Entered when the mast is proven stowed and the doors proven shut. The bus is
    /// dead unless auxiliary charging needs it. Left by a fresh Deploy, to `Halted` if
    /// the bench key is on; when no longer proven stowed for a while to `Resting`, or to
    /// `Halted` if a stop is thrown in that very tick.
    Stowed,

    // Deploying.
    /// Entered by Deploy: the bus is made live. Left when it is, straight to `Deployed`
    /// where the mast is locked; to `Halted` when overdue.
    DeployPower,
    /// The blade must be proven parked before the mast may leave its place, with nothing
    /// to hold or turn it off the lock. Left when proven, or at once where the mast is
    /// clear of the bay; to `Halted` when overdue.
    DeployPark,
    /// The doors open. Left when proven open; to `Halted` when overdue or by a door
    /// fault.
    DeployDoors,
    /// The mast is raised, and the drive runs on for the lock's proof time once the lock
    /// shows. Left when the lock has shown for that long; to `Halted` when overdue, by a
    /// mast or door fault, or when the blade is not parked inside the bay.
    DeployMast,

    // Thrust.
    /// Entered when the mast is proven locked, and whenever thrust is denied. The blade
    /// is stopped and held while the bus is live. Left to `Armed` once the throttle is
    /// seen at zero and nothing else denies thrust, to `Halted` when the lock is lost.
    Deployed,
    /// Entered from `Deployed`, or from `Thrust` at zero throttle. The blade is stopped
    /// and held. Left to `Thrust` when the throttle opens, to `Deployed` when thrust is
    /// denied, to `Halted` when the lock is lost.
    Armed,
    /// The propeller propels as the throttle demands. Left to `Armed` at zero throttle,
    /// to `Deployed` when thrust is denied, to `Halted` when the lock is lost.
    Thrust,

    // Stowing.
    /// Entered by Stow or stop-and-stow while the bus is not live and the mast not
    /// stowed. Left when it is live, to `Halted` when overdue.
    StowPower,
    /// The propeller is braked. Left when slow; to `Halted` when the bus is lost or when
    /// overdue.
    StowBrake,
    /// The blade is turned to its park angle and held, where the mast is locked; off the
    /// lock it must stand parked already. Left when proven parked and the airspeed is in
    /// range; to `Halted` when the bus is lost or when overdue.
    StowPark,
    /// The hold is let go while the mast is still up: in the bay no torque is allowed,
    /// so the blade must stay parked by itself. Left when it has, or to `Halted`.
    StowProve,
    /// The mast is lowered. Left when proven stowed; to `Halted` when overdue, by a mast
    /// or door fault, or when the blade is not parked inside the bay.
    StowMast,
    /// The doors close; entered straight from the intention where the mast is stowed
    /// already. Left when proven shut; to `Halted` when overdue or by a door fault.
    StowDoors,

    // Halted or hand-flown.
    /// Entered when an opposing intention interrupts a move: the pilot moves the mast
    /// and, where they stand in its way, the doors by holding the selector. Left with
    /// the selector centred, when an end is proven or after it was left alone for a
    /// while; by stop-and-stow; to `Halted` by a stop of one contact alone, by a mast
    /// fault, or when a stop that was opposed still stands once the selector is left
    /// alone.
    Jog,
    /// A declared safe halt, with its reason. Nothing moves; the blade is held where the
    /// mast is locked and the bus live, and slowed elsewhere. Left by a fresh intention;
    /// the bench key turns that into a halt for its own reason, as does a stop of one
    /// contact alone or no longer heard.
    Halted(Halt),

    // Maintenance.
    /// Entered at power-up on the ground by key and acknowledge together, with the throttle
    /// at zero and the airspeed low. Mast, slowly, and doors move only while the key is on
    /// and the selector held, the mast only while restraint is confirmed as well; the bus
    /// is dead and the blade free. Left by turning the key off and holding acknowledge,
    /// lest a key contact that fails let the whole chain loose on whoever stands there: to
    /// `Resting`, or to `Halted` while a stop is demanded.
    Bench,
}

/// Why a safe halt was declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Halt {
    /// The bus did not become live, or was lost.
    NoBus,
    /// The propeller did not slow down in time.
    NotSlowed,
    /// The propeller was not proven parked in time, or its proof was lost.
    NotParked,
    /// The doors were not proven open, or not proven shut, in time, or a door fault
    /// latched while doors or mast moved.
    Doors,
    /// The mast did not reach its end in time.
    MastOverdue,
    /// A mast fault latched while it moved.
    MastFault,
    /// The lock was lost with the mast deployed, armed or propelling.
    LockLost,
    /// The stop switch is thrown, perhaps by one contact alone, or not heard at all: the
    /// stop is obeyed, and no new motion starts on it.
    StopThrown,
    /// Airspeed is too high, or unknown, for mast or doors to move, or for the mast to be
    /// driven to prove its lock.
    TooFast,
    /// Motion was asked for while the bench key is on and Bench was not entered: whoever
    /// turned the key believes in Bench, and may stand near.
    BenchKey,
}

impl Halt {
    /// Every reason.
    pub const ALL: [Self; 10] = [
        Self::NoBus,
        Self::NotSlowed,
        Self::NotParked,
        Self::Doors,
        Self::MastOverdue,
        Self::MastFault,
        Self::LockLost,
        Self::StopThrown,
        Self::TooFast,
        Self::BenchKey,
    ];

    /// The reason in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoBus => "the bus is not live",
            Self::NotSlowed => "the propeller did not slow down",
            Self::NotParked => "the propeller is not proven parked",
            Self::Doors => "the doors are not where they must be",
            Self::MastOverdue => "the mast did not reach its end in time",
            Self::MastFault => "a mast fault latched",
            Self::LockLost => "the mast lock was lost",
            Self::StopThrown => {
                "the stop switch is thrown, perhaps by one contact alone, or not heard"
            }
            Self::TooFast => "the airspeed is too high or unknown",
            Self::BenchKey => "the bench key is on, and this is not Bench",
        }
    }

    /// The documented way out (SR-14), for the pilot.
    #[must_use]
    pub const fn way_out(self) -> &'static str {
        match self {
            Self::NoBus => {
                "land with the mast as it is, or hold acknowledge to clear, then ask again"
            }
            Self::NotSlowed => "slow down, then ask to stow again",
            Self::NotParked => {
                "ask again, or deploy; if it stays unproven, land with the mast out and use Bench"
            }
            Self::Doors => "hold acknowledge to clear, then ask again, or land and inspect",
            Self::MastOverdue | Self::MastFault => {
                "hold acknowledge to clear, then ask either way; if it stays, land and inspect"
            }
            Self::LockLost => "keep the throttle closed, then deploy again or stow",
            Self::StopThrown => "stow by the selector, or release the switch and deploy again",
            Self::TooFast => "slow down and ask either way, or land with the mast as it is",
            Self::BenchKey => "turn the bench key off, then ask again",
        }
    }
}

/// One row of the transition table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WayOut {
    /// The state entered; a halt stands for any of its reasons.
    pub to: State,
    /// What takes the sequencer there.
    pub when: &'static str,
}

const HALT: State = State::Halted(Halt::NoBus);

/// A halt stands in the table without its reason.
macro_rules! ways {
    (@state Halted) => { HALT };
    (@state $to:ident) => { State::$to };
    ($($to:ident: $when:literal,)+) => {
        const { &[$(WayOut { to: ways!(@state $to), when: $when }),+] }
    };
}

impl State {
    /// Every state; `Halted` stands once, with its first reason.
    pub const ALL: [Self; 19] = [
        Self::Waking,
        Self::Resting,
        Self::Stowed,
        Self::DeployPower,
        Self::DeployPark,
        Self::DeployDoors,
        Self::DeployMast,
        Self::Deployed,
        Self::Armed,
        Self::Thrust,
        Self::StowPower,
        Self::StowBrake,
        Self::StowPark,
        Self::StowProve,
        Self::StowMast,
        Self::StowDoors,
        Self::Jog,
        HALT,
        Self::Bench,
    ];

    /// The ways out of this state, in the order in which they are considered.
    #[must_use]
    pub const fn ways_out(self) -> &'static [WayOut] {
        match self {
            Self::Waking => ways![
                Bench: "wake time over, key on, acknowledge held, throttle at zero, airspeed low",
                Stowed: "wake time over, mast stowed and doors shut",
                Resting: "wake time over, otherwise",
            ],
            Self::Resting => ways![
                Halted: "any intention with the bench key on",
                DeployPower: "fresh deploy",
                StowDoors: "stow or stop-and-stow, mast already stowed",
                StowBrake: "stow or stop-and-stow, bus live",
                StowPower: "stow or stop-and-stow, bus not live",
                Halted: "stop by one contact, or no longer heard",
                Stowed: "found stowed",
            ],
            Self::Halted(_) => ways![
                Halted: "any intention with the bench key on",
                DeployPower: "fresh deploy",
                StowDoors: "stow or stop-and-stow, mast already stowed",
                StowBrake: "stow or stop-and-stow, bus live",
                StowPower: "stow or stop-and-stow, bus not live",
                Halted: "stop by one contact, or no longer heard",
            ],
            Self::Stowed => ways![
                Halted: "stop thrown as it is found no longer stowed",
                Resting: "no longer proven stowed",
                Halted: "fresh deploy with the bench key on",
                DeployPower: "fresh deploy",
            ],
            Self::DeployPower => ways![
                StowDoors: "stop-and-stow, mast still stowed",
                StowBrake: "stop-and-stow, bus live",
                StowPower: "stop-and-stow, bus not live",
                Jog: "opposing intention",
                Halted: "stop switch thrown, by one contact too, or not heard",
                Deployed: "bus live, mast locked",
                DeployPark: "bus live",
                Halted: "overdue",
            ],
            Self::DeployPark => ways![
                StowDoors: "stop-and-stow, mast still stowed",
                StowBrake: "stop-and-stow, bus live",
                StowPower: "stop-and-stow, bus not live",
                Jog: "opposing intention",
                Halted: "stop switch thrown, by one contact too, or not heard",
                DeployDoors: "parked, or mast clear of the bay",
                Halted: "overdue",
            ],
            Self::DeployDoors => ways![
                StowDoors: "stop-and-stow, mast still stowed",
                StowBrake: "stop-and-stow, bus live",
                StowPower: "stop-and-stow, bus not live",
                Jog: "opposing intention",
                Halted: "stop switch thrown, by one contact too, or not heard",
                DeployMast: "doors open",
                Halted: "overdue, or door fault",
            ],
            Self::DeployMast => ways![
                StowDoors: "stop-and-stow, mast still stowed",
                StowBrake: "stop-and-stow, bus live",
                StowPower: "stop-and-stow, bus not live",
                Jog: "opposing intention",
                Halted: "stop switch thrown, by one contact too, or not heard",
                Deployed: "mast locked",
                Halted: "overdue, mast or door fault, or not parked in the bay",
            ],
            Self::Deployed => ways![
                StowDoors: "stow or stop-and-stow, mast suddenly told stowed",
                StowBrake: "stow or stop-and-stow, bus live",
                StowPower: "stow or stop-and-stow, bus not live",
                DeployPower: "fresh deploy, bus not live",
                Halted: "stop switch thrown, by one contact too, or not heard",
                Halted: "lock lost",
                Armed: "throttle at zero, nothing else denies thrust",
            ],
            Self::Armed => ways![
                StowDoors: "stow or stop-and-stow, mast suddenly told stowed",
                StowBrake: "stow or stop-and-stow, bus live",
                StowPower: "stow or stop-and-stow, bus not live",
                DeployPower: "fresh deploy, bus not live",
                Halted: "stop switch thrown, by one contact too, or not heard",
                Halted: "lock lost",
                Deployed: "thrust denied",
                Thrust: "throttle open",
            ],
            Self::Thrust => ways![
                StowDoors: "stow or stop-and-stow, mast suddenly told stowed",
                StowBrake: "stow or stop-and-stow, bus live",
                StowPower: "stow or stop-and-stow, bus not live",
                DeployPower: "fresh deploy, bus not live",
                Halted: "stop switch thrown, by one contact too, or not heard",
                Halted: "lock lost",
                Deployed: "thrust denied",
                Armed: "throttle at zero",
            ],
            Self::StowPower => ways![
                Jog: "opposing intention",
                StowBrake: "bus live",
                Halted: "overdue",
            ],
            Self::StowBrake => ways![
                Jog: "opposing intention",
                Halted: "bus lost",
                StowPark: "shaft slow",
                Halted: "overdue",
            ],
            Self::StowPark => ways![
                Jog: "opposing intention",
                Halted: "bus lost",
                StowProve: "parked, airspeed in range",
                Halted: "overdue",
            ],
            Self::StowProve => ways![
                Jog: "opposing intention",
                Halted: "no longer parked",
                StowMast: "stayed parked by itself",
            ],
            Self::StowMast => ways![
                Jog: "opposing intention",
                StowDoors: "mast stowed",
                Halted: "overdue, mast or door fault, or not parked in the bay",
            ],
            Self::StowDoors => ways![
                Jog: "opposing intention",
                Stowed: "doors shut",
                Halted: "overdue, or door fault",
            ],
            Self::Jog => ways![
                StowDoors: "stop-and-stow, mast still stowed",
                StowBrake: "stop-and-stow, bus live",
                StowPower: "stop-and-stow, bus not live",
                Halted: "stop by one contact, or no longer heard; or mast fault",
                Stowed: "selector centred, mast stowed and doors shut",
                Halted: "selector left alone, stop still thrown",
                Deployed: "selector centred, mast locked",
                Resting: "selector left alone",
            ],
            Self::Bench => ways![
                Halted: "key off and acknowledge held, stop switch thrown",
                Resting: "key off and acknowledge held",
            ],
        }
    }

    /// True when the table has a way from this state to `to`.
    #[must_use]
    pub fn leads_to(self, to: Self) -> bool {
        self.ways_out().iter().any(|way| way.to.name() == to.name())
    }

    /// The state's name, without a halt's reason.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Waking => "Waking",
            Self::Resting => "Resting",
            Self::Stowed => "Stowed",
            Self::DeployPower => "DeployPower",
            Self::DeployPark => "DeployPark",
            Self::DeployDoors => "DeployDoors",
            Self::DeployMast => "DeployMast",
            Self::Deployed => "Deployed",
            Self::Armed => "Armed",
            Self::Thrust => "Thrust",
            Self::StowPower => "StowPower",
            Self::StowBrake => "StowBrake",
            Self::StowPark => "StowPark",
            Self::StowProve => "StowProve",
            Self::StowMast => "StowMast",
            Self::StowDoors => "StowDoors",
            Self::Jog => "Jog",
            Self::Halted(_) => "Halted",
            Self::Bench => "Bench",
        }
    }

    /// The reason of a declared safe halt, none in any other state.
    #[must_use]
    pub const fn halt(self) -> Option<Halt> {
        match self {
            Self::Halted(halt) => Some(halt),
            Self::Waking
            | Self::Resting
            | Self::Stowed
            | Self::DeployPower
            | Self::DeployPark
            | Self::DeployDoors
            | Self::DeployMast
            | Self::Deployed
            | Self::Armed
            | Self::Thrust
            | Self::StowPower
            | Self::StowBrake
            | Self::StowPark
            | Self::StowProve
            | Self::StowMast
            | Self::StowDoors
            | Self::Jog
            | Self::Bench => None,
        }
    }

    /// True while a chain of steps runs by itself (Sequenced).
    #[must_use]
    pub const fn is_moving(self) -> bool {
        self.is_deploying() || self.is_stowing()
    }

    /// True in the deploying regime.
    #[must_use]
    pub const fn is_deploying(self) -> bool {
        matches!(
            self,
            Self::DeployPower | Self::DeployPark | Self::DeployDoors | Self::DeployMast
        )
    }

    /// True in the stowing regime.
    #[must_use]
    pub const fn is_stowing(self) -> bool {
        matches!(
            self,
            Self::StowPower
                | Self::StowBrake
                | Self::StowPark
                | Self::StowProve
                | Self::StowMast
                | Self::StowDoors
        )
    }
}

#[cfg(feature = "walk")]
mod numbers;
#[cfg(test)]
mod tests;
