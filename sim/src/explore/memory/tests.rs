//! Whether what is not stored of a memory decides nothing: a node in which it is otherwise must
//! lead to the same nodes, and break the same checks.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use mastwright_core::bus::Stage;
use mastwright_core::walk::{Flag, Visitor};
use mastwright_core::{Config, Fault, Faults, Sequencer, mast};

use super::{pack, unpack};
use crate::explore::engine::{Limits, Options, Space, Variants, explore};
use crate::explore::explored::NoMind;
use crate::explore::node::Node;
use crate::explore::plant::{Pace, keeps_blade};
use crate::explore::space::{Aircraft, World};
use crate::explore::tally::Tally;
use crate::explore::trouble::Trouble;
use crate::explore::watch::Asked;

type Spot = Node<NoMind>;
/// Where a node leads to, in which case, and the checks that this breaks.
type Outcomes = BTreeSet<(Spot, u8, u64)>;

/// Sets flags of a memory.
struct Sets<'a>(&'a [(Flag, bool)]);

impl Visitor for Sets<'_> {
    fn flag(&mut self, flag: Flag, is_set: &mut bool) {
        if let Some((_, to)) = self.0.iter().find(|(of, _)| *of == flag) {
            *is_set = *to;
        }
    }
}

/// Takes down the flags that are set.
#[derive(Default)]
struct Set(Vec<Flag>);

impl Visitor for Set {
    fn flag(&mut self, flag: Flag, is_set: &mut bool) {
        if *is_set {
            self.0.push(flag);
        }
    }
}

/// Sets the latched faults.
struct Latches(Faults);

impl Visitor for Latches {
    fn latched(&mut self, faults: &mut Faults) {
        *faults = self.0;
    }
}

/// A node, opened.
struct Open {
    real: Sequencer,
    world: World,
    set: Vec<Flag>,
    config: Config,
}

impl Open {
    fn of(space: &Aircraft<Sequencer>, node: &Spot) -> Self {
        let (mut real, world) = space.open(node);
        let config = *space.config();
        let mut set = Set::default();
        real.walk(&mut set, &config);
        Self {
            real,
            world,
            set: set.0,
            config,
        }
    }

    /// All the bits of a memory in the same world, whether they are stored or not.
    fn whole(&self, mut real: Sequencer, visitor: &mut impl Visitor) -> Spot {
        real.walk(visitor, &self.config);
        let given = self.world.watch.asked == Asked::Given;
        Node::of(pack(real, given, &self.config).bits, &self.world, NoMind)
    }

    fn drains(&self) -> bool {
        self.real.bus_stage() == Stage::Draining
    }

    /// The same with other packs joined.
    fn with_packs(&self) -> Vec<Spot> {
        let joined = [[true, false], [false, true], [true, true]];
        let flags = joined.map(|[one, two]| [(Flag::Pack1Joined, one), (Flag::Pack2Joined, two)]);
        let spots = flags.map(|flags| self.whole(self.real, &mut Sets(&flags)));
        spots.to_vec()
    }

    /// The same with a stop switch thrown since power-up, in place of one that was released.
    fn unreleased(&self) -> Option<Spot> {
        let has = |flag| self.set.contains(&flag);
        let thrown = !has(Flag::StopOffA) && !has(Flag::StopOffB);
        (thrown && has(Flag::StopSeenOff))
            .then(|| self.whole(self.real, &mut Sets(&[(Flag::StopSeenOff, false)])))
    }

    /// The same with no fault of the motor latched, if one is; and whether that is not stored.
    fn obeying(&self, node: &Spot) -> Option<(Spot, bool)> {
        let latched = self.real.latched();
        let motor = Faults::only(Fault::MotorUnasked);
        let others = self.whole(self.real, &mut Latches(latched - motor));
        let alone = |faults| {
            let mut real = unpack(0, &self.config);
            real.walk(&mut Latches(faults), &self.config);
            pack(real, true, &self.config).bits
        };
        let bit = alone(motor) ^ alone(Faults::empty());
        let without = Node {
            bits: node.bits ^ u128::from(bit),
            mind: NoMind,
        };
        let is_latched = latched.is_superset(motor);
        is_latched.then_some((without, others.bits == node.bits))
    }

    /// A fault is latched that forbids the mast to move.
    fn forbids_mast(&self) -> bool {
        !self.real.latched().is_disjoint(mast::FORBIDDING)
    }

    /// The same with a blade that turns slowly where it is remembered to stand still.
    fn slow(&self) -> Option<Spot> {
        let mut world = self.world;
        let kept = keeps_blade(world.plant.mast, world.plant.mast_motion);
        let still = kept && world.plant.pace == Pace::Still;
        world.plant.pace = Pace::Slow;
        let given = world.watch.asked == Asked::Given;
        let memory = pack(self.real, given, &self.config).bits;
        still.then(|| Node::of(memory, &world, NoMind))
    }
}

fn outcomes(space: &Aircraft<Sequencer>, node: &Spot, variants: Variants) -> Outcomes {
    let mut outcomes = Outcomes::new();
    space.expand(
        node,
        variants,
        &mut Tally::default(),
        &mut |to, of, checks| {
            outcomes.extend(of.iter().map(|variant| (to, variant, checks)));
        },
    );
    outcomes
}

