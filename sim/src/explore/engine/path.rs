//! The shortest path to a state, or to a broken check.
//!
//! No state remembers where it came from: that would cost as much memory as the state.
//! A path is found backwards, by expanding the level before once more for each step. Of
//! several predecessors the smallest is taken, so the path is the same in every run.

use rayon::iter::{ParallelBridge, ParallelIterator};

use super::found::Found;
use super::reached::Reached;
use super::run::pool;
use super::space::Space;

/// A shortest path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path<P> {
    /// From an initial state, one transition from each to the next.
    pub states: Vec<P>,
}

impl<P> Path<P> {
    /// How many transitions it has.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.states.len().saturating_sub(1)
    }

    /// Whether it has no transition: it ends where it begins.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Its transitions: from, to.
    pub fn steps(&self) -> impl Iterator<Item = (&P, &P)> {
        self.states.iter().zip(self.states.iter().skip(1))
    }
}

/// The shortest path whose last transition breaks a check (the number of its bit), on
/// `threads` threads (0: one for each core). `None` if the check is not broken, or if the
/// states were not kept whole.
///
/// Between the last two states there may be transitions that do not break the check: who
/// tells the path should pick the one that does.
#[must_use]
pub fn shortest<S: Space>(
    space: &S,
    found: &Found<S>,
    check: u32,
    threads: usize,
) -> Option<Path<S::State>> {
    let reached = found.reached.as_ref()?;
    let level = found.broken.get(check)?.depth as usize - 1;
    let breaks = |_: &S::State, checks: u64| checks & 1 << check != 0;
    pool(threads).install(|| {
        let (from, to) = smallest(space, reached, level, &breaks)?;
        let mut states = back(space, reached, level, from);
        states.push(to);
        Some(Path { states })
    })
}

/// The shortest path to a state. `None` if it was not reached.
#[must_use]
pub fn path_to<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    state: &S::State,
    threads: usize,
) -> Option<Path<S::State>> {
    let level = reached.level_of(state)?;
    let states = pool(threads).install(|| back(space, reached, level, *state));
    Some(Path { states })
}

/// The states from an initial one to `state`, which is in `level`.
fn back<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    level: usize,
    state: S::State,
) -> Vec<S::State> {
    let mut states = vec![state];
    let mut at = state;
    for before in (0..level).rev() {
        let found = smallest(space, reached, before, &|to, _| *to == at);
        (at, _) = found.expect("expand gives the same transitions when called again");
        states.push(at);
    }
    states.reverse();
    states
}

/// Of the transitions out of a level that `wanted` picks (by successor and broken
/// checks), the smallest by state, then by successor.
fn smallest<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    level: usize,
    wanted: &(impl Fn(&S::State, u64) -> bool + Sync),
) -> Option<(S::State, S::State)> {
    let of_part = |part: &[S::State]| {
        let mut tally = S::Tally::default();
        let mut least: Option<(S::State, S::State)> = None;
        for from in part {
            // A larger state cannot better it: do not expand it.
            if least.is_some_and(|(state, _)| state < *from) {
                continue;
            }
            space.expand(from, &mut tally, &mut |to, checks| {
                if wanted(&to, checks) && least.is_none_or(|least| (*from, to) < least) {
                    least = Some((*from, to));
                }
            });
        }
        least
    };
    reached.level(level).par_bridge().filter_map(of_part).min()
}
