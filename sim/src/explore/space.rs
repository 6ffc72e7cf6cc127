//! The space: the controller's memory beside the abstract plant, what is broken, and what
//! the observer remembers. Nodes that are alike but for what is broken are explored
//! together, as the cases of one ([`super::cases`]).

use mastwright_core::outputs::Drives;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Config, Faults, Outputs, Sequencer, State};

use super::cases::{Cases, Several, cases, variants};
use super::engine::{Space, Variants};
use super::explored::Explored;
use super::hands::Hands;
use super::memory::{self, Memory};
use super::node::Node;
use super::plant::{Doors, Mast, Motion, Place, Plant, Volts};
use super::scratch;
use super::sense::Sensed;
use super::tally::{Led, Tally};
use super::tick::Here;
use super::tried::Matters;
use super::trouble::{Trouble, Troubles};
use super::watch::{Asked, Watch};

/// What a node stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct World {
    /// The plant.
    pub plant: Plant,
    /// What is broken.
    pub troubles: Troubles,
    /// The observer.
    pub watch: Watch,
}

/// How one node leads to the next.
#[derive(Clone, Copy, Debug)]
pub enum Move<'a> {
    /// Something breaks; no time passes.
    Breaks(Trouble),
    /// The controller loses its supply and wakes.
    Wakes,
    /// The dead time of a drive is over, and what it drove is at rest; no more of a tick
    /// passes.
    Rests(Timer),
    /// One tick passes.
    Ticks(&'a Tick<'a>),
}

/// One tick.
#[derive(Clone, Copy, Debug)]
pub struct Tick<'a> {
    /// The plant at its beginning, the blade where it was chosen to be.
    pub plant: &'a Plant,
    /// What came from outside.
    pub hands: &'a Hands,
    /// What the controller was told.
    pub sensed: &'a Sensed,
    /// The timers that ran out.
    pub ran_out: Timers,
    /// What the controller answered.
    pub outputs: &'a Outputs,
}

/// The space of one controller.
#[derive(Clone, Debug)]
pub struct Aircraft<C> {
    config: Config,
    faults: usize,
    among: Vec<Trouble>,
    controller: std::marker::PhantomData<C>,
}

impl<C: Explored> Aircraft<C> {
    /// The space of a controller with these limits, in which up to `faults` things (at
    /// most two) break, each of `among`.
    #[must_use]
    pub fn new(config: &Config, faults: usize, among: Vec<Trouble>) -> Self {
        Self {
            config: C::limits(config),
            faults: faults.min(2),
            among,
            controller: std::marker::PhantomData,
        }
    }

    /// What a node stands for: the controller, every running timer running, and the world.
    #[must_use]
    pub fn open(&self, node: &Node<C::Mind>) -> (C, World) {
        let real = memory::unpack(node.memory(), &self.config);
        (C::recall(real, node.mind), node.world())
    }

    /// The real controller of a node, every running timer running.
    #[must_use]
    pub fn real(&self, node: &Node<C::Mind>) -> Sequencer {
        memory::unpack(node.memory(), &self.config)
    }

    /// The limits of the controller.
    #[must_use]
    pub const fn config(&self) -> &Config {
        &self.config
    }

    /// The node of a controller in a world.
    #[must_use]
    pub fn close(&self, controller: &C, world: &World) -> Node<C::Mind> {
        let (memory, mind) = self.pack(controller, world);
        let may_lie = !self.stop_may_lie(Several::one(world.troubles)).is_empty();
        Node::of(memory.stored(world.plant.main, may_lie), world, mind)
    }

    fn pack(&self, controller: &C, world: &World) -> (Memory, C::Mind) {
        let (real, mind) = controller.memory();
        let given = world.watch.asked == Asked::Given;
        (memory::pack(real, given, &self.config), mind)
    }

    /// The nodes of a controller in these cases of a world.
    fn close_in(
        &self,
        controller: &C,
        world: &World,
        broken: Several,
        found: &mut impl FnMut(Node<C::Mind>, Cases),
    ) {
        let (memory, mind) = self.pack(controller, world);
        let may_lie = self.stop_may_lie(broken);
        for (may_lie, cases) in [(true, may_lie), (false, broken.all() - may_lie)] {
            if !cases.is_empty() {
                let bits = memory.stored(world.plant.main, may_lie);
                found(Node::of(bits, world, mind), cases);
            }
        }
    }

