//! One tick out of a node: everything that may come to the controller, and what comes of it.

mod coming;
mod readings;

use mastwright_core::bus::Stage;
use mastwright_core::command::Selector;
use mastwright_core::inputs::PACKS;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, State};

use super::cases::{Cases, Several};
use super::checks::{CHECKS, Found, Step, decisive};
use super::engine::Packed;
use super::explored::Explored;
use super::facts::{Situation, is_quiet, may_run_out};
use super::hands::Hands;
use super::lies::{Counts, Read};
use super::memory::{self, Acknowledge, Memory};
use super::node::Node;
use super::plant::Blade;
use super::scratch::{Known, Scratch};
use super::space::{Move, Tick, World};
use super::tally::Tally;
use super::tried::Matters;
use super::trouble::Trouble;
use super::watch::{Asked, Watch};
use coming::{Coming, chosen};

/// A node, opened, in several cases, and what is the same in all ticks out of it.
pub(super) struct Here<'a, C: Explored> {
    config: &'a Config,
    real: Sequencer,
    mind: C::Mind,
    world: &'a World,
    broken: Several,
    /// The cases in which a contact of the stop switch may lie, now or later.
    stop_may_lie: Cases,
    state: State,
    stage: Stage,
    latched: Faults,
    joined: [bool; PACKS],
    counts: Counts,
    blade: Blade,
}

/// What one step came to.
struct Came<M> {
    mind: M,
    /// The state after it.
    after: State,
    outputs: Outputs,
    memory: Memory,
}

/// What one step came to, judged.
#[derive(Clone, Copy)]
struct Outcome<'a, M> {
    tick: &'a Tick<'a>,
    came: &'a Came<M>,
    /// The observer after it.
    watch: Watch,
    /// The checks that it breaks.
    broken: u64,
}

