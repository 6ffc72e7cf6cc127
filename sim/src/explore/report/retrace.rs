//! How each step of a path came about.
//!
//! A path is a list of states. What led from one to the next (hands, readings, timers)
//! is found by taking every move out of the first once more. Of several that lead to the
//! same state, the plainest is told: the one that changes least.

use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Outputs, State};

use super::super::engine::Path;
use super::super::explored::Explored;
use super::super::hands::{Air, Hands, Heat, Push};
use super::super::memory::Acknowledge;
use super::super::node::Node;
use super::super::plant::Plant;
use super::super::sense::{self, Sensed};
use super::super::space::{Aircraft, Move, World};
use super::super::tally::Tally;
use super::super::trouble::Trouble;

/// One step of a path.
#[derive(Clone, Debug)]
pub struct Leg {
    /// The sequencer's state before it.
    pub before: State,
    /// The sequencer's state after it.
    pub after: State,
    /// How it came about.
    pub how: How,
    /// The world before it.
    pub from: World,
    /// The world after it.
    pub to: World,
}

/// How a step came about.
#[derive(Clone, Debug)]
pub enum How {
    /// Something broke; no time passed.
    Breaks(Trouble),
    /// The controller lost its supply and woke.
    Wakes,
    /// The dead time of a drive was over, and what it drove was at rest.
    Rests(Timer),
    /// One tick passed.
    Ticks(Box<Ticked>),
}

impl Leg {
    /// What sound sensors would have read in its tick.
    #[must_use]
    pub fn truth(&self, ticked: &Ticked) -> Sensed {
        let insulated = !self.from.troubles.has(Trouble::InsulationLow);
        sense::sound(&ticked.plant, &ticked.hands, insulated)
    }
}

/// One tick.
#[derive(Clone, Debug)]
pub struct Ticked {
    /// The plant at its beginning, the blade where it was chosen to be.
    pub plant: Plant,
    /// What came from outside.
    pub hands: Hands,
    /// What the controller was told.
    pub sensed: Sensed,
    /// The timers that ran out.
    pub ran_out: Timers,
    /// What the controller answered.
    pub outputs: Outputs,
}

/// The world a path begins in, and its steps; the last one breaks the check of bit
/// `check`.
#[must_use]
pub fn retrace<C: Explored>(
    space: &Aircraft<C>,
    path: &Path<Node<C::Mind>>,
    check: u32,
) -> Option<(World, Vec<Leg>)> {
    let nodes = path.states.iter();
    let nodes: Vec<Node<C::Mind>> = nodes
        .map(|(node, case)| node.in_case(Trouble::numbered(*case)))
        .collect();
    let (waking, begin) = space.open(nodes.first()?);
    let mut before = waking.memory().0.state();
    let mut legs = Vec::new();
    let mut hands = Hands::default();
    for (number, (from, to)) in nodes.iter().zip(nodes.iter().skip(1)).enumerate() {
        let last = number + 1 == path.len();
        let wanted = if last { 1 << check } else { 0 };
        let how = plainest(space, from, to, wanted, &hands)?;
        if let How::Ticks(ticked) = &how {
            hands = ticked.hands;
        }
        let ((_, from), (after, to)) = (space.open(from), space.open(to));
        // What is shown tells the reason of a safe halt, which is not stored.
        let after = match &how {
            How::Ticks(ticked) => ticked.outputs.indications.state,
            How::Breaks(_) | How::Rests(_) => before,
            How::Wakes => after.memory().0.state(),
        };
        legs.push(Leg {
            before,
            after,
            how,
            from,
            to,
        });
        before = after;
    }
    Some((begin, legs))
}

/// The plainest move from one state to another that breaks all `wanted` checks.
fn plainest<C: Explored>(
    space: &Aircraft<C>,
    from: &Node<C::Mind>,
    to: &Node<C::Mind>,
    wanted: u64,
    hands: &Hands,
) -> Option<How> {
    let mut least: Option<(usize, How)> = None;
    space.each_move(from, &mut Tally::default(), &mut |next, broken, way| {
        if next != *to || broken & wanted != wanted {
            return;
        }
        let weight = weight(&way, hands);
        if least.as_ref().is_none_or(|(least, _)| weight < *least) {
            least = Some((weight, owned(&way)));
        }
    });
    least.map(|(_, how)| how)
}

fn owned(way: &Move<'_>) -> How {
    match way {
        Move::Breaks(trouble) => How::Breaks(*trouble),
        Move::Wakes => How::Wakes,
        Move::Rests(timer) => How::Rests(*timer),
        Move::Ticks(tick) => How::Ticks(Box::new(Ticked {
            plant: *tick.plant,
            hands: *tick.hands,
            sensed: *tick.sensed,
            ran_out: tick.ran_out,
            outputs: tick.outputs.clone(),
        })),
    }
}

/// How much there is to tell of a move, the hands having been as in `last`.
fn weight(way: &Move<'_>, last: &Hands) -> usize {
    match way {
        Move::Breaks(_) | Move::Wakes | Move::Rests(_) => 0,
        Move::Ticks(tick) => {
            let now = tick.hands;
            let hands = [
                now.selector != last.selector,
                now.selector != Push::Hold,
                now.stop != last.stop,
                now.stop,
                now.throttle != last.throttle,
                now.acknowledge != last.acknowledge,
                now.acknowledge != Acknowledge::Up,
                now.key != last.key,
                now.air != last.air,
                now.air == Air::Fast,
                now.heat != Heat::Cool,
                tick.sensed.selector != now.selector.selector(),
                tick.sensed.strange,
                tick.sensed.strayed_from.is_some(),
            ];
            hands.iter().filter(|&&counts| counts).count() + 2 * tick.ran_out.len()
        }
    }
}
