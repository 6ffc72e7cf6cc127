//! Breadth-first search through the uncollapsed space, each state of it looked up among the
//! nodes of the collapsed one.

use mastwright_core::bus::Stage;
use mastwright_core::{Faults, Sequencer};
use mastwright_sim::explore::cases::Several;
use mastwright_sim::explore::engine::{Reached, Space};
use mastwright_sim::explore::explored::{Explored, NoMind};
use mastwright_sim::explore::hands::Hands;
use mastwright_sim::explore::lies::{self, Counts, Read};
use mastwright_sim::explore::node::Node;
use mastwright_sim::explore::plant::Blade;
use mastwright_sim::explore::sense::Sensed;
use mastwright_sim::explore::space::{Move, World};
use rustc_hash::{FxHashMap, FxHashSet};

use super::collapsed::Handed;
use super::exact;
use super::limits::Limits;
use super::step::{Comes, Known, Whole, as_they_are};
use crate::flown::bit;

/// How far to go.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// At most so many states are expanded of those that are packed to the same node: the
    /// first that are found.
    pub of_a_node: u8,
    /// At most so many states are expanded.
    pub states: usize,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// States that were expanded.
    pub expanded: usize,
    /// States that were found, each looked up.
    pub states: usize,
    /// Nodes that they are packed to.
    pub nodes: usize,
    /// The longest way.
    pub depth: usize,
    /// States of the sequencer that they were in, as [`bit`]s.
    pub seen: u32,
    /// Nodes that the collapsed space does not have.
    pub missed: usize,
    /// How the first few of them came about.
    pub first: Vec<String>,
}

/// A search.
pub struct Search<'a, C> {
    /// The collapsed space.
    pub handed: &'a Handed<C>,
    /// Its nodes.
    pub reached: &'a Reached<Node<NoMind>>,
    /// The time limits.
    pub limits: Limits,
    /// How far to go.
    pub bounds: Bounds,
}

impl<C: Explored<Mind = NoMind>> Search<'_, C> {
    /// Searches.
    #[must_use]
    pub fn run(&self) -> Found {
        let mut found = Found::default();
        let mut known: FxHashSet<u64> = FxHashSet::default();
        let mut nodes: FxHashSet<Node<NoMind>> = FxHashSet::default();
        let mut kept: FxHashMap<(Node<NoMind>, u64), u8> = FxHashMap::default();
        let mut level = self.begin();
        while !level.is_empty() {
            let mut next = Vec::new();
            for here in &level {
                if found.expanded == self.bounds.states {
                    break;
                }
                found.expanded += 1;
                found.seen |= bit(here.controller.state());
                self.each_tick(here, &mut |comes, to| {
                    let World { plant, watch, .. } = to.world;
                    let config = self.handed.space.config();
                    if !known.insert(exact::hash(&to.controller, (plant, watch), config)) {
                        return;
                    }
                    let node = self.node(&to);
                    if nodes.insert(node) && self.reached.variants_of(&node).is_empty() {
                        found.missed += 1;
                        if found.first.len() < 3 {
                            found.first.push(told(here, comes, &to));
                        }
                    }
                    let times = exact::under_way(&to.controller, config);
                    let of = kept.entry((node, times)).or_default();
                    if *of < self.bounds.of_a_node {
                        *of += 1;
                        next.push(to);
                    }
                });
            }
            found.depth += 1;
            level = next;
        }
        found.states = known.len();
        found.nodes = nodes.len();
        found
    }

    /// Just woken, in every world that the space begins in; where something is to be broken,
    /// it is broken from the beginning.
    fn begin(&self) -> Vec<Whole> {
        let space = &self.handed.space;
        let mut woken = Sequencer::wake(Faults::empty(), space.config());
        self.limits.cut(&mut woken, space.config());
        let mut worlds = Vec::new();
        space.initial(&mut |node, _| {
            let mut broken = Vec::new();
            space.each_timeless(&node, &mut |to, how| {
                if matches!(how, Move::Breaks(_)) {
                    broken.push(to);
                }
            });
            if broken.is_empty() {
                broken.push(node);
            }
            worlds.extend(broken.iter().map(|node| space.open(node).1));
        });
        let whole = |world| Whole {
            controller: woken,
            world,
        };
        worlds.into_iter().map(whole).collect()
    }

    fn node(&self, whole: &Whole) -> Node<NoMind> {
        let controller = C::recall(whole.controller, NoMind);
        self.handed.space.close(&controller, &whole.world)
    }

    /// Calls `each` with everything that a tick may lead to: under all hands that are tried
    /// and matter, with all that may be read. A selector on its way arrives.
    fn each_tick(&self, here: &Whole, each: &mut impl FnMut(&Comes<'_>, Whole)) {
        let space = &self.handed.space;
        let config = space.config();
        let Whole { controller, world } = here;
        let (state, stage) = (controller.state(), controller.bus_stage());
        let grips = controller.grips() || stage == Stage::Live;
        let blade = Blade::of(state, world.plant.mast, grips);
        let counts = Counts::of(state, stage, controller.latched(), blade);
        let known = Known::of(controller, config);
        let under_way = (known.last != known.settled).then_some(known.last);
        let matters = space.matters(&self.node(here));
        let mut all: Vec<Hands> = Hands::every()
            .filter(self.handed.tried)
            .filter(|hands| under_way.is_none_or(|last| last == hands.selector.selector()))
            // What is remembered of a push is exact here.
            .map(|hands| Hands {
                selector: hands.selector,
                ..matters.plain(hands)
            })
            .map(|hands| as_they_are(&hands))
            .collect();
        all.sort_unstable();
        all.dedup();
        for hands in &all {
            world.plant.each_blade(blade, |plant| {
                let read = Read {
                    plant,
                    hands,
                    broken: Several::one(world.troubles),
                    counts,
                };
                let mut tick = |sensed: &Sensed| {
                    let comes = Comes {
                        plant,
                        hands,
                        inputs: &sensed.inputs,
                    };
                    here.tick(&comes, &self.limits, config, |to| each(&comes, to));
                };
                lies::each(&read, |sensed, _| {
                    // What is chosen beside the readings is remembered here.
                    if sensed.strange || sensed.parked || sensed.strayed_from.is_some() {
                        return;
                    }
                    tick(sensed);
                    lies::of_hands(&read, sensed, |sensed, _| tick(sensed));
                });
            });
        }
    }
}

fn told(from: &Whole, comes: &Comes<'_>, to: &Whole) -> String {
    format!(
        "{:?} {:?}\nwith {:?}, {:?} came to\n{:?} {:?}\nfrom {:?}\nto {:?}",
        from.controller.state(),
        from.world,
        comes.hands,
        comes.plant,
        to.controller.state(),
        to.world,
        from.controller,
        to.controller,
    )
}
