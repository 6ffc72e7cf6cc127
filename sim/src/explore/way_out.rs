//! The way out of every rest (SR-14): from wherever the aircraft came to rest, a few
//! documented actions of the pilot take it somewhere else, whatever happened before.
//!
//! The parts are taken for sound from then on: what is broken is cleared or gone, or the
//! flight ends as the crew action of the fault says.

use mastwright_core::State;
use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use super::engine::{Reached, pool};
use super::explored::Explored;
use super::hands::{Air, Hands, Heat, Push};
use super::memory::Acknowledge;
use super::node::Node;
use super::space::Aircraft;
use super::trouble::Troubles;

/// A few actions, one after another, each for as long as it takes.
#[derive(Clone, Copy, Debug)]
pub struct Recipe {
    /// What the pilot does, in words.
    pub what: &'static str,
    steps: &'static [Hands],
}

const CENTRED: Hands = Hands {
    selector: Push::Hold,
    stop: false,
    throttle: false,
    acknowledge: Acknowledge::Up,
    key: false,
    aux: false,
    air: Air::Within,
    heat: Heat::Cool,
};
const CLEARS: Hands = Hands {
    acknowledge: Acknowledge::Held,
    ..CENTRED
};

/// The recipes, in the order in which they are tried.
pub const RECIPES: &[Recipe] = &[
    Recipe {
        what: "key off, hold acknowledge, centre the selector, push it to stow",
        steps: &[
            CLEARS,
            CENTRED,
            Hands {
                selector: Push::Stow,
                ..CENTRED
            },
        ],
    },
    Recipe {
        what: "key off, hold acknowledge, centre the selector, push it to deploy",
        steps: &[
            CLEARS,
            CENTRED,
            Hands {
                selector: Push::Deploy,
                ..CENTRED
            },
        ],
    },
    Recipe {
        what: "key off, hold acknowledge",
        steps: &[CLEARS],
    },
];

/// True where the aircraft waits for somebody to act, and could do so for ever.
#[must_use]
pub const fn waits(state: State) -> bool {
    match state {
        State::Resting | State::Stowed | State::Deployed | State::Halted(_) | State::Bench => true,
        State::Waking
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::Armed
        | State::Thrust
        | State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::Jog => false,
    }
}

/// The first recipe by which every course of things leaves where `node` waits; none, if it
/// waits and no recipe does.
#[must_use]
pub fn of<C: Explored>(space: &Aircraft<C>, node: &Node<C::Mind>) -> Option<&'static Recipe> {
    RECIPES
        .iter()
        .find(|recipe| leaves(space, node, recipe.steps))
}

/// What came of looking for a way out of every rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Looked<P> {
    /// How many resting nodes there are, those alike but for what is broken counted once.
    pub rests: u64,
    /// How many have no way out.
    pub stuck: u64,
    /// The smallest of those.
    pub least: Option<P>,
}

/// Looks for a way out of every reached node that waits, on `threads` threads (0: one for each
/// core).
#[must_use]
pub fn look<C: Explored>(
    space: &Aircraft<C>,
    reached: &Reached<Node<C::Mind>>,
    threads: usize,
) -> Looked<Node<C::Mind>> {
    let sound = reached.parts().flatten();
    let sound = sound.map(|(node, _)| node.broken(Troubles::default()));
    let mut rests: Vec<_> = sound
        .filter(|node| waits(space.real(node).state()))
        .collect();
    rests.sort_unstable();
    rests.dedup();
    let stuck: Vec<_> = pool(threads).install(|| {
        let rests = rests.par_iter();
        rests.filter(|node| of(space, node).is_none()).collect()
    });
    Looked {
        rests: rests.len() as u64,
        stuck: stuck.len() as u64,
        least: stuck.first().map(|node| **node),
    }
}

/// True when every course of things under these actions has left the state of `node`.
fn leaves<C: Explored>(space: &Aircraft<C>, node: &Node<C::Mind>, steps: &[Hands]) -> bool {
    let state = space.real(node).state();
    let mut here = vec![*node];
    for hands in steps {
        let mut next = Vec::new();
        for node in &here {
            space.each_tick(node, hands, &mut |to, _| {
                if space.real(&to).state() == state {
                    next.push(to);
                }
            });
        }
        next.sort_unstable();
        next.dedup();
        here = next;
    }
    here.is_empty()
}