impl<'a, C: Explored> Here<'a, C> {
    pub(super) fn of(
        config: &'a Config,
        controller: &C,
        world: &'a World,
        broken: Several,
        stop_may_lie: Cases,
    ) -> Self {
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
            broken,
            stop_may_lie,
            state,
            stage,
            latched,
            joined: real.joined(),
            counts: Counts::of(state, stage, latched, blade),
            blade,
        }
    }

    /// What can matter of what comes from outside, in one case.
    pub(super) fn matters(&self) -> Matters {
        Matters::of(self.state, self.latched, self.world)
    }

    /// All ticks.
    pub(super) fn all_ticks(
        &self,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let tried = Matters::tried(self.state, self.latched, self.world, self.broken);
        for (hands, cases) in tried.iter() {
            self.ticks(hands, cases, scratch, tally, found);
        }
    }

    fn given(&self) -> bool {
        self.world.watch.asked == Asked::Given
    }

    /// The ticks under `hands` in these cases, with everything that blade and readings may be.
    pub(super) fn ticks(
        &self,
        hands: &Hands,
        cases: Cases,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let lies = self.lies(hands, cases);
        self.world.plant.each_blade(self.blade, |plant| {
            let readings = self.readings(plant, hands, scratch);
            for reading in &readings.all {
                let truth = Coming {
                    plant,
                    hands,
                    reading,
                    lie: None,
                    counted: None,
                    selector: hands.selector.selector(),
                    cases: cases & reading.cases,
                };
                self.pushes(&truth, scratch, tally, found);
                for lie in &lies {
                    let coming = Coming {
                        lie: Some(lie),
                        cases: truth.cases & self.broken.with_any(lie.cases),
                        ..truth
                    };
                    self.pushes(&coming, scratch, tally, found);
                }
            }
            scratch.readings.keep(readings);
        });
    }

    /// What the selector may have counted as before, if that is not remembered, and what
    /// it may read now and settle on.
    ///
    /// A push that is held gives no intention, and steers only Jog and Bench, where an
    /// intention changes nothing; so in all other states each push is a fresh one.
    /// One that is not proven moves nothing, as one that is centred.
    fn pushes(
        &self,
        coming: &Coming<'_>,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let by_hand = matches!(self.state, State::Jog | State::Bench);
        let mut read = |reading, cases: Cases| {
            if cases.is_empty() {
                return;
            }
            let held = if by_hand { reading } else { Selector::Hold };
            let coming = Coming {
                counted: self.given().then_some(held),
                selector: reading,
                cases,
                ..*coming
            };
            self.tick(&coming, scratch, tally, found);
        };
        let pushed = coming.hands.selector.selector();
        read(pushed, coming.cases);
        // Exactly one closed contact proves a push. So one that lies takes the proof away;
        // and while the selector travels, with all three open in truth, it stands alone.
        let alone = [
            (Trouble::SelectHold, Selector::Hold),
            (Trouble::SelectDeploy, Selector::Deploy),
            (Trouble::SelectStow, Selector::Stow),
        ];
        let mut lies = Cases::empty();
        for (trouble, reading) in alone {
            let lie = coming.cases & self.broken.with(trouble);
            lies |= lie;
            if reading != pushed {
                read(reading, lie);
            }
        }
        read(Selector::Unproven, lies);
    }

    /// One tick, with every set of timers that may run out in it.
    fn tick(
        &self,
        coming: &Coming<'_>,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let Coming {
            plant,
            hands,
            cases,
            ..
        } = *coming;
        let told = coming.told();
        let read = self.read(plant, hands, self.broken);
        let sensed = coming.sensed();
        let mut before = self.real;
        memory::prepare(&mut before, &chosen(hands, &sensed), self.config);
        scratch.sets.begin(cases);
        while let Some((ripe, cases)) = scratch.sets.next() {
            let came = &self.step(before, ripe, &sensed.inputs, hands);
            let Came {
                after,
                outputs,
                memory,
                ..
            } = came;
            // Another choice of what the selector reads settles at once.
            if memory.unsettled {
                continue;
            }
            for timer in memory.moved - ripe {
                let may = cases & self.may_run_out(timer, &read);
                scratch.sets.add(ripe | timer, may);
            }
            tally.went(self.state, *after);
            let seen = &self.world.watch;
            let watch = seen.after(&self.world.plant, hands, self.state, outputs);
            let step = Step {
                plant,
                watch: seen,
                insulated: true,
                hands,
                told,
                before: self.state,
                stage: self.stage,
                latched: self.latched,
                ran_out: ripe,
                outputs,
            };
            let tick = Tick {
                plant,
                hands,
                sensed: &sensed,
                ran_out: ripe,
                outputs,
            };
            let low = cases & self.broken.with(Trouble::InsulationLow);
            for (insulated, cases) in [(true, cases - low), (false, low)] {
                if cases.is_empty() {
                    continue;
                }
                let outcome = Outcome {
                    tick: &tick,
                    came,
                    watch,
                    broken: judge(&Step { insulated, ..step }, tally),
                };
                self.lead(&outcome, cases, &mut scratch.known, found);
            }
        }
    }

    /// Tells the nodes that an outcome leads to in these cases, unless it is known already and
    /// breaks nothing.
    fn lead(
        &self,
        outcome: &Outcome<'_, C::Mind>,
        cases: Cases,
        known: &mut Known,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let Outcome {
            tick,
            came,
            watch,
            broken,
        } = *outcome;
        let mind = came.mind.to_bytes();
        let (plant, drives) = (tick.plant, &tick.outputs.drives);
        let blade = (plant.place, plant.pace);
        let may_lie = cases & self.stop_may_lie;
        for (may_lie, cases) in [(true, may_lie), (false, cases - may_lie)] {
            if cases.is_empty() {
                continue;
            }
            // Where the contacts will be is not known yet.
            let bits = came.memory.stored(true, may_lie);
            let new = known.new_of(bits, mind.as_ref(), &watch, drives, blade, cases);
            let tell = if broken == 0 { new } else { cases };
            if tell.is_empty() {
                continue;
            }
            let several = Several::of(self.broken.common(), tell);
            plant.each_next(drives, several, |plant, cases| {
                let next = World {
                    plant,
                    watch,
                    troubles: self.world.troubles,
                };
                let bits = came.memory.stored(plant.main, may_lie);
                let node = Node::of(bits, &next, came.mind);
                found(node, cases, broken, Move::Ticks(tick));
            });
        }
    }

    /// What comes of one step of a controller that is prepared for it, in which the timers
    /// `ripe` run out.
    fn step(
        &self,
        mut before: Sequencer,
        ripe: Timers,
        inputs: &Inputs,
        hands: &Hands,
    ) -> Came<C::Mind> {
        memory::ripen(&mut before, ripe, self.config);
        let mut controller = C::recall(before, self.mind);
        let outputs = controller.step(inputs, self.config);
        let (real, mind) = controller.memory();
        let asked = self.world.watch.asked_after(hands);
        Came {
            mind,
            after: real.state(),
            outputs,
            memory: memory::pack(real, asked == Asked::Given, self.config),
        }
    }

    /// The cases in which a timer that ran in a step may as well run out in it, with any
    /// effect.
    fn may_run_out(&self, timer: Timer, read: &Read<'_>) -> Cases {
        let clears = read.hands.acknowledge == Acknowledge::Held;
        if !clears && is_quiet(timer, self.latched, self.joined) {
            return Cases::empty();
        }
        let now = Situation {
            plant: read.plant,
            broken: read.broken,
            state: self.state,
            stage: self.stage,
        };
        may_run_out(timer, &now)
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
