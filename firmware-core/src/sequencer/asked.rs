//! What a tick asks of its readings: for tools that explore the controller, and try of readings
//! that come to the same only one.
//!
//! A condition that no guard asks for in a state, under an intention, with the selector held so and
//! the bus in its stage, may be proven or not: the tick does the same, but for what it tells of denials and proofs. What
//! is asked for is what the way on asks for, and what each state that it may lead to asks for its
//! commands; a test flips all others. It depends on no reading but the controls, nor on a timer
//! that may run out in the tick.

use enumset::enum_set;

use super::{Inputs, Seen, Sequencer};
use crate::bus::{self, Stage};
use crate::command::{Intention, Said, Selector};
use crate::config::Config;
use crate::fault::Faults;
use crate::interlock::{Condition, Conditions};
use crate::state::State;
use crate::units::Permille;

/// What one tick's readings come to, beside the memory that they leave.
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

/// What hands may turn the sequencer by in a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Turn {
    intention: Option<Intention>,
    selector: Selector,
}

/// What a tick asks of what its readings come to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Asks {
    proven: Conditions,
    thrust_limit: bool,
    slow_air: bool,
    lock_to_prove: bool,
}

impl Sense {
    /// As far as it is asked for.
    #[must_use]
    pub fn where_asked(&self, asked: &Asks) -> Self {
        Self {
            proven: self.proven & asked.proven,
            thrust_limit: if asked.thrust_limit {
                self.thrust_limit
            } else {
                Permille::ZERO
            },
            slow_air: self.slow_air && asked.slow_air,
            lock_to_prove: self.lock_to_prove && asked.lock_to_prove,
            ..*self
        }
    }
}

impl Turn {
    /// By what the controls say.
    #[must_use]
    pub const fn of(said: &Said) -> Self {
        Self {
            intention: said.intention,
            selector: said.selector,
        }
    }

    /// A stow that is under way goes on.
    fn stows_on(self) -> bool {
        self.intention != Some(Intention::Deploy)
    }

    /// Every one.
    fn every() -> impl Iterator<Item = Self> {
        const INTENTIONS: [Option<Intention>; 4] = [
            None,
            Some(Intention::Deploy),
            Some(Intention::Stow),
            Some(Intention::StopAndStow),
        ];
        // One that is not proven asks for what a centred one does.
        const SELECTORS: [Selector; 3] = [Selector::Hold, Selector::Deploy, Selector::Stow];
        INTENTIONS.into_iter().flat_map(|intention| {
            SELECTORS.map(|selector| Self {
                intention,
                selector,
            })
        })
    }
}

impl Sequencer {
    /// Begins a tick: reads, and does nothing yet. Where two readings come to the same, as far as
    /// is asked for, and leave the same memory, so does all that the tick does, but for the way
    /// round in which a blade is turned.
    pub fn sense(&mut self, inputs: &Inputs, config: &Config) -> Sense {
        self.left.tick();
        let seen = self.read(inputs, config);
        self.makes(&seen, config)
    }

    /// Reads the controls alone.
    pub fn turn(&mut self, inputs: &Inputs, config: &Config) -> Turn {
        let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
        let controls = &inputs.controls;
        let said = self.pilot.read(controls, config, &mut proven, &mut active);
        Turn::of(&said)
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
        Sense {
            said,
            proven,
            active,
            bus: self.bus.hears(&bus, config),
            thrust_limit,
            slow_air,
            lock_to_prove,
        }
    }

    /// What the tick asks for, turned so.
    #[must_use]
    pub fn asks(&self, turn: Turn) -> Asks {
        let tick = Tick {
            live: self.bus.stage() == Stage::Live,
            selector: turn.selector,
        };
        let asked = tick.asks(self.state, turn.intention);
        Asks {
            proven: asked.proven | self.bus.asks() | ALWAYS,
            ..asked
        }
    }

    /// What the tick may ask for, however it is turned.
    #[must_use]
    pub fn may_ask(&self) -> Asks {
        Turn::every().fold(Asks::default(), |all, turn| all.or(self.asks(turn)))
    }

