//! What a tick asks of its readings: for tools that explore the controller, and try of readings
//! that come to the same only one.
//!
//! A condition that no guard asks for in a state, with the bus in its stage, may be proven or
//! not: the tick does the same, but for what it tells of denials and proofs. Each row says
//! which are asked for, in every state that the tick may lead to; a test flips all others. What
//! is asked for depends on nothing that is read, nor on a timer that may run out in the tick.

use enumset::enum_set;

use super::{Inputs, Seen, Sequencer};
use crate::bus::{self, Stage};
use crate::command::{Intention, Said, Selector};
use crate::config::Config;
use crate::fault::Faults;
use crate::interlock::{Condition, Conditions};
use crate::state::State;
use crate::units::Permille;

/// What one tick's readings come to, beside the memory that they leave, as far as the tick
/// asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sense {
    said: Said,
    proven: Conditions,
    active: Faults,
    bus: bus::Heard,
    thrust_limit: Permille,
    slow_air: bool,
    lock_to_prove: bool,
}

impl Sequencer {
    /// Begins a tick: reads, and does nothing yet. Where two readings come to the same, and
    /// leave the same memory, so does all that the tick does, but for the way round in which a
    /// blade is turned.
    pub fn sense(&mut self, inputs: &Inputs, config: &Config) -> Sense {
        self.left.tick();
        let seen = self.read(inputs, config);
        self.makes(&seen, config)
    }

    /// What is left of it where nothing [turns](is_still) the sequencer elsewhere.
    #[must_use]
    pub fn still(&self, sense: &Sense) -> Sense {
        self.asks(*sense, true)
    }

    /// What readings come to that were read already.
    pub(super) fn makes(&self, seen: &Seen, config: &Config) -> Sense {
        let Seen {
            said,
            proven,
            active,
            bus,
            thrust_limit,
            slow_air,
            lock_to_prove,
        } = *seen;
        let sense = Sense {
            said,
            proven,
            active,
            bus: self.bus.hears(&bus, config),
            thrust_limit,
            slow_air,
            lock_to_prove,
        };
        self.asks(sense, false)
    }

    fn asks(&self, sense: Sense, still: bool) -> Sense {
        let live = self.bus.stage() == Stage::Live;
        // Bench, once entered, goes by hand in the same tick.
        let by_hand = matches!(self.state, State::Waking | State::Bench) && !still;
        let asked = self.bus.asks()
            | of_torque(live)
            | of_ends(self.state, still, live)
            | of_moves(self.state, still, live)
            | ALWAYS;
        let propels = matches!(self.state, State::Armed | State::Thrust);
        Sense {
            proven: sense.proven & asked,
            thrust_limit: if propels {
                sense.thrust_limit
            } else {
                Permille::ZERO
            },
            slow_air: sense.slow_air && self.state == State::Waking,
            // It is proven by driving, or by hand; the way to it leads through a live bus.
            lock_to_prove: sense.lock_to_prove && (live || by_hand),
            ..sense
        }
    }
}

/// True when neither a fresh intention turns the sequencer elsewhere nor what the selector is
/// held at asks it to drive something.
#[must_use]
pub const fn is_still(state: State, intention: Option<Intention>, selector: Selector) -> bool {
    match state {
        State::Waking | State::Jog | State::Bench => {
            intention.is_none() && matches!(selector, Selector::Hold | Selector::Unproven)
        }
        State::Stowed => true,
        // To deploy begins with the bus.
        State::Resting
        | State::Halted(_)
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::Deployed
        | State::Armed
        | State::Thrust => matches!(intention, None | Some(Intention::Deploy)),
        State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors => !matches!(intention, Some(Intention::Deploy)),
    }
}

/// True where the airspeed decides of where the sequencer goes. Elsewhere it decides only
/// whether mast and doors are driven.
#[must_use]
pub const fn airspeed_leads(state: State) -> bool {
    match state {
        State::DeployDoors
        | State::DeployMast
        | State::StowBrake
        | State::StowPark
        | State::StowMast
        | State::StowDoors => true,
        State::Waking
        | State::Resting
        | State::Stowed
        | State::DeployPower
        | State::DeployPark
        | State::Deployed
        | State::Armed
        | State::Thrust
        | State::StowPower
        | State::StowProve
        | State::Jog
        | State::Bench
        | State::Halted(_) => false,
    }
}

/// Conditions that are asked for in most states. (Those of what the tick itself does are not
/// yet there when it has read.)
const ALWAYS: Conditions = enum_set!(Condition::ThrottleZero | Condition::OnTime);

/// What torque asks for: without a live bus there is none.
const fn of_torque(live: bool) -> Conditions {
    if live {
        enum_set!(
            Condition::ShaftSlow
                | Condition::BladeKnown
                | Condition::BladeAgrees
                | Condition::BladeNearPark
                | Condition::MotorObeys
                | Condition::CoolEnough
                | Condition::ThrottleProven
                | Condition::StopReleased
        )
    } else {
        Conditions::empty()
    }
}

/// Which ends of mast and doors are asked for.
const fn of_ends(state: State, still: bool, live: bool) -> Conditions {
    const STOWED: Conditions = enum_set!(Condition::MastStowed | Condition::DoorsShut);
    const LOCKED: Conditions = enum_set!(Condition::MastLocked);
    if !still {
        return enum_set!(STOWED | LOCKED);
    }
    let locked = if live { LOCKED } else { Conditions::empty() };
    match state {
        State::Jog => enum_set!(STOWED | LOCKED),
        State::DeployMast | State::Deployed | State::Armed | State::Thrust => LOCKED,
        // With its time over it leads to StowMast, in the very tick.
        State::StowProve => enum_set!(Condition::MastStowed | locked),
        State::StowMast | State::Waking | State::Resting | State::Stowed | State::StowDoors => {
            enum_set!(STOWED | locked)
        }
        State::Halted(_)
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::Bench => locked,
    }
}

/// What mast and doors ask for, to move or to go on.
const fn of_moves(state: State, still: bool, live: bool) -> Conditions {
    const DOORS: Conditions = enum_set!(
        Condition::DoorsHealthy
            | Condition::OpenRested
            | Condition::CloseRested
            | Condition::RetractRested
            | Condition::MastConsistent
            | Condition::AirspeedInRange
    );
    // In Bench restraint stands for the parking proof, and nothing else does.
    const BY_HAND: Conditions = enum_set!(
        DOORS
            | Condition::DoorsOpen
            | Condition::MastHealthy
            | Condition::MastClear
            | Condition::ExtendRested
            | Condition::BladeInPlace
    );
    const ALL: Conditions = enum_set!(BY_HAND | Condition::Parked);
    match state {
        State::Waking | State::Bench if !still => BY_HAND,
        State::Waking | State::Bench | State::Stowed => Conditions::empty(),
        State::Resting
        | State::Halted(_)
        | State::DeployPower
        | State::Deployed
        | State::Armed
        | State::Thrust
        | State::Jog
            if still =>
        {
            Conditions::empty()
        }
        // With a live bus it leads to where the lock is proven, by driving.
        State::StowPower if still && !live => Conditions::empty(),
        State::StowDoors if still => DOORS,
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
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::Jog => ALL,
    }
}
