//! One tick out of a node: everything that may come to the controller, and what comes of it.

use mastwright_core::bus::Stage;
use mastwright_core::command::Selector;
use mastwright_core::inputs::PACKS;
use mastwright_core::walk::Timers;
use mastwright_core::{Config, Faults, Outputs, Sequencer, State};

use super::checks::{CHECKS, Found, Step, Told, decisive};
use super::engine::Packed;
use super::explored::Explored;
use super::facts::{Situation, is_quiet, may_run_out};
use super::hands::{Hands, Matters};
use super::lies::{self, Counts};
use super::memory::{self, Acknowledge, Chosen, Memory};
use super::node::Node;
use super::plant::{Blade, Plant};
use super::scratch::{Of, Readings, Scratch};
use super::sense::{Sensed, under};
use super::space::{Move, Tick, World};
use super::tally::Tally;
use super::trouble::{Trouble, Troubles};
use super::watch::{Asked, Watch};

/// A node, opened, and what is the same in all ticks out of it.
pub(super) struct Here<'a, C: Explored> {
    config: &'a Config,
    real: Sequencer,
    mind: C::Mind,
    world: &'a World,
    state: State,
    stage: Stage,
    latched: Faults,
    joined: [bool; PACKS],
    counts: Counts,
    blade: Blade,
}

/// What comes to the controller in one tick.
#[derive(Clone, Copy)]
struct Comes<'a> {
    /// The plant, the blade where it was chosen to be.
    plant: &'a Plant,
    hands: &'a Hands,
    sensed: &'a Sensed,
}

/// What one step came to.
struct Came<M> {
    real: Sequencer,
    mind: M,
    outputs: Outputs,
    watch: Watch,
    memory: Memory,
}

impl<'a, C: Explored> Here<'a, C> {
    pub(super) fn of(config: &'a Config, controller: &C, world: &'a World) -> Self {
        let (real, mind) = controller.memory();
        let (state, stage) = (real.state(), real.bus_stage());
        let grips = real.grips() || stage == Stage::Live;
        let blade = Blade::of(state, world.plant.mast, grips);
        let latched = decisive(real.latched());
        Self {
            config,
            real,
            mind,
            world,
            state,
            stage,
            latched,
            joined: real.joined(),
            counts: Counts::of(state, stage, latched, blade),
            blade,
        }
    }

    /// What can matter of what comes from outside.
    pub(super) fn matters(&self) -> Matters {
        Matters::of(self.state, self.latched, self.world)
    }

    fn given(&self) -> bool {
        self.world.watch.asked == Asked::Given
    }

    fn troubles(&self) -> Troubles {
        self.world.troubles
    }

    /// The ticks under `hands`, with everything that blade and readings may be.
    pub(super) fn ticks(
        &self,
        hands: &Hands,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        self.world.plant.each_blade(self.blade, |plant| {
            let readings = self.readings(plant, hands, scratch);
            for sensed in &readings.sensed {
                let sensed = if readings.of.hands.is_some() {
                    *sensed
                } else {
                    under(sensed, hands)
                };
                self.pushes(hands, |counted, selector| {
                    let sensed = &Sensed {
                        counted,
                        selector,
                        ..sensed
                    };
                    let comes = Comes {
                        plant,
                        hands,
                        sensed,
                    };
                    self.tick(&comes, scratch, tally, found);
                });
            }
            scratch.readings.keep(readings);
        });
    }

    /// Everything that may be read of a plant, once of what comes to the same. What the parts
    /// of the controller make of their readings does not depend on the hands, unless what lies
    /// is a control or the airspeed; whether faults are being cleared decides what is tried.
    fn readings(&self, plant: &Plant, hands: &Hands, scratch: &mut Scratch) -> Readings {
        let of = Of {
            blade: (plant.place, plant.pace),
            clears: hands.acknowledge == Acknowledge::Held,
            hands: lies::are_of_hands(self.troubles()).then_some(*hands),
        };
        if let Some(known) = scratch.readings.take(&of) {
            return known;
        }
        let mut sensed = Vec::new();
        let senses = &mut scratch.senses;
        senses.clear();
        lies::each(plant, hands, self.troubles(), self.counts, |told| {
            let mut prepared = self.real;
            let chosen = chosen(hands, told);
            memory::prepare(&mut prepared, &chosen, self.config);
            let mut controller = C::recall(prepared, self.mind);
            let sense = controller.sense(&told.inputs, self.config);
            let is_new = sense.is_none_or(|sense| {
                let left = memory::pack(controller.memory().0, self.given(), self.config);
                let comes = Comes {
                    plant,
                    hands,
                    sensed: told,
                };
                let moved = left.moved.iter();
                let moved = moved
                    .filter(|timer| self.may_run_out(*timer, &comes))
                    .collect();
                senses.insert((sense, left.bits, moved, Told::of(&told.inputs)))
            });
            if is_new {
                sensed.push(*told);
            }
        });
        Readings { of, sensed }
    }

