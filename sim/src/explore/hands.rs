//! What comes from outside: the pilot's hands, the air and the heat, chosen anew in each
//! step among what can matter in it.
//!
//! Nothing of it is stored, so it may change in any way from one step to the next, all at
//! once. What cannot matter is not varied; `tests/tests/exploration_memory.rs` tries whether
//! it does not.

use mastwright_core::State;
use mastwright_core::command::Selector;

use super::memory::Acknowledge;
use super::plant::{Blade, Mast};

/// The air.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Air {
    /// Slow enough for Bench.
    Calm,
    /// In the range in which mast and doors may move.
    #[default]
    Within,
    /// Above it.
    Fast,
}

/// How hot the hottest part is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Heat {
    /// Cool.
    #[default]
    Cool,
    /// Above its alert and where thrust is reduced.
    Hot,
    /// Where thrust must end.
    TooHot,
}

/// What comes from outside in one step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Hands {
    /// The selector: centred, to deploy or to stow.
    pub selector: Push,
    /// The stop-and-stow switch is thrown.
    pub stop: bool,
    /// The throttle is open.
    pub throttle: bool,
    /// The acknowledge button.
    pub acknowledge: Acknowledge,
    /// The bench key is on.
    pub key: bool,
    /// Auxiliary charging is asked for.
    pub aux: bool,
    /// The air.
    pub air: Air,
    /// The heat.
    pub heat: Heat,
}

/// Where the selector is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Push {
    /// Centred.
    #[default]
    Hold,
    /// Pushed to deploy.
    Deploy,
    /// Pushed to stow.
    Stow,
}

impl Push {
    /// Every position.
    pub const ALL: [Self; 3] = [Self::Hold, Self::Deploy, Self::Stow];

    /// What the controller reads in it.
    #[must_use]
    pub const fn selector(self) -> Selector {
        match self {
            Self::Hold => Selector::Hold,
            Self::Deploy => Selector::Deploy,
            Self::Stow => Selector::Stow,
        }
    }
}

/// What can matter in a step that begins in some state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Matters {
    /// Throttle and heat.
    pub thrust: bool,
    /// The acknowledge button.
    pub acknowledge: bool,
    /// The bench key.
    pub key: Key,
    /// The charge request.
    pub aux: bool,
    /// Whether the air is fast.
    pub air: Airs,
}

/// How the air can matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Airs {
    /// Not at all.
    Not,
    /// To a push or a stop, which moves mast or doors in the very step.
    IfAsked,
    /// Always.
    Matter,
}

/// How the bench key can matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Not at all.
    Not,
    /// It denies motion.
    Denies,
    /// Together with a press of acknowledge, in calm air, it enters Bench.
    Enters,
    /// It keeps Bench; off, with acknowledge held, it ends it.
    Keeps,
}

impl Matters {
    /// What can matter in `state`, with or without a latched fault that forbids, before or
    /// after anything was `asked` for. Only `Stowed` makes the bus live for charging, from
    /// the very step on that leads there; elsewhere the request can matter to the observer,
    /// until something was asked for.
    #[must_use]
    pub const fn of(state: State, latched: bool, asked: bool) -> Self {
        let nothing = Self {
            thrust: false,
            acknowledge: latched,
            key: Key::Not,
            aux: !asked,
            air: Airs::Not,
        };
        match state {
            State::Waking => Self {
                key: Key::Enters,
                aux: true,
                ..nothing
            },
            State::Resting | State::Halted(_) => Self {
                key: Key::Denies,
                aux: true,
                air: Airs::IfAsked,
                ..nothing
            },
            State::Stowed => Self {
                key: Key::Denies,
                aux: true,
                ..nothing
            },
            State::Bench => Self {
                key: Key::Keeps,
                air: Airs::Matter,
                ..nothing
            },
            State::Deployed | State::Armed | State::Thrust => Self {
                thrust: true,
                ..nothing
            },
            State::DeployDoors
            | State::DeployMast
            | State::DeployPark
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast => Self {
                air: Airs::Matter,
                ..nothing
            },
            State::StowDoors | State::Jog => Self {
                aux: true,
                air: Airs::Matter,
                ..nothing
            },
            State::DeployPower => Self {
                air: Airs::IfAsked,
                ..nothing
            },
        }
    }