    /// Calls `found` for every transition out of a node: how, where to, and the checks
    /// that it breaks. Of ticks that come to the same, and break the same, only the first is
    /// called; the others are judged all the same.
    pub fn each_move(
        &self,
        node: &Node<C::Mind>,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        self.each_timeless(node, &mut |next, how| found(next, 0, how));
        let (controller, world) = self.open(node);
        let broken = Several::one(world.troubles);
        let here = self.here(&controller, &world, broken);
        scratch::with(|scratch| {
            here.all_ticks(scratch, tally, &mut |next, _, broken, how| {
                found(next, broken, how);
            });
        });
    }

    /// Calls `found` for every move out of a node in which no tick passes: something breaks,
    /// the controller wakes, a dead time is over.
    pub fn each_timeless(
        &self,
        node: &Node<C::Mind>,
        found: &mut impl FnMut(Node<C::Mind>, Move<'_>),
    ) {
        let (controller, world) = self.open(node);
        if world.troubles.count() < self.faults {
            for &trouble in &self.among {
                if !world.troubles.has(trouble) {
                    let troubles = world.troubles.with(trouble);
                    let broken = World { troubles, ..world };
                    found(self.close(&controller, &broken), Move::Breaks(trouble));
                }
            }
        }
        let broken = Several::one(world.troubles);
        self.wake(&controller, &world, broken, &mut |next, _, how| {
            found(next, how);
        });
        self.rest(&controller, &world, broken, &mut |next, _, how| {
            found(next, how);
        });
    }

    /// Calls `found` for everything that may break in these cases of a node: the node that
    /// stands for it then, and in which of its cases.
    fn breaks(
        &self,
        controller: &C,
        world: &World,
        broken: Several,
        found: &mut impl FnMut(Node<C::Mind>, Cases),
    ) {
        for case in broken.all() {
            let troubles = Troubles::of(broken.common(), case);
            if troubles.count() >= self.faults {
                continue;
            }
            let among = self.among.iter().copied();
            for trouble in among.filter(|trouble| !troubles.has(*trouble)) {
                let troubles = troubles.with(trouble);
                let world = World { troubles, ..*world };
                let (node, case) = self.close(controller, &world).apart();
                found(node, case.into());
            }
        }
    }

    /// Calls `found` for every tick out of a node under these `hands`.
    pub fn each_tick(
        &self,
        node: &Node<C::Mind>,
        hands: &Hands,
        found: &mut impl FnMut(Node<C::Mind>, &Tick<'_>),
    ) {
        let (controller, world) = self.open(node);
        let broken = Several::one(world.troubles);
        let here = self.here(&controller, &world, broken);
        let mut found = |next, _, _, how: Move<'_>| {
            if let Move::Ticks(tick) = how {
                found(next, tick);
            }
        };
        let (cases, none, tally) = (broken.all(), Cases::empty(), &mut Tally::default());
        scratch::with(|scratch| here.ticks(hands, cases, none, scratch, tally, &mut found));
    }

    /// What can matter of what comes from outside in a tick out of a node.
    #[must_use]
    pub fn matters(&self, node: &Node<C::Mind>) -> Matters {
        let (controller, world) = self.open(node);
        let broken = Several::one(world.troubles);
        self.here(&controller, &world, broken).matters()
    }

    fn here<'a>(&'a self, controller: &C, world: &'a World, broken: Several) -> Here<'a, C> {
        let stop_may_lie = self.stop_may_lie(broken);
        Here::of(&self.config, controller, world, broken, stop_may_lie)
    }

    /// The cases in which a contact of the stop switch may lie, now or later: where nothing is
    /// broken yet, it may still break. Of two things, either may.
    fn stop_may_lie(&self, broken: Several) -> Cases {
        if self.faults > 1 {
            return broken.all();
        }
        let lies = broken.with_any(Trouble::StopA | Trouble::StopB);
        if broken.common() == Trouble::None {
            lies | (broken.all() & Trouble::None)
        } else {
            lies
        }
    }

    /// The supply comes back after a while, in which the plant did what it does undriven; it
    /// may coast still.
    fn wake(
        &self,
        controller: &C,
        world: &World,
        broken: Several,
        found: &mut impl FnMut(Node<C::Mind>, Cases, Move<'_>),
    ) {
        let (real, _) = controller.memory();
        let woken = C::recall(
            Sequencer::wake(real.latched(), &self.config),
            C::Mind::default(),
        );
        for case in broken.with(Trouble::PowerCut) {
            let broken = Several::of(broken.common(), case.into());
            for plant in undriven(&world.plant, broken) {
                let world = World {
                    plant,
                    watch: Watch::default(),
                    ..*world
                };
                self.close_in(&woken, &world, broken, &mut |node, cases| {
                    found(node, cases, Move::Wakes);
                });
            }
        }
    }

    /// The dead times that may be over; nothing else tells the difference until then. What
    /// coasts while the controller wakes comes to rest without one.
    fn rest(
        &self,
        controller: &C,
        world: &World,
        broken: Several,
        found: &mut impl FnMut(Node<C::Mind>, Cases, Move<'_>),
    ) {
        for timer in [Timer::MastRest, Timer::DoorRest] {
            let (mut real, mind) = controller.memory();
            let mut world = *world;
            let motion = if timer == Timer::MastRest {
                world.plant.mast_motion
            } else {
                world.plant.door_motion
            };
            let waking = real.state() == State::Waking && matches!(motion, Motion::Coasts(_));
            if !memory::rest(&mut real, timer, &self.config) && !waking {
                continue;
            }
            if timer == Timer::MastRest {
                world.plant = world.plant.mast_rested();
            } else {
                world.plant.door_motion = world.plant.door_motion.rested();
            }
            let rested = C::recall(real, mind);
            self.close_in(&rested, &world, broken, &mut |node, cases| {
                found(node, cases, Move::Rests(timer));
            });
        }
    }
}

impl<C: Explored> Space for Aircraft<C> {
    type State = Node<C::Mind>;
    type Tally = Tally;

    /// Just woken, in every plant that can be found so.
    fn initial(&self, found: &mut impl FnMut(Self::State, Variants)) {
        let sound = variants(Trouble::None.into());
        let woken = C::recall(
            Sequencer::wake(Faults::empty(), &self.config),
            C::Mind::default(),
        );
        for mast in Mast::ALL {
            for doors in Doors::ALL {
                for place in [Place::Window, Place::Near] {
                    for volts in Volts::ALL {
                        let plant = Plant {
                            mast,
                            doors,
                            place,
                            volts,
                            ..Plant::default()
                        };
                        if plant.is_possible() && (mast.in_bay() || place == Place::Window) {
                            let world = World {
                                plant,
                                troubles: Troubles::default(),
                                watch: Watch::default(),
                            };
                            found(self.close(&woken, &world), sound);
                        }
                    }
                }
            }
        }
    }

    fn expand(
        &self,
        node: &Self::State,
        of: Variants,
        tally: &mut Self::Tally,
        found: &mut impl FnMut(Self::State, Variants, u64),
    ) {
        let (controller, world) = self.open(node);
        let broken = Several::of(world.troubles.both()[0], cases(of));
        tally.saw(controller.memory().0.state(), broken.all());
        self.breaks(&controller, &world, broken, &mut |next, cases| {
            found(next, variants(cases), 0);
        });
        let mut led = Led::default();
        let mut found = |next, cases: Cases, checks| {
            led.count(cases, checks);
            found(next, variants(cases), checks);
        };
        self.wake(&controller, &world, broken, &mut |next, cases, _| {
            found(next, cases, 0);
        });
        self.rest(&controller, &world, broken, &mut |next, cases, _| {
            found(next, cases, 0);
        });
        let here = self.here(&controller, &world, broken);
        scratch::with(|scratch| {
            here.all_ticks(scratch, tally, &mut |next, cases, checks, _| {
                found(next, cases, checks);
            });
        });
        tally.add(broken, led);
    }

    /// What is broken stays broken, and was not before; of two things, either was first.
    fn before(&self, variant: u8) -> Variants {
        if self.faults > 1 {
            return variants(Cases::all());
        }
        variants(Trouble::None | Trouble::numbered(variant))
    }

    /// Only a tick breaks a check, and it leaves what is broken as it is.
    fn breaking(&self, tally: &Tally, check: u32) -> Variants {
        if self.faults > 1 {
            return variants(Cases::all());
        }
        let cases = Cases::all().iter();
        let breaks = |case: &Trouble| tally.of(*case).broken >> check & 1 == 1;
        variants(cases.filter(breaks).collect())
    }
}

/// The plants that come of this one while nothing is driven, for however long.
fn undriven(plant: &Plant, broken: Several) -> Vec<Plant> {
    let mut plants = Vec::new();
    let after = |plant: &Plant, plants: &mut Vec<Plant>| {
        plant.each_next(&Drives::default(), broken, |plant, _| {
            if !plants.contains(&plant) {
                plants.push(plant);
            }
        });
    };
    after(plant, &mut plants);
    let mut next = 0;
    while let Some(plant) = plants.get(next).copied() {
        next += 1;
        after(&plant, &mut plants);
    }
    plants
}
