//! What a tick asks of its readings: for tools that explore the controller, and try of readings
//! that come to the same only one.
//!
//! A condition that no guard asks for in a state, under an intention, with the selector held so and
//! the bus in its stage, may be proven or not: the tick does the same, but for what it tells of
//! denials and proofs. So it does whichever condition a permission is denied for. What is asked for
//! is what the way on asks for, and what each state that it may lead to asks for its commands; a
//! test turns over all else. The table depends on no reading but the controls, nor on a timer that
//! may run out in the tick; by what a blade is kept still depends on the blade as well.

use enumset::enum_set;

use super::{Inputs, Seen, Sequencer};
use crate::bus::{self, Stage};
use crate::command::{Intention, Said, Selector};
use crate::config::Config;
use crate::fault::Faults;
use crate::interlock::{Asked, Condition, Conditions, Permission, Permissions};
use crate::propeller::Propeller;
use crate::state::State;
use crate::units::Permille;

/// What one tick's readings come to, beside the memory that they leave.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sense {
    said: Said,
    proven: Conditions,
    /// Of the permissions that are asked for those that are given.
    permitted: Permissions,
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
    asked: Asked,
    /// Whether a motor that is to keep the blade still may, and by what: to brake, turn or hold it.
    still: bool,
    thrust_limit: bool,
    slow_air: bool,
    lock_to_prove: bool,
    /// Restraint may stand for the parking proof.
    bench: bool,
}

