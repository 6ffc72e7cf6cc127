//! The longest way through a part of a space: how long a response can take at most.
//!
//! The part is given by a predicate, such as "a stop is asked for and not complete"; a
//! *way* is any sequence of transitions from a state inside, until it leaves the part for
//! the first time, the leaving transition counted. Weights are of transitions, such as
//! the time that passes.
//!
//! Every transition counts that a reached state has in any of its variants: a way may change
//! its variant as it goes, so the bound that holds of those holds in each variant.
//!
//! States that can reach each other form a component. A transition with a weight between
//! two states of one component lies on a circle that can be taken forever, each time at a
//! cost: no bound. Circles of weight nothing are no harm: they cost no time. Without
//! circles of the first kind the components form a graph without circles, and the
//! heaviest way is added up from its ends.

use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::component::Components;
use super::graph::Graph;
use super::reached::Reached;
use super::run::pool;
use super::space::{Packed, Space};

/// The longest way through a part of a space.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Longest<P> {
    /// No reached state is inside.
    Empty,
    /// Every way leaves the part.
    Bounded {
        /// The weight of the heaviest way.
        weight: u64,
        /// The states of one such way; the last is outside.
        way: Vec<P>,
        /// How many states are inside.
        inside: u64,
    },
    /// A way never leaves the part, and grows without end.
    Unbounded {
        /// A circle with a weight: the last state has a transition to the first.
        circle: Vec<P>,
        /// Its weight.
        weight: u64,
    },
    /// A way ends inside, or goes round without weight and without an exit.
    Stuck {
        /// The smallest state from which no way leaves.
        state: P,
    },
}

/// How the heaviest way leaves a component.
#[derive(Clone, Copy)]
struct Best {
    weight: u64,
    /// From this node of it...
    from: u32,
    /// ...to this node; outside, if none.
    to: Option<u32>,
}

/// The longest way through the reached states that are `inside`, on `threads` threads (0:
/// one for each core). The weight of a transition must depend on its two states alone.
///
/// Memory: about 80 bytes for each state inside, and four for each transition.
///
/// # Panics
/// When more than `u32::MAX` states are inside.
#[must_use]
pub fn longest<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    inside: impl Fn(&S::State) -> bool + Sync,
    weight: impl Fn(&S::State, &S::State) -> u32 + Sync,
    threads: usize,
) -> Longest<S::State> {
    let graph = pool(threads).install(|| {
        let states = reached.parts().flatten();
        let states: Vec<_> = states.filter(|(state, _)| inside(state)).collect();
        assert!(
            u32::try_from(states.len()).is_ok(),
            "too many states inside"
        );
        Graph::new(space, states, &weight)
    });
    if graph.len() == 0 {
        return Longest::Empty;
    }
    let parts = Components::of_graph(&graph);
    let problem = pool(threads).install(|| circle(&graph, &parts, &weight));
    problem.unwrap_or_else(|| match best(&graph, &parts, &weight) {
        Ok(best) => bounded(space, &graph, &parts, &best, &weight),
        Err(stuck) => Longest::Stuck {
            state: *graph.state(stuck),
        },
    })
}

/// The circle through the smallest transition that has a weight within a component.
fn circle<P: Packed>(
    graph: &Graph<P>,
    parts: &Components,
    weight: &(impl Fn(&P, &P) -> u32 + Sync),
) -> Option<Longest<P>> {
    let weigh = |from, to| weight(graph.state(from), graph.state(to));
    let heavy = |from: u32| {
        let within = |&&to: &&u32| parts.of(from) == parts.of(to) && weigh(from, to) > 0;
        Some((from, *graph.successors(from).iter().find(within)?))
    };
    let nodes = (0..graph.len() as u32).into_par_iter();
    let (from, to) = nodes.filter_map(heavy).min()?;
    let circle = parts.way(graph, to, from);
    let back = circle
        .windows(2)
        .map(|step| u64::from(weigh(step[0], step[1])));
    Some(Longest::Unbounded {
        weight: u64::from(weigh(from, to)) + back.sum::<u64>(),
        circle: circle.iter().map(|&node| *graph.state(node)).collect(),
    })
}

/// How the heaviest way leaves each component, or the smallest node that no way leaves.
fn best<P: Packed>(
    graph: &Graph<P>,
    parts: &Components,
    weight: &impl Fn(&P, &P) -> u32,
) -> Result<Vec<Best>, u32> {
    let mut best: Vec<Option<Best>> = Vec::new();
    let mut stuck = None;
    for nodes in parts.iter() {
        let mut greatest: Option<Best> = None;
        let mut consider = |weight, from, to| {
            if greatest.is_none_or(|best| best.weight < weight) {
                greatest = Some(Best { weight, from, to });
            }
        };
        for &from in nodes {
            if let Some(weight) = graph.exit(from) {
                consider(u64::from(weight), from, None);
            }
            for &to in graph.successors(from) {
                // What comes after has a lower number, and is done; a way that is stuck
                // there is reported there.
                if parts.of(to) != parts.of(from)
                    && let Some(after) = best[parts.of(to) as usize]
                {
                    let step = u64::from(weight(graph.state(from), graph.state(to)));
                    consider(step + after.weight, from, Some(to));
                }
            }
        }
        if greatest.is_none() {
            stuck = nodes.iter().copied().chain(stuck).min();
        }
        best.push(greatest);
    }
    match stuck {
        Some(stuck) => Err(stuck),
        None => Ok(best.into_iter().flatten().collect()),
    }
}

/// The heaviest of all ways.
fn bounded<S: Space>(
    space: &S,
    graph: &Graph<S::State>,
    parts: &Components,
    best: &[Best],
    weight: &impl Fn(&S::State, &S::State) -> u32,
) -> Longest<S::State> {
    let total = best.iter().map(|best| best.weight).max().unwrap_or(0);
    let heaviest = best.iter().filter(|best| best.weight == total);
    let mut leave = heaviest
        .min_by_key(|best| best.from)
        .expect("a part is not empty");
    let mut way = vec![leave.from];
    while let Some(enter) = leave.to {
        leave = &best[parts.of(enter) as usize];
        way.extend(parts.way(graph, enter, leave.from));
    }
    let mut way: Vec<S::State> = way.iter().map(|&node| *graph.state(node)).collect();
    let (last, variants) = (*graph.state(leave.from), graph.variants(leave.from));
    let mut exit: Option<S::State> = None;
    let tally = &mut S::Tally::default();
    space.expand(&last, variants, tally, &mut |to, variants, _| {
        let leaves = !variants.is_empty() && !graph.holds(&to);
        if leaves && u64::from(weight(&last, &to)) == leave.weight {
            exit = Some(exit.map_or(to, |least| least.min(to)));
        }
    });
    way.extend(exit);
    Longest::Bounded {
        weight: total,
        way,
        inside: graph.len() as u64,
    }
}
