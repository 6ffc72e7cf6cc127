//! The space: the controller's memory beside the abstract plant, what is broken, and what
//! the observer remembers.

use mastwright_core::command::Selector;
use mastwright_core::outputs::Drives;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Config, Faults, Outputs, Sequencer, State};

use super::checks::{CHECKS, Found, Step, decisive};
use super::engine::{Packed, Space};
use super::explored::Explored;
use super::facts::{Situation, may_run_out};
use super::hands::{Hands, Matters, Push};
use super::memory::{self, Chosen};
use super::node::Node;
use super::outcome::{Known, Sets};
use super::plant::{Blade, Doors, Mast, Place, Plant, Volts};
use super::sense::{self, Sensed};
use super::tally::Tally;
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

const SHIFT: u32 = memory::BITS;

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
        let real = memory::unpack(node.bits, &self.config);
        (
            C::recall(real, node.mind),
            World::unpack(node.bits >> SHIFT),
        )
    }

    /// The node of a controller in a world.
    #[must_use]
    pub fn close(&self, controller: &C, world: &World) -> Node<C::Mind> {
        let (real, mind) = controller.memory();
        let given = world.watch.asked == Asked::Given;
        let memory = memory::pack(&real, given, &self.config);
        Node {
            bits: memory.bits | (world.pack() << SHIFT),
            mind,
        }
    }

    /// Calls `found` for every transition out of a node: how, where to, and the checks
    /// that it breaks. Of ticks that come to the same, only the first is called; the others
    /// are counted and judged all the same.
    pub fn each_move(
        &self,
        node: &Node<C::Mind>,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        let (controller, world) = self.open(node);
        let (real, _) = controller.memory();
        let state = real.state();
        tally.saw(state);
        if world.troubles.count() < self.faults {
            for &trouble in &self.among {
                if !world.troubles.has(trouble) {
                    let broken = World {
                        troubles: world.troubles.with(trouble),
                        ..world
                    };
                    let bits = (node.bits & ((1 << SHIFT) - 1)) | (broken.pack() << SHIFT);
                    let next = Node { bits, ..*node };
                    found(next, 0, Move::Breaks(trouble));
                }
            }
        }
        if world.troubles.has(Trouble::PowerCut) {
            self.wake(&real, &world, found);
        }
        self.rest(&controller, &world, found);
        let latched = decisive(real.latched());
        let matters = Matters::of(state, !latched.is_empty());
        let mut known = Known::default();
        let blade = Blade::of(state, world.plant.mast);
        world.plant.each_blade(blade, |plant| {
            let world = World {
                plant: *plant,
                ..world
            };
            matters.each(|hands| {
                sense::each(plant, hands, world.troubles, |sensed| {
                    self.pushes(state, &world, hands, |counted, selector| {
                        let sensed = Sensed {
                            counted,
                            selector,
                            ..*sensed
                        };
                        self.tick(
                            &controller,
                            &world,
                            hands,
                            &sensed,
                            &mut known,
                            tally,
                            found,
                        );
                    });
                });
            });
        });
    }

    /// The supply comes back after a while, in which the plant did what it does undriven.
    fn wake(
        &self,
        real: &Sequencer,
        world: &World,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        let woken = C::recall(
            Sequencer::wake(real.latched(), &self.config),
            C::Mind::default(),
        );
        world
            .plant
            .each_next(&Drives::default(), world.troubles, |plant| {
                let world = World {
                    plant: Plant {
                        door_motion: plant.door_motion.rested(),
                        ..plant.mast_rested()
                    },
                    watch: Watch::default(),
                    ..*world
                };
                found(self.close(&woken, &world), 0, Move::Wakes);
            });
    }

    /// The dead times that may be over; nothing else tells the difference until then.
    fn rest(
        &self,
        controller: &C,
        world: &World,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        for timer in [Timer::MastRest, Timer::DoorRest] {
            let (mut real, mind) = controller.memory();
            if !memory::rest(&mut real, timer, &self.config) {
                continue;
            }
            let mut world = *world;
            if timer == Timer::MastRest {
                world.plant = world.plant.mast_rested();
            } else {
                world.plant.door_motion = world.plant.door_motion.rested();
            }
            let rested = C::recall(real, mind);
            found(self.close(&rested, &world), 0, Move::Rests(timer));
        }
    }

    /// What the selector may have counted as before, if that is not remembered, and what
    /// it may read now and settle on.
    ///
    /// A push that is held gives no intention, and steers only Jog and Bench, where an
    /// intention changes nothing; so in all other states each push is a fresh one.
    /// One that is not proven moves nothing, as one that is centred.
    fn pushes(
        &self,
        state: State,
        world: &World,
        hands: &Hands,
        mut each: impl FnMut(Option<Selector>, Selector),
    ) {
        const READINGS: [Selector; 4] = [
            Selector::Unproven,
            Selector::Hold,
            Selector::Deploy,
            Selector::Stow,
        ];
        let given = world.watch.asked == Asked::Given;
        let lies = [
            Trouble::SelectHold,
            Trouble::SelectDeploy,
            Trouble::SelectStow,
        ];
        let pushed = hands.selector.selector();
        match (
            given,
            lies.iter().any(|&trouble| world.troubles.has(trouble)),
        ) {
            (false, false) => each(None, pushed),
            (false, true) => READINGS.iter().for_each(|&reading| each(None, reading)),
            (true, false) => {
                let by_hand = matches!(state, State::Jog | State::Bench);
                each(Some(if by_hand { pushed } else { Selector::Hold }), pushed);
            }
            (true, true) => {
                for counted in Push::ALL {
                    for reading in READINGS {
                        each(Some(counted.selector()), reading);
                    }
                }
            }
        }
    }

    /// One tick under `hands` and `sensed`, with every set of timers that may run out.
    #[expect(
        clippy::too_many_arguments,
        reason = "the heart of the space, called once"
    )]
    fn tick(
        &self,
        controller: &C,
        world: &World,
        hands: &Hands,
        sensed: &Sensed,
        known: &mut Known,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        let (real, mind) = controller.memory();
        let now = Situation {
            plant: &world.plant,
            troubles: world.troubles,
            air: hands.air,
            state: real.state(),
            stage: real.bus_stage(),
        };
        let mut sets = Sets::default();
        let chosen = Chosen {
            acknowledge: hands.acknowledge,
            counted: sensed.counted,
            selector: sensed.selector,
            position: sensed.inputs.mast.position.raw(),
            strange: sensed.strange,
            strayed_from: sensed.strayed_from,
            parked: sensed.parked,
        };
        let mut prepared = real;
        memory::prepare(&mut prepared, &chosen, &self.config);
        while let Some(ripe) = sets.next() {
            let mut before = prepared;
            memory::ripen(&mut before, ripe, &self.config);
            let mut after = C::recall(before, mind);
            let outputs = after.step(&sensed.inputs, &self.config);
            let (stepped, new_mind) = after.memory();
            let watch = world.watch.after(&world.plant, hands, now.state, &outputs);
            let given = watch.asked == Asked::Given;
            let memory = memory::pack(&stepped, given, &self.config);
            // Another choice of what the selector reads settles at once.
            if memory.unsettled {
                continue;
            }
            let bits = memory.bits;
            for timer in memory.moved - ripe {
                if may_run_out(timer, &now) {
                    sets.add(ripe | timer);
                }
            }
            let step = Step {
                plant: &world.plant,
                watch: &world.watch,
                troubles: world.troubles,
                hands,
                inputs: &sensed.inputs,
                before: now.state,
                latched: decisive(real.latched()),
                ran_out: ripe,
                outputs: &outputs,
            };
            let broken = judge(&step, tally);
            tally.went(now.state, stepped.state());
            if !known.is_new(bits, new_mind.to_bytes().as_ref(), &watch, &outputs.drives)
                && broken == 0
            {
                continue;
            }
            let tick = Tick {
                plant: &world.plant,
                hands,
                sensed,
                ran_out: ripe,
                outputs: &outputs,
            };
            world
                .plant
                .each_next(&outputs.drives, world.troubles, |plant| {
                    let next = World {
                        plant,
                        watch,
                        troubles: world.troubles,
                    };
                    let node = Node {
                        bits: bits | (next.pack() << SHIFT),
                        mind: new_mind,
                    };
                    found(node, broken, Move::Ticks(&tick));
                });
        }
    }
}

/// Judges a step by every check; the bits of those broken.
fn judge(step: &Step<'_>, tally: &mut Tally) -> u64 {
    let mut broken = 0;
    tally.steps += 1;
    for (number, check) in CHECKS.iter().enumerate() {
        match (check.judge)(step) {
            Found::Nothing => {}
            Found::Held => tally.tested[number] += 1,
            Found::Broken => {
                tally.tested[number] += 1;
                broken |= 1 << number;
            }
        }
    }
    broken
}

impl<C: Explored> Space for Aircraft<C> {
    type State = Node<C::Mind>;
    type Tally = Tally;

    /// Just woken, in every plant that can be found so.
    fn initial(&self, found: &mut impl FnMut(Self::State)) {
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
                            found(self.close(&woken, &world));
                        }
                    }
                }
            }
        }
    }

    fn expand(
        &self,
        node: &Self::State,
        tally: &mut Self::Tally,
        found: &mut impl FnMut(Self::State, u64),
    ) {
        self.each_move(node, tally, &mut |next, broken, _| found(next, broken));
    }
}