    /// What the selector may have counted as before, if that is not remembered, and what
    /// it may read now and settle on.
    ///
    /// A push that is held gives no intention, and steers only Jog and Bench, where an
    /// intention changes nothing; so in all other states each push is a fresh one.
    /// One that is not proven moves nothing, as one that is centred.
    fn pushes(&self, hands: &Hands, mut each: impl FnMut(Option<Selector>, Selector)) {
        let by_hand = matches!(self.state, State::Jog | State::Bench);
        let mut read = |reading| {
            let held = if by_hand { reading } else { Selector::Hold };
            each(self.given().then_some(held), reading);
        };
        let pushed = hands.selector.selector();
        read(pushed);
        // Exactly one closed contact proves a push. So one that lies takes the proof away;
        // and while the selector travels, with all three open in truth, it stands alone.
        let alone = [
            (Trouble::SelectHold, Selector::Hold),
            (Trouble::SelectDeploy, Selector::Deploy),
            (Trouble::SelectStow, Selector::Stow),
        ];
        let mut lies = false;
        for (trouble, reading) in alone {
            if self.troubles().has(trouble) {
                lies = true;
                if reading != pushed {
                    read(reading);
                }
            }
        }
        if lies {
            read(Selector::Unproven);
        }
    }

    /// One tick, with every set of timers that may run out in it.
    fn tick(
        &self,
        comes: &Comes<'_>,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, u64, Move<'_>),
    ) {
        let Comes {
            plant,
            hands,
            sensed,
        } = *comes;
        let mut prepared = self.real;
        memory::prepare(&mut prepared, &chosen(hands, sensed), self.config);
        let told = Told::of(&sensed.inputs);
        scratch.sets.begin();
        while let Some(ripe) = scratch.sets.next() {
            let came = self.step(&prepared, ripe, comes);
            // Another choice of what the selector reads settles at once.
            if came.memory.unsettled {
                continue;
            }
            for timer in came.memory.moved - ripe {
                if self.may_run_out(timer, comes) {
                    scratch.sets.add(ripe | timer);
                }
            }
            let step = Step {
                plant,
                watch: &self.world.watch,
                troubles: self.troubles(),
                hands,
                told,
                before: self.state,
                stage: self.stage,
                latched: self.latched,
                ran_out: ripe,
                outputs: &came.outputs,
            };
            let broken = judge(&step, tally);
            tally.went(self.state, came.real.state());
            let mind = came.mind.to_bytes();
            let drives = &came.outputs.drives;
            let known = &mut scratch.known;
            let blade = (plant.place, plant.pace);
            let new = known.is_new(came.memory.bits, mind.as_ref(), &came.watch, drives, blade);
            if !new && broken == 0 {
                continue;
            }
            let tick = Tick {
                plant,
                hands,
                sensed,
                ran_out: ripe,
                outputs: &came.outputs,
            };
            plant.each_next(drives, self.troubles(), |plant| {
                let next = World {
                    plant,
                    watch: came.watch,
                    troubles: self.troubles(),
                };
                let node = Node::of(came.memory.bits, &next, came.mind);
                found(node, broken, Move::Ticks(&tick));
            });
        }
    }

    /// One step of the controller, in which the timers `ripe` run out.
    fn step(&self, prepared: &Sequencer, ripe: Timers, comes: &Comes<'_>) -> Came<C::Mind> {
        let mut before = *prepared;
        memory::ripen(&mut before, ripe, self.config);
        let mut after = C::recall(before, self.mind);
        let outputs = after.step(&comes.sensed.inputs, self.config);
        let (real, mind) = after.memory();
        let seen = &self.world.watch;
        let watch = seen.after(&self.world.plant, comes.hands, self.state, &outputs);
        let memory = memory::pack(real, watch.asked == Asked::Given, self.config);
        Came {
            real,
            mind,
            outputs,
            watch,
            memory,
        }
    }

    /// Whether a timer that ran in a step may as well run out in it, with any effect.
    fn may_run_out(&self, timer: mastwright_core::walk::Timer, comes: &Comes<'_>) -> bool {
        let clears = comes.hands.acknowledge == Acknowledge::Held;
        let quiet = !clears && is_quiet(timer, self.latched, self.joined);
        let now = Situation {
            plant: comes.plant,
            troubles: self.troubles(),
            state: self.state,
            stage: self.stage,
        };
        !quiet && may_run_out(timer, &now)
    }
}

/// What is chosen of the memory under these hands, with what is sensed.
fn chosen(hands: &Hands, sensed: &Sensed) -> Chosen {
    Chosen {
        acknowledge: hands.acknowledge,
        counted: sensed.counted,
        selector: sensed.selector,
        position: sensed.inputs.mast.position.raw(),
        strange: sensed.strange,
        strayed_from: sensed.strayed_from,
        parked: sensed.parked,
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
