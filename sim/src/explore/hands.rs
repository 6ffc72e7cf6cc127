//! What comes from outside: the pilot's hands, the air and the heat, chosen anew in each
//! step among what can matter in it.
//!
//! Nothing of it is stored, so it may change in any way from one step to the next, all at
//! once. Which of all hands are tried, [`super::tried`] says.

use itertools::iproduct;
use mastwright_core::command::Selector;

use super::memory::Acknowledge;

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

impl Hands {
    /// Everything that can come from outside.
    pub fn every() -> impl Iterator<Item = Self> {
        use Acknowledge::{Down, Held, Pressed, Up};
        let flags = [false, true];
        iproduct!(
            Push::ALL,
            flags,
            [Air::Within, Air::Fast, Air::Calm],
            [Up, Pressed, Down, Held],
            flags,
            [true, false],
            [Heat::Cool, Heat::Hot, Heat::TooHot],
            flags
        )
        .map(
            |(selector, stop, air, acknowledge, key, aux, heat, throttle)| Self {
                selector,
                stop,
                throttle,
                acknowledge,
                key,
                aux,
                air,
                heat,
            },
        )
    }
}