    /// Calls `each` with everything that can come from outside in such a step.
    pub fn each(self, mut each: impl FnMut(&Hands)) {
        for selector in Push::ALL {
            for stop in [false, true] {
                let asked = stop || selector != Push::Hold;
                let airs = match self.air {
                    Airs::Matter => &[Air::Within, Air::Fast][..],
                    Airs::IfAsked if asked => &[Air::Within, Air::Fast],
                    Airs::IfAsked | Airs::Not => &[Air::Within],
                };
                for &air in airs {
                    // Where the charge request changes nothing that is stored, it is on:
                    // then the charger is asked for.
                    let hands = Hands {
                        selector,
                        stop,
                        air,
                        aux: true,
                        ..Hands::default()
                    };
                    self.each_button(&hands, &mut each);
                }
            }
        }
    }

    /// Acknowledge and key.
    fn each_button(self, hands: &Hands, each: &mut impl FnMut(&Hands)) {
        use Acknowledge::{Down, Held, Pressed, Up};
        let mut with = |acknowledge, key, air| {
            let hands = Hands {
                acknowledge,
                key,
                air,
                ..*hands
            };
            self.each_rest(&hands, each);
        };
        let air = hands.air;
        let buttons = if self.acknowledge {
            // That a press silences alerts decides nothing.
            &[Up, Held][..]
        } else {
            &[Up][..]
        };
        match self.key {
            Key::Not => {}
            Key::Denies => {
                for &button in buttons {
                    with(button, true, air);
                }
            }
            Key::Enters => {
                for air in [Air::Calm, air] {
                    with(Pressed, true, air);
                    with(Down, true, air);
                    if self.acknowledge {
                        with(Held, true, air);
                    }
                }
            }
            Key::Keeps => {
                with(Up, true, air);
                with(Pressed, true, air);
                if self.acknowledge {
                    with(Held, true, air);
                }
                // A press with the key off confirms nothing, and only contents the
                // observer.
                with(Held, false, air);
                with(Up, false, air);
                return;
            }
        }
        for &button in buttons {
            with(button, false, air);
        }
    }

    /// Charge request, throttle and heat.
    fn each_rest(self, hands: &Hands, each: &mut impl FnMut(&Hands)) {
        let put_away = hands.stop || hands.selector == Push::Stow;
        if self.thrust && put_away {
            // Whoever stops with the throttle open stops from the worst.
            each(&Hands {
                throttle: true,
                ..*hands
            });
            return;
        }
        each(hands);
        // Bench is not entered with the throttle open.
        if self.key == Key::Enters && hands.key {
            each(&Hands {
                throttle: true,
                ..*hands
            });
        }
        if self.aux {
            each(&Hands {
                aux: false,
                ..*hands
            });
        }
        if self.thrust {
            for (throttle, heat) in [
                (true, Heat::Cool),
                (false, Heat::Hot),
                (true, Heat::Hot),
                (false, Heat::TooHot),
                (true, Heat::TooHot),
            ] {
                each(&Hands {
                    throttle,
                    heat,
                    ..*hands
                });
            }
        }
    }
}

impl Blade {
    /// What of the blade can matter in a step that begins in `state`, the mast out of the
    /// bay. Off its lock the motor has no torque, nor has it without a live bus, unless it
    /// `grips` the blade still; and only the parking proof is asked for.
    #[must_use]
    pub fn of(state: State, mast: Mast, grips: bool) -> Self {
        let torque = grips && mast == Mast::Locked;
        match state {
            State::Waking | State::Stowed => Self::Not,
            State::StowBrake => Self::All,
            State::Resting
            | State::Halted(_)
            | State::DeployPower
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
                if !torque =>
            {
                Self::Not
            }
            State::Bench | State::StowProve => Self::Place,
            State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::StowPark
            | State::StowMast
            | State::StowDoors
            | State::Jog
                if !torque =>
            {
                Self::Place
            }
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
            | State::StowPark
            | State::StowMast
            | State::StowDoors
            | State::Jog => Self::All,
        }
    }
}