const AMONG: [Trouble; 8] = [
    Trouble::Pack1Voltage,
    Trouble::MainWelded,
    Trouble::SpindleFree,
    Trouble::MainFeedback,
    Trouble::MotorDisobeys,
    Trouble::ShaftSpeed,
    Trouble::AngleA,
    Trouble::StopA,
];

/// A space, and some of its nodes, in the cases that they were reached in.
type Sample = (Aircraft<Sequencer>, Vec<(Spot, Variants)>);

/// Some of the nodes within so many transitions, where one of these may break.
fn sample(among: &[Trouble], depth: u32) -> Sample {
    let space = Aircraft::new(&Config::default(), among.len().min(1), among.to_vec());
    let options = Options {
        limits: Limits {
            depth: Some(depth),
            ..Limits::default()
        },
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |_| {}).expect("no file is used");
    let reached = found.reached.expect("states are kept whole");
    let mut all: Vec<_> = reached.parts().flatten().collect();
    all.sort_unstable();
    let step = all.len() / 2_000;
    (space, all.into_iter().step_by(step.max(1)).collect())
}

/// Of a space in which much may break; explored once for all tests.
static BROKEN: LazyLock<Sample> = LazyLock::new(|| sample(&AMONG, 8));

/// The variants in which the stop switch has sound contacts for good.
fn with_sound_stop(variants: Variants) -> Variants {
    let [none, stop] = [Trouble::None, Trouble::StopA].map(|case| Variants::of(case.number()));
    variants - (none | stop)
}

#[test]
fn what_is_not_stored_decides_nothing() {
    let (space, nodes) = &*BROKEN;
    let [mut packs, mut stops, mut no_lock, mut no_bus] = [0; 4];
    for &(node, variants) in nodes {
        let open = Open::of(space, &node);
        let alike = |twin: &Spot, variants: Variants, tried: &mut u32| {
            let (here, there) = (
                outcomes(space, &node, variants),
                outcomes(space, twin, variants),
            );
            assert_eq!(here, there, "{:?}", open.world);
            *tried += 1;
        };
        if open.drains() && !open.world.plant.main {
            for twin in open.with_packs() {
                alike(&twin, variants, &mut packs);
            }
        }
        let sound = with_sound_stop(variants);
        if let Some(twin) = open.unreleased()
            && !sound.is_empty()
        {
            alike(&twin, sound, &mut stops);
        }
        if let Some((twin, true)) = open.obeying(&node) {
            let tried = if open.forbids_mast() {
                &mut no_lock
            } else {
                &mut no_bus
            };
            alike(&twin, variants, tried);
        }
    }
    for tried in [packs, stops, no_lock, no_bus] {
        assert!(tried > 50, "{packs} {stops} {no_lock} {no_bus}");
    }
}

/// The same with a blade that stands still, if it turned slowly: what takes no time leaves it so.
fn stilled(node: &Spot) -> Spot {
    let mut world = node.world();
    if world.plant.pace == Pace::Slow {
        world.plant.pace = Pace::Still;
    }
    Node::of(node.memory(), &world, NoMind)
}

#[test]
fn whatever_comes_of_a_slow_blade_in_the_bay_comes_of_one_that_stands_still() {
    let (space, nodes) = &*BROKEN;
    let [mut tried, mut less] = [0; 2];
    for &(node, variants) in nodes {
        if let Some(twin) = Open::of(space, &node).slow() {
            let still = outcomes(space, &node, variants);
            let slow = outcomes(space, &twin, variants).into_iter();
            let slow: Outcomes = slow
                .map(|(to, case, checks)| (stilled(&to), case, checks))
                .collect();
            assert!(slow.is_subset(&still), "{:?}", node.world());
            tried += 1;
            less += u32::from(slow != still);
        }
    }
    // What stands still may be parked as well.
    assert!(tried > 500 && less > 50, "{tried} {less}");
}

#[test]
fn what_is_stored_of_packs_stop_and_motor_is_seen_to_decide() {
    let (space, nodes) = &*BROKEN;
    let stop = Variants::of(Trouble::StopA.number());
    let [mut fed, mut stopped] = [false; 2];
    for &(node, variants) in nodes {
        let open = Open::of(space, &node);
        let here = outcomes(space, &node, variants);
        if open.drains() && open.world.plant.main {
            let twins = open.with_packs();
            let differs = |twin: &Spot| outcomes(space, twin, variants) != here;
            fed |= twins.iter().any(differs);
        }
        if let Some(twin) = open.unreleased()
            && !(variants & stop).is_empty()
        {
            stopped |= outcomes(space, &twin, stop) != outcomes(space, &node, stop);
        }
    }
    // It takes more transitions to come to where there may be torque.
    let (space, nodes) = sample(&[], 24);
    let obeyed = nodes.iter().any(|(node, variants)| {
        let twin = Open::of(&space, node).obeying(node);
        let twin = twin.filter(|(_, is_forgotten)| !is_forgotten);
        twin.is_some_and(|(twin, _)| {
            outcomes(&space, &twin, *variants) != outcomes(&space, node, *variants)
        })
    });
    assert!(fed && stopped && obeyed, "{fed} {stopped} {obeyed}");
}