impl Sense {
    /// As far as it is asked for.
    #[must_use]
    pub fn where_asked(&self, asks: &Asks) -> Self {
        let taken = if asks.bench {
            LATER | Condition::Restrained
        } else {
            LATER
        };
        let proven = self.proven | taken;
        let asked = if asks.still {
            asks.asked.permit(Propeller::stilled_by(proven).into())
        } else {
            asks.asked
        };
        Self {
            proven: self.proven & asked.proven,
            permitted: asked.permitted(proven),
            thrust_limit: if asks.thrust_limit {
                self.thrust_limit
            } else {
                Permille::ZERO
            },
            slow_air: self.slow_air && asks.slow_air,
            lock_to_prove: self.lock_to_prove && asks.lock_to_prove,
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
            permitted: Permissions::empty(),
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
        let asks = tick.asks(self.state, turn.intention);
        Asks {
            asked: asks.asked.or(self.bus.asks()).or(Asked::of(ALWAYS)),
            ..asks
        }
    }

    /// What the tick may ask for, however it is turned, each condition for itself.
    #[must_use]
    pub fn may_ask(&self) -> Asks {
        let all = Turn::every().fold(Asks::default(), |all, turn| all.or(self.asks(turn)));
        let still = if all.still {
            STILL
        } else {
            Permissions::empty()
        };
        Asks {
            asked: all.asked.permit(still).apart(),
            still: false,
            ..all
        }
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
    fn of(proven: impl Into<Conditions>) -> Self {
        Self::from(Asked::of(proven.into()))
    }

    fn or(self, other: Self) -> Self {
        Self {
            asked: self.asked.or(other.asked),
            still: self.still || other.still,
            thrust_limit: self.thrust_limit || other.thrust_limit,
            slow_air: self.slow_air || other.slow_air,
            lock_to_prove: self.lock_to_prove || other.lock_to_prove,
            bench: self.bench || other.bench,
        }
    }
}

impl From<Asked> for Asks {
    fn from(asked: Asked) -> Self {
        Self {
            asked,
            ..Self::default()
        }
    }
}

/// Conditions that are asked for in most states.
const ALWAYS: Conditions = enum_set!(Condition::ThrottleZero | Condition::OnTime);
/// Conditions that are taken for proven where permissions are judged: those of what the tick
/// itself does, which are not yet there when it has read; the lock, which a timer may prove in the
/// tick; those of the controls and of air and heat, which come in later; and that the tick is in
/// time, since one that is late denies thrust, and does not disarm. All but those of what the tick
/// does are asked for beside.
const LATER: Conditions = enum_set!(
    Condition::NotBench
        | Condition::Armed
        | Condition::TorqueOff
        | Condition::MastLocked
        | Condition::OnTime
        | Condition::AirspeedInRange
        | Condition::CoolEnough
        | Condition::ThrottleProven
        | Condition::StopReleased
        | Condition::AuxWanted
);
/// What `Stowed` is told by.
const STOWED: Conditions = enum_set!(Condition::MastStowed | Condition::DoorsShut);
/// Of what keeps a blade still, one is asked for.
const STILL: Permissions =
    enum_set!(Permission::BrakeBlade | Permission::TurnBlade | Permission::HoldBlade);
const AIR: Conditions = enum_set!(Condition::AirspeedInRange);
const OPENED: Conditions = enum_set!(AIR | Condition::DoorsOpen);

/// What thrust asks for.
const PROPEL: Asked = Asked {
    proven: enum_set!(
        Condition::MastLocked
            | Condition::CoolEnough
            | Condition::ThrottleProven
            | Condition::StopReleased
    ),
    permits: enum_set!(Permission::Propel),
};
/// What doors ask for that are to be open.
const OPEN: Asked = Asked {
    proven: OPENED,
    permits: enum_set!(Permission::OpenDoors),
};
/// What doors ask for that are to be shut.
const SHUT: Asked = Asked {
    proven: AIR,
    permits: enum_set!(Permission::CloseDoors),
};
/// What a mast asks for that is to be raised, its doors opened before.
const RAISE: Asked = Asked {
    proven: OPENED,
    permits: enum_set!(Permission::OpenDoors | Permission::Extend),
};
/// What a mast asks for that is to be lowered, its doors opened before.
const LOWER: Asked = Asked {
    proven: OPENED,
    permits: enum_set!(Permission::OpenDoors | Permission::Retract),
};
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
        let rest = self.rest();
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
            ) => rest.or(self.by_hand()),
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
        match state {
            State::DeployPark => Asks::from(OPEN).or(Asks::of(PARKED | Condition::MastClear)),
            State::DeployDoors => Asks::from(RAISE),
            State::DeployMast => {
                Asks::from(RAISE).or(Asks::of(LOCKED | PARKED | Condition::MastClear))
            }
            // Without a live bus there is no thrust, whatever else is proven.
            State::Deployed => Asks::of(LOCKED).or(self.where_live(Asks::from(PROPEL))),
            State::Armed | State::Thrust => Asks::of(LOCKED).or(self.where_live(Asks {
                thrust_limit: true,
                ..Asks::from(PROPEL)
            })),
            // What it leads to is to slow and park the blade.
            State::StowPower | State::StowBrake | State::StowPark => self.park(),
            State::StowProve => Asks::from(LOWER).or(Asks::of(PARKED | Condition::MastStowed)),
            State::StowMast => {
                let ends = PARKED | Condition::MastClear | Condition::MastStowed;
                Asks::from(LOWER.or(SHUT)).or(Asks::of(ends))
            }
            State::StowDoors => Asks::from(SHUT).or(Asks::of(STOWED)),
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

    /// What is asked for of a live bus alone.
    fn where_live(self, asks: Asks) -> Asks {
        if self.live { asks } else { Asks::default() }
    }

    /// What a motor asks for that keeps the blade as it is: nothing, without a live bus.
    fn rest(self) -> Asks {
        self.where_live(Asks {
            still: true,
            ..Asks::of(LOCKED)
        })
    }

    /// What is asked for where a stow begins.
    fn begin_stow(self) -> Asks {
        let shut = Asks::from(SHUT).or(Asks::of(Condition::MastStowed));
        shut.or(self.park())
    }

    /// What it takes to slow and park a blade with a live bus, first pressing the mast on its
    /// lock.
    fn park(self) -> Asks {
        self.where_live(Asks {
            still: true,
            lock_to_prove: true,
            ..Asks::from(RAISE).or(Asks::of(PARKED | Condition::ShaftSlow))
        })
    }

    /// What a held selector asks for.
    fn by_hand(self) -> Asks {
        match self.selector {
            Selector::Hold | Selector::Unproven => Asks::default(),
            Selector::Deploy => Asks::from(RAISE).or(Asks::of(LOCKED)),
            Selector::Stow => Asks::from(LOWER.or(SHUT)).or(Asks::of(STOWED)),
        }
    }

    /// What Bench asks for: there a lock that only shows is pressed on no further.
    fn bench(self) -> Asks {
        Asks {
            lock_to_prove: self.selector == Selector::Deploy,
            bench: true,
            ..self.by_hand()
        }
    }

    /// What Jog asks for: where it ends, once the selector is let go.
    fn jog(self) -> Asks {
        match self.selector {
            Selector::Hold | Selector::Unproven => Asks::of(STOWED | LOCKED),
            Selector::Deploy | Selector::Stow => self.by_hand(),
        }
    }
}
