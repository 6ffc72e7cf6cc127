//! A real flight followed in the abstract space.
//!
//! Kept are all nodes that the flight may have come to: each holds the abstract memory of
//! the real controller and a plant that may stand for the real one. In each tick those are
//! left that an abstract transition leads to, under the hands that are tried in place of the
//! real ones and with the real commands. When none is left, the aircraft has done what the
//! abstract world does not know, and a property of the one says nothing of the other.

use std::fmt::Write as _;
use std::rc::Rc;

use mastwright_core::outputs::{BusDrive, DoorDrive, MastDrive, Motor};
use mastwright_core::{Config, Outputs, Sequencer};
use mastwright_sim::explore::engine::Space;
use mastwright_sim::explore::explored::NoMind;
use mastwright_sim::explore::hands::Hands;
use mastwright_sim::explore::memory as packed;
use mastwright_sim::explore::node::Node;
use mastwright_sim::explore::plant::Side;
use mastwright_sim::explore::space::{Aircraft, Move, World};
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::explore::watch::Asked;
use mastwright_sim::frame::Frame;
use rustc_hash::{FxHashMap, FxHashSet};

use super::flights::{Flight, Watched, fly};
use super::hands::Real;
use super::{memory, plant};
use crate::flown;

type Spot = Node<NoMind>;
/// Nodes, each with the world it stands for.
type Spots = Vec<(Spot, World)>;

/// What the plant can tell of the commands of a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Told {
    mast: Option<Side>,
    doors: Option<Side>,
    enable: bool,
    propels: bool,
    bus: BusDrive,
}

impl Told {
    /// What the plant can tell of these outputs.
    #[must_use]
    pub fn of(outputs: &Outputs) -> Self {
        let drives = &outputs.drives;
        Self {
            mast: match drives.mast {
                MastDrive::Off => None,
                MastDrive::Extend(_) => Some(Side::Out),
                MastDrive::Retract(_) => Some(Side::In),
            },
            doors: match drives.doors {
                DoorDrive::Off => None,
                DoorDrive::Open => Some(Side::Out),
                DoorDrive::Close => Some(Side::In),
            },
            enable: drives.motor_enable,
            propels: matches!(drives.motor, Motor::Thrust(_)),
            bus: drives.bus,
        }
    }

    /// The same beside main contacts that touch or not: once they have parted, packs feed
    /// nothing while the bus drains.
    #[must_use]
    fn beside(mut self, main: bool) -> Self {
        if !main && self.bus.discharge && !self.bus.precharge {
            self.bus.packs = Default::default();
        }
        self
    }
}

/// One abstract tick out of a node, and what may follow it in no time.
#[derive(Clone, Copy, Debug)]
struct Onward {
    hands: Hands,
    told: Told,
    to: Spot,
}

/// What a tick of the real flight asks of an abstract one.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Wanted {
    hands: Real,
    told: Told,
    /// The packed memory after it, the selector's as well.
    memory: u64,
}

/// What came of a flight that was followed to its end.
#[derive(Clone, Copy, Debug, Default)]
pub struct Followed {
    /// Its ticks with supply.
    pub ticks: u64,
    /// The most nodes that it may have been in at once.
    pub most: usize,
    /// The states it was in, as [`flown::bit`]s.
    pub states: u32,
}

/// Follows flights in one space; what was found out about a node is kept.
pub struct Follower {
    space: Aircraft<Sequencer>,
    config: Config,
    begin: Vec<Spot>,
    ticks: FxHashMap<Spot, Rc<Vec<Onward>>>,
    steps: FxHashMap<(Spot, Wanted), Rc<Spots>>,
}

impl Follower {
    /// A follower in the space in which exactly these `troubles` are there.
    ///
    /// # Panics
    /// When the space has no such beginning.
    #[must_use]
    pub fn new(config: &Config, troubles: &[Trouble]) -> Self {
        let space = Aircraft::<Sequencer>::new(config, troubles.len(), troubles.to_vec());
        let mut begin = Vec::new();
        space.initial(&mut |node, _| begin.push(node));
        for _ in troubles {
            let mut broken = Vec::new();
            for node in &begin {
                space.each_timeless(node, &mut |next, how| {
                    if matches!(how, Move::Breaks(_)) {
                        broken.push(next);
                    }
                });
            }
            begin = unique(broken);
        }
        assert!(!begin.is_empty(), "a space has a beginning");
        Self {
            space,
            config: *config,
            begin,
            ticks: FxHashMap::default(),
            steps: FxHashMap::default(),
        }
    }

