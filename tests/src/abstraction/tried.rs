//! Whether nothing comes of any hands that does not come of those that are tried.

use std::collections::{BTreeMap, BTreeSet};

use mastwright_core::Sequencer;
use mastwright_sim::explore::explored::NoMind;
use mastwright_sim::explore::hands::Hands;
use mastwright_sim::explore::memory::Acknowledge;
use mastwright_sim::explore::node::Node;
use mastwright_sim::explore::space::{Aircraft, Move};
use mastwright_sim::explore::tally::Tally;

use crate::draw::Draw;

/// What was found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// How often hands were drawn in whose place others are tried, for each thing in which
    /// they differ and each state.
    pub varied: BTreeMap<(&'static str, &'static str), u64>,
    /// Where something came of them that comes of none that are tried: for each state and
    /// things in which they differ the first.
    pub differs: BTreeMap<(&'static str, Vec<&'static str>), String>,
}

impl Found {
    /// Holds this many hands, drawn, against those that are tried at a node.
    pub fn hold(
        &mut self,
        space: &Aircraft<Sequencer>,
        node: &Node<NoMind>,
        times: u32,
        draw: &mut Draw,
    ) {
        let matters = space.matters(node);
        let all: Vec<Hands> = Hands::every().collect();
        let [strict, lenient] = [false, true].map(|lenient| {
            let mut ways = BTreeSet::new();
            space.each_move(node, &mut Tally::default(), &mut |to, _, how| {
                if let Move::Ticks(_) = how {
                    ways.insert(seen(space, &to, lenient));
                }
            });
            ways
        });
        for _ in 0..times {
            let hands = draw.one(&all);
            let plain = matters.plain(hands);
            for what in differing(&hands, &plain) {
                *self.varied.entry((what, matters.state.name())).or_default() += 1;
            }
            // Where the observer would be content sooner, others are tried in its place.
            let is_lenient = (hands.throttle, plain.throttle) == (false, true)
                || (hands.acknowledge, plain.acknowledge)
                    == (Acknowledge::Pressed, Acknowledge::Up);
            let known = if is_lenient { &lenient } else { &strict };
            if !came(space, node, &hands, is_lenient).is_subset(known) {
                let key = (matters.state.name(), differing(&hands, &plain));
                self.differs.entry(key).or_insert_with(|| {
                    let (_, world) = space.open(node);
                    format!("{hands:?}\nand\n{plain:?}\nin {matters:?}\nfrom {world:?}")
                });
            }
        }
    }
}

/// Everything that may follow under `hands`; where they are `lenient`, whatever the observer
/// takes for confirmed.
fn came(
    space: &Aircraft<Sequencer>,
    node: &Node<NoMind>,
    hands: &Hands,
    lenient: bool,
) -> BTreeSet<Node<NoMind>> {
    let mut all = BTreeSet::new();
    space.each_tick(node, hands, &mut |to, _| {
        all.insert(seen(space, &to, lenient));
    });
    all
}

/// A node as it is compared.
fn seen(space: &Aircraft<Sequencer>, node: &Node<NoMind>, lenient: bool) -> Node<NoMind> {
    let (controller, mut world) = space.open(node);
    if lenient {
        world.watch.closed = false;
        world.watch.restrained = false;
    }
    space.close(&controller, &world)
}

fn differing(one: &Hands, other: &Hands) -> Vec<&'static str> {
    [
        ("selector", one.selector != other.selector),
        ("stop", one.stop != other.stop),
        ("throttle", one.throttle != other.throttle),
        ("acknowledge", one.acknowledge != other.acknowledge),
        ("bench key", one.key != other.key),
        ("charge request", one.aux != other.aux),
        ("air", one.air != other.air),
        ("heat", one.heat != other.heat),
    ]
    .into_iter()
    .filter_map(|(what, differs)| differs.then_some(what))
    .collect()
}