    /// True where the airspeed decides of where the sequencer goes. Elsewhere it decides only
    /// whether mast and doors are driven.
    #[must_use]
    pub fn airspeed_leads(&self, turn: Turn) -> bool {
        let live = self.bus.stage() == Stage::Live;
        match self.state {
            State::DeployDoors | State::DeployMast => {
                matches!(turn.intention, None | Some(Intention::Deploy))
            }
            State::StowBrake | State::StowPark => live && turn.stows_on(),
            State::StowMast | State::StowDoors => turn.stows_on(),
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
}

impl Asks {
    const fn of(proven: Conditions) -> Self {
        Self {
            proven,
            thrust_limit: false,
            slow_air: false,
            lock_to_prove: false,
        }
    }

    fn or(self, other: Self) -> Self {
        Self {
            proven: self.proven | other.proven,
            thrust_limit: self.thrust_limit || other.thrust_limit,
            slow_air: self.slow_air || other.slow_air,
            lock_to_prove: self.lock_to_prove || other.lock_to_prove,
        }
    }
}

/// Conditions that are asked for in most states. (Those of what the tick itself does are not
/// yet there when it has read.)
const ALWAYS: Conditions = enum_set!(Condition::ThrottleZero | Condition::OnTime);
/// What `Stowed` is told by.
const STOWED: Conditions = enum_set!(Condition::MastStowed | Condition::DoorsShut);
/// What a motor asks for that slows, turns or holds the blade.
const STILL: Conditions = enum_set!(
    Condition::MastLocked
        | Condition::ShaftSlow
        | Condition::BladeKnown
        | Condition::BladeAgrees
        | Condition::BladeNearPark
        | Condition::MotorObeys
);
/// What thrust asks for.
const PROPEL: Conditions = enum_set!(
    Condition::MastLocked
        | Condition::MotorObeys
        | Condition::CoolEnough
        | Condition::ThrottleProven
        | Condition::StopReleased
);
/// What doors ask for that are to be open.
const OPEN: Conditions = enum_set!(
    Condition::DoorsOpen
        | Condition::DoorsHealthy
        | Condition::OpenRested
        | Condition::AirspeedInRange
);
/// What doors ask for that are to be shut.
const SHUT: Conditions = enum_set!(
    Condition::MastStowed
        | Condition::RetractRested
        | Condition::MastConsistent
        | Condition::DoorsHealthy
        | Condition::CloseRested
        | Condition::AirspeedInRange
);
/// What a mast asks for that is to move, but for the parking proof, which restraint stands for in
/// Bench.
const MOVE: Conditions = enum_set!(
    Condition::DoorsOpen
        | Condition::BladeInPlace
        | Condition::MastConsistent
        | Condition::MastHealthy
        | Condition::AirspeedInRange
);
/// What a mast asks for that is to be raised.
const RAISE: Conditions = enum_set!(MOVE | Condition::MastClear | Condition::ExtendRested);
/// What a mast asks for that is to be lowered.
const LOWER: Conditions = enum_set!(MOVE | Condition::RetractRested);
const PARKED: Conditions = enum_set!(Condition::Parked);
const LOCKED: Conditions = enum_set!(Condition::MastLocked);

/// What is the same in all that a tick may lead to.
#[derive(Clone, Copy)]
struct Tick {
    live: bool,
    selector: Selector,
}

impl Tick {
    /// What a tick asks for that begins in `state`.
    fn asks(self, state: State, intention: Option<Intention>) -> Asks {
        let rest = Asks::of(self.rest());
        match (state, intention) {
            (State::Waking, _) => Asks {
                slow_air: true,
                ..rest.or(Asks::of(STOWED)).or(self.bench())
            },
            (State::Bench, _) => rest.or(self.bench()),
            (State::Stowed, _) | (State::Resting, None) => rest.or(Asks::of(STOWED)),
            (State::Resting | State::Halted(_), Some(Intention::Deploy))
            | (State::Halted(_), None) => rest,
            (
                State::Resting | State::Halted(_) | State::Deployed | State::Armed | State::Thrust,
                Some(Intention::Stow | Intention::StopAndStow),
            )
            | (
                State::DeployPower
                | State::DeployPark
                | State::DeployDoors
                | State::DeployMast
                | State::Jog,
                Some(Intention::StopAndStow),
            ) => rest.or(self.begin_stow()),
            (
                State::DeployPower | State::DeployPark | State::DeployDoors | State::DeployMast,
                Some(Intention::Stow),
            )
            | (
                State::StowPower
                | State::StowBrake
                | State::StowPark
                | State::StowProve
                | State::StowMast
                | State::StowDoors,
                Some(Intention::Deploy),
            ) => rest.or(self.by_hand(PARKED)),
            (State::Jog, None | Some(Intention::Deploy | Intention::Stow)) => rest.or(self.jog()),
            (
                State::DeployPower
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
                | State::StowDoors,
                _,
            ) => rest.or(self.goes_on(state)),
        }
    }

    /// What it asks for to go on with what it does.
    fn goes_on(self, state: State) -> Asks {
        let live = |asked: Asks| if self.live { asked } else { Asks::default() };
        match state {
            State::DeployPark => Asks::of(enum_set!(PARKED | Condition::MastClear | OPEN)),
            State::DeployDoors => Asks::of(enum_set!(PARKED | OPEN | RAISE)),
            State::DeployMast => Asks::of(enum_set!(LOCKED | PARKED | OPEN | RAISE)),
            // Without a live bus there is no thrust, whatever else is proven.
            State::Deployed => Asks::of(LOCKED).or(live(Asks::of(PROPEL))),
            State::Armed | State::Thrust => Asks::of(LOCKED).or(live(Asks {
                thrust_limit: true,
                ..Asks::of(PROPEL)
            })),
            // What it leads to is to slow and park the blade.
            State::StowPower | State::StowBrake | State::StowPark => live(self.park()),
            State::StowProve => Asks::of(enum_set!(PARKED | Condition::MastStowed | OPEN | LOWER)),
            State::StowMast => Asks::of(enum_set!(
                PARKED | Condition::MastClear | Condition::MastStowed | OPEN | LOWER | SHUT
            )),
            State::StowDoors => Asks::of(enum_set!(STOWED | SHUT)),
            // A blade at rest asks for the lock already.
            State::DeployPower
            | State::Waking
            | State::Resting
            | State::Stowed
            | State::Jog
            | State::Bench
            | State::Halted(_) => Asks::default(),
        }
    }

    /// What a motor asks for that keeps the blade as it is: nothing, without a live bus.
    const fn rest(self) -> Conditions {
        if self.live {
            STILL
        } else {
            Conditions::empty()
        }
    }

    /// What is asked for where a stow begins.
    fn begin_stow(self) -> Asks {
        let park = if self.live {
            self.park()
        } else {
            Asks::default()
        };
        park.or(Asks::of(SHUT))
    }

    /// What it takes to slow and park a blade, first pressing the mast on its lock.
    fn park(self) -> Asks {
        Asks {
            lock_to_prove: true,
            ..Asks::of(enum_set!(STILL | PARKED | OPEN | RAISE))
        }
    }

    /// What a held selector asks for; to move the mast also what keeps the blade in its place.
    fn by_hand(self, place: Conditions) -> Asks {
        Asks::of(match self.selector {
            Selector::Hold | Selector::Unproven => Conditions::empty(),
            Selector::Deploy => place | LOCKED | OPEN | RAISE,
            Selector::Stow => place | STOWED | OPEN | LOWER | SHUT,
        })
    }

    /// What Bench asks for: there restraint stands for the parking proof, and a lock that only
    /// shows is pressed on no further.
    fn bench(self) -> Asks {
        Asks {
            lock_to_prove: self.selector == Selector::Deploy,
            ..self.by_hand(Conditions::empty())
        }
    }

    /// What Jog asks for: where it ends, once the selector is let go.
    fn jog(self) -> Asks {
        match self.selector {
            Selector::Hold | Selector::Unproven => Asks::of(STOWED | LOCKED),
            Selector::Deploy | Selector::Stow => self.by_hand(PARKED),
        }
    }
}