    /// Follows a flight to its end.
    ///
    /// # Errors
    /// The first tick in which no node is left, and what the nearest ones lack.
    pub fn follow(&mut self, flight: &Flight) -> Result<Followed, String> {
        let mut came = Followed::default();
        let begin = self.begin.clone();
        let mut here: Spots = self.opened(begin);
        let mut lost = false;
        fly::<Watched, String>(&flight.scenario, |frame, controller| {
            if !frame.powered {
                lost = true;
                return Ok(());
            }
            if lost {
                here = self.woken(&here);
                lost = false;
            }
            let resting = memory::running(&controller.before, &self.config).resting;
            let coasts = resting.map(|way| way.is_some());
            let fits =
                |world: &World| plant::fits(&world.plant, &frame.truth, coasts, &self.config);
            let left: Vec<_> = here
                .iter()
                .filter(|(_, world)| fits(world))
                .copied()
                .collect();
            if left.is_empty() {
                return Err(self.no_plant(flight, frame, &here));
            }
            let wanted = self.wanted(frame, controller);
            let mut next = Vec::new();
            for (node, _) in &left {
                next.extend_from_slice(&self.step(node, &wanted, controller));
            }
            if next.is_empty() {
                return Err(self.no_tick(flight, frame, controller, &left));
            }
            next.sort_unstable_by_key(|(node, _)| *node);
            next.dedup_by_key(|(node, _)| *node);
            here = next;
            came.ticks += 1;
            came.most = came.most.max(here.len());
            came.states |= flown::bit(frame.outputs.indications.state);
            Ok(())
        })?;
        Ok(came)
    }

    fn opened(&self, nodes: Vec<Spot>) -> Spots {
        let world = |node: &Spot| self.space.open(node).1;
        nodes.into_iter().map(|node| (node, world(&node))).collect()
    }

    /// Where it may wake after a loss of its supply.
    fn woken(&self, here: &[(Spot, World)]) -> Spots {
        let mut woken = Vec::new();
        for (node, _) in here {
            self.space.each_timeless(node, &mut |next, how| {
                if matches!(how, Move::Wakes) {
                    woken.push(next);
                }
            });
        }
        self.opened(unique(woken))
    }

    fn wanted(&self, frame: &Frame, controller: &Watched) -> Wanted {
        let Watched { before, now } = controller;
        let known = memory::with_selector_known(now, now, &self.config);
        Wanted {
            hands: Real::of(frame, before, now, &self.config),
            told: Told::of(&frame.outputs).beside(frame.truth.bus.main_closed),
            memory: packed::pack(known, false, &self.config).bits,
        }
    }

    /// The nodes that ticks like the real one lead to.
    fn step(&mut self, node: &Spot, wanted: &Wanted, controller: &Watched) -> Rc<Spots> {
        let key = (*node, wanted.clone());
        if let Some(known) = self.steps.get(&key) {
            return Rc::clone(known);
        }
        let ticks = self.ticks_of(node);
        let hands = self.tried(node, wanted);
        let mut found = FxHashSet::default();
        for tick in ticks.iter() {
            if hands.contains(&tick.hands) && tick.told == wanted.told {
                for to in self.rested(&tick.to) {
                    if self.remembers(&to, &controller.now) {
                        found.insert(to);
                    }
                }
            }
        }
        let found = Rc::new(self.opened(found.into_iter().collect()));
        self.steps.insert(key, Rc::clone(&found));
        found
    }

    /// The hands that are tried in place of the real ones.
    fn tried(&self, node: &Spot, wanted: &Wanted) -> Vec<Hands> {
        let matters = self.space.matters(node);
        let real = wanted.hands.each();
        real.map(|hands| matters.plain(hands)).collect()
    }

