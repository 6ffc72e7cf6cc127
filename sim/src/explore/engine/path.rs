//! The shortest path to a state, or to a broken check.
//!
//! No state remembers where it came from: that would cost as much memory as the state.
//! A path is found backwards, by expanding the level before once more for each step: each
//! of its states in all variants that are new there at once, and one at a time only where
//! this leads to what is looked for. Of several predecessors the smallest is taken, so the
//! path is the same in every run.

use rayon::iter::{ParallelBridge, ParallelIterator};

use super::found::Found;
use super::reached::Reached;
use super::run::pool;
use super::space::Space;
use super::variants::Variants;

/// A shortest path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path<P> {
    /// From an initial state, one transition from each to the next; each with its variant.
    pub states: Vec<(P, u8)>,
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
    pub fn steps(&self) -> impl Iterator<Item = (&(P, u8), &(P, u8))> {
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
    let breaks = |_: &S::State, variants, checks: u64| match checks & 1 << check {
        0 => Variants::EMPTY,
        _ => variants,
    };
    let among = space.breaking(&found.tally, check);
    pool(threads).install(|| {
        let (from, to) = smallest(space, reached, level, among, &breaks)?;
        let mut states = back(space, reached, level, from);
        states.push(to);
        Some(Path { states })
    })
}

/// The shortest path to a state in a variant. `None` if it was not reached.
#[must_use]
pub fn path_to<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    end: (S::State, u8),
    threads: usize,
) -> Option<Path<S::State>> {
    let level = reached.level_of(&end.0, end.1)?;
    let states = pool(threads).install(|| back(space, reached, level, end));
    Some(Path { states })
}

/// The states from an initial one to `end`, which is in `level`.
fn back<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    level: usize,
    end: (S::State, u8),
) -> Vec<(S::State, u8)> {
    let mut states = vec![end];
    let mut at = end;
    for before in (0..level).rev() {
        let leads = |to: &S::State, variants, _| match *to == at.0 {
            true => variants & Variants::of(at.1),
            false => Variants::EMPTY,
        };
        let found = smallest(space, reached, before, space.before(at.1), &leads);
        (at, _) = found.expect("expand gives the same transitions when called again");
        states.push(at);
    }
    states.reverse();
    states
}

/// A transition from a state in a variant to another.
type Step<P> = ((P, u8), (P, u8));

/// Of the transitions out of a level, `among` these variants, that `wanted` picks (by
/// successor, its variants and broken checks; it says which of the variants), the smallest by
/// state and variant, then by successor and variant of it.
fn smallest<S: Space>(
    space: &S,
    reached: &Reached<S::State>,
    level: usize,
    among: Variants,
    wanted: &(impl Fn(&S::State, Variants, u64) -> Variants + Sync),
) -> Option<Step<S::State>> {
    let of_part = |part| {
        let mut least: Option<Step<S::State>> = None;
        for (from, variants) in part {
            // A larger state cannot better it: do not expand it.
            if least.is_some_and(|((state, _), _)| state < from) {
                continue;
            }
            let variants: Variants = variants & among;
            if variants.is_empty() {
                continue;
            }
            // Most lead nowhere near: what does not in all variants does in none of them.
            if successor(space, &from, variants, wanted).is_some() {
                let each = |variant| {
                    let to = successor(space, &from, Variants::of(variant), wanted)?;
                    Some(((from, variant), to))
                };
                least = variants.iter().find_map(each).or(least);
            }
        }
        least
    };
    reached.level(level).par_bridge().filter_map(of_part).min()
}

/// The smallest wanted successor of a state in some variants, with the smallest variant of
/// it.
fn successor<S: Space>(
    space: &S,
    from: &S::State,
    variants: Variants,
    wanted: &impl Fn(&S::State, Variants, u64) -> Variants,
) -> Option<(S::State, u8)> {
    let mut least: Option<(S::State, u8)> = None;
    let tally = &mut S::Tally::default();
    space.expand(from, variants, tally, &mut |to, variants, checks| {
        if let Some(variant) = wanted(&to, variants, checks).iter().next() {
            let found = (to, variant);
            least = Some(least.map_or(found, |least| least.min(found)));
        }
    });
    least
}
