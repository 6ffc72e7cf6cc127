//! What comes from outside: the pilot's hands, the air and the heat, chosen anew in each
//! step among what can matter in it.
//!
//! Nothing of it is stored, so it may change in any way from one step to the next, all at
//! once. What cannot matter is not varied; that it does not matter is tested.

use mastwright_core::State;
use mastwright_core::command::Selector;

use super::memory::Acknowledge;
use super::plant::Blade;

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
    /// The throttle.
    pub throttle: bool,
    /// The acknowledge button.
    pub acknowledge: bool,
    /// The bench key.
    pub key: bool,
    /// The charge request.
    pub aux: bool,
    /// Whether the air is calm.
    pub calm: bool,
    /// Whether the air is fast.
    pub air: bool,
    /// The heat.
    pub heat: bool,
    /// The blade.
    pub blade: Blade,
}

impl Matters {
    /// What can matter in `state`, with or without a latched fault that forbids.
    #[must_use]
    pub const fn of(state: State, latched: bool) -> Self {
        let nothing = Self {
            throttle: false,
            acknowledge: latched,
            key: false,
            aux: false,
            calm: false,
            air: false,
            heat: false,
            blade: Blade::All,
        };
        match state {
            State::Waking => Self {
                throttle: true,
                acknowledge: true,
                key: true,
                calm: true,
                blade: Blade::Not,
                ..nothing
            },
            State::Resting | State::Halted(_) => Self {
                key: true,
                ..nothing
            },
            State::Stowed => Self {
                key: true,
                aux: true,
                blade: Blade::Not,
                ..nothing
            },
            State::Bench => Self {
                blade: Blade::Place,
                acknowledge: true,
                key: true,
                air: true,
                ..nothing
            },
            State::Deployed | State::Armed | State::Thrust => Self {
                throttle: true,
                heat: true,
                ..nothing
            },
            State::DeployDoors
            | State::DeployMast
            | State::DeployPark
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors
            | State::Jog => Self {
                air: true,
                ..nothing
            },
            State::StowPower => Self {
                blade: Blade::Not,
                ..nothing
            },
            State::DeployPower | State::StowBrake => nothing,
        }
    }

    /// Calls `each` with everything that can come from outside in such a step.
    pub fn each(self, mut each: impl FnMut(&Hands)) {
        let flags = |matters: bool| {
            if matters {
                &[false, true][..]
            } else {
                &[false][..]
            }
        };
        let presses = if self.acknowledge {
            &[Acknowledge::Up, Acknowledge::Pressed, Acknowledge::Held][..]
        } else {
            &[Acknowledge::Up][..]
        };
        let airs = match (self.calm, self.air) {
            (false, false) => &[Air::Within][..],
            (true, false) => &[Air::Within, Air::Calm][..],
            (false, true) => &[Air::Within, Air::Fast][..],
            (true, true) => &[Air::Within, Air::Calm, Air::Fast][..],
        };
        let heats = if self.heat {
            &[Heat::Cool, Heat::Hot, Heat::TooHot][..]
        } else {
            &[Heat::Cool][..]
        };
        // Where the charge request changes nothing that is stored, it is on: then the
        // charger is asked for.
        let auxes = if self.aux {
            &[false, true][..]
        } else {
            &[true][..]
        };
        for selector in Push::ALL {
            for stop in [false, true] {
                for &throttle in flags(self.throttle) {
                    for &acknowledge in presses {
                        for &key in flags(self.key) {
                            for &aux in auxes {
                                for &air in airs {
                                    for &heat in heats {
                                        each(&Hands {
                                            selector,
                                            stop,
                                            throttle,
                                            acknowledge,
                                            key,
                                            aux,
                                            air,
                                            heat,
                                        });
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
