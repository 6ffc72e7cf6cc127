//! Bounded response (SR-07): how long a stow can take at most, as the longest way.
//!
//! A way is any sequence of moves through nodes in which the sequencer stows, until it stows
//! no longer; that it begins to at once is a check of each step. Time passes only while the sequencer stays in
//! a state, and never longer than that state's time limit: each visit of a state weighs its
//! limit, counted when it is left. That a running time limit runs out is the one fairness
//! taken for granted; that no visit outlasts it is checked, not assumed: a node that is
//! still in a state whose time is over, and a node that waits in a state without a limit,
//! weigh each further move, so that they show as a circle without end.

use mastwright_core::{Config, Sequencer};

use super::engine::{Longest, Reached, longest};
use super::explored::Explored;
use super::memory;
use super::node::Node;
use super::space::Aircraft;

/// A tick of the controller, ms.
const TICK_MS: u64 = 10;

/// The longest way of a stow, in ticks of 10 ms, through what was reached.
#[must_use]
pub fn stow<C: Explored>(
    space: &Aircraft<C>,
    reached: &Reached<Node<C::Mind>>,
    threads: usize,
) -> Longest<Node<C::Mind>> {
    let inside = |node: &Node<C::Mind>| space.real(node).state().is_stowing();
    let weight = |from: &Node<C::Mind>, to: &Node<C::Mind>| {
        let (before, after) = (space.real(from), space.real(to));
        let limit = Sequencer::time_limit(before.state(), space.config()).get();
        let leaves = before.state() != after.state();
        let waits = memory::is_overdue(before, space.config()) || limit == 0;
        if leaves || !inside(to) {
            u32::from(limit)
        } else {
            u32::from(waits)
        }
    };
    longest(space, reached, inside, weight, threads)
}

/// What [`stow`] must not exceed, in the same ticks: the controller's own promise.
#[must_use]
pub fn promised(config: &Config) -> u64 {
    u64::from(config.stow_bound()) / TICK_MS
}