    fn ticks_of(&mut self, node: &Spot) -> Rc<Vec<Onward>> {
        if let Some(known) = self.ticks.get(node) {
            return Rc::clone(known);
        }
        let mut ticks = Vec::new();
        for hands in &*self.space.matters(node).hands() {
            self.space.each_tick(node, hands, &mut |to, tick| {
                ticks.push(Onward {
                    hands: *hands,
                    told: Told::of(tick.outputs).beside(tick.plant.main),
                    to,
                });
            });
        }
        let ticks = Rc::new(ticks);
        self.ticks.insert(*node, Rc::clone(&ticks));
        ticks
    }

    /// A node, and those it comes to when dead times are over.
    fn rested(&self, node: &Spot) -> Vec<Spot> {
        let mut all = vec![*node];
        let mut next = 0;
        while let Some(node) = all.get(next).copied() {
            next += 1;
            self.space.each_timeless(&node, &mut |to, how| {
                if matches!(how, Move::Rests(_)) {
                    all.push(to);
                }
            });
        }
        all
    }

    /// True when a node holds the abstract memory of this controller.
    fn remembers(&self, node: &Spot, controller: &Sequencer) -> bool {
        let (known, world) = self.space.open(node);
        let given = world.watch.asked == Asked::Given;
        let real = if given {
            *controller
        } else {
            memory::with_selector_known(controller, &known, &self.config)
        };
        self.space.close(&real, &world) == *node
    }

    fn no_plant(&self, flight: &Flight, frame: &Frame, here: &[(Spot, World)]) -> String {
        let mut text = told(flight, frame);
        let _ = writeln!(
            text,
            "no abstract plant is where the real one is: {:#?}\nbut:",
            (
                &frame.truth.mast,
                frame.truth.doors,
                frame.truth.door_speed,
                plant::off_park(frame.truth.propeller.angle),
                frame.truth.propeller.speed,
                &frame.truth.bus
            ),
        );
        for (_, world) in here.iter().take(4) {
            let _ = writeln!(text, "{:?}", world.plant);
        }
        text
    }

    fn no_tick(
        &mut self,
        flight: &Flight,
        frame: &Frame,
        controller: &Watched,
        here: &[(Spot, World)],
    ) -> String {
        let wanted = self.wanted(frame, controller);
        let mut text = told(flight, frame);
        let _ = writeln!(text, "no abstract tick is like the real one, {wanted:?}");
        for (node, world) in here.iter().take(2) {
            let ticks = self.ticks_of(node);
            let hands = self.tried(node, &wanted);
            let near = |tick: &&Onward| hands.contains(&tick.hands);
            let like = |tick: &&Onward| tick.told == wanted.told;
            let _ = writeln!(
                text,
                "{world:?}: {} ticks, {} under such hands, {} with such commands",
                ticks.len(),
                ticks.iter().filter(near).count(),
                ticks.iter().filter(near).filter(like).count(),
            );
            let nearest = ticks.iter().filter(like).min_by_key(|tick| {
                let differs = differing(&self.space.real(&tick.to), &controller.now, &self.config);
                (!hands.contains(&tick.hands), differs.len())
            });
            if let Some(tick) = nearest {
                let differs = differing(&self.space.real(&tick.to), &controller.now, &self.config);
                let _ = writeln!(text, "nearest {:?}: {differs:#?}", tick.hands);
            }
        }
        let _ = writeln!(text, "before: {:?}", controller.before);
        let _ = writeln!(text, "inputs: {:?}", frame.inputs);
        text
    }
}

fn told(flight: &Flight, frame: &Frame) -> String {
    format!(
        "{} (MASTWRIGHT_FLIGHT={} flies it alone), tick {}, {:?}, broken {:?}: ",
        flight.name, flight.name, frame.tick, frame.outputs.indications.state, flight.troubles
    )
}

/// The lines in which two memories differ, both reduced.
fn differing(one: &Sequencer, other: &Sequencer, config: &Config) -> Vec<String> {
    let reduced = |controller: &Sequencer| {
        let bits = packed::pack(*controller, false, config).bits;
        format!("{:#?}", packed::unpack(bits, config))
    };
    let (one, other) = (reduced(one), reduced(other));
    one.lines()
        .zip(other.lines())
        .enumerate()
        .filter(|(_, (one, other))| one != other)
        .map(|(line, (one, other))| format!("{line}: {} / {}", one.trim(), other.trim()))
        .collect()
}

fn unique(mut nodes: Vec<Spot>) -> Vec<Spot> {
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}
