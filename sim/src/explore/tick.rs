//! One tick out of a node: everything that may come to the controller, and what comes of it.

mod coming;
mod readings;

use mastwright_core::bus::Stage;
use mastwright_core::command::Selector;
use mastwright_core::inputs::PACKS;
use mastwright_core::outputs::{DoorDrive, MastDrive};
use mastwright_core::sequencer::Asks;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, State};

use super::cases::{Cases, Several};
use super::checks::{Found, Step, decisive, judge_each};
use super::explored::Explored;
use super::facts::{Situation, is_quiet, latched_by, may_run_out};
use super::hands::{Air, Hands};
use super::lies::{Counts, Read};
use super::memory::{self, Acknowledge, Memory};
use super::node::Node;
use super::plant::Blade;
use super::scratch::{Known, Outcome, Readings, Scratch};
use super::space::{Move, Tick, World};
use super::tally::Tally;
use super::tried::Matters;
use super::trouble::Trouble;
use super::watch::{Asked, Watch};
use coming::{Coming, Pushed, chosen};

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
    /// What its tick may ask of its readings.
    may_ask: Asks,
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
struct Judged<'a, M> {
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
            may_ask: real.may_ask(),
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
        for (hands, cases, too_fast) in tried.iter() {
            self.ticks(hands, cases, too_fast, scratch, tally, found);
        }
    }

    fn given(&self) -> bool {
        self.world.watch.asked == Asked::Given
    }

    /// The ticks under `hands` in these cases, with everything that blade and readings may be;
    /// in the cases of `too_fast` also in air that is too fast.
    pub(super) fn ticks(
        &self,
        hands: &Hands,
        cases: Cases,
        too_fast: Cases,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let fast = &Hands {
            air: Air::Fast,
            ..*hands
        };
        let lies = self.lies(hands, cases);
        let fast_lies = self.lies(fast, too_fast);
        let pushes = self.pushes(hands, cases | too_fast);
        self.world.plant.each_blade(self.blade, |plant| {
            let mut readings = self.readings(plant, hands, scratch);
            let any = readings.any();
            for push in &pushes {
                let coming = Coming {
                    plant,
                    hands,
                    reading: &any,
                    lie: None,
                    push,
                    cases,
                };
                let turn = self.turned(&coming);
                for reading in readings.where_asked(&self.real.asks(turn), &mut scratch.senses) {
                    let coming = Coming {
                        reading,
                        cases: cases & push.cases & reading.cases,
                        ..coming
                    };
                    let drives = self.tick(&coming, scratch, tally, found);
                    let coming = Coming {
                        hands: fast,
                        cases: too_fast & push.cases & reading.cases,
                        ..coming
                    };
                    if drives || self.real.airspeed_leads(turn) {
                        self.tick(&coming, scratch, tally, found);
                    }
                }
                for (hands, cases, lies) in [(hands, cases, &lies), (fast, too_fast, &fast_lies)] {
                    for lie in lies {
                        let coming = Coming {
                            hands,
                            lie: Some(lie),
                            cases: cases & push.cases & self.broken.with_any(lie.cases),
                            ..coming
                        };
                        self.lied_to(&coming, &mut readings, scratch, tally, found);
                    }
                }
            }
            scratch.readings.keep(readings);
        });
    }

    /// The ticks in which a control or the airspeed says what is not so.
    fn lied_to(
        &self,
        coming: &Coming<'_>,
        readings: &mut Readings,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let asked = self.real.asks(self.turned(coming));
        for reading in readings.where_asked(&asked, &mut scratch.senses) {
            let coming = Coming {
                reading,
                cases: coming.cases & reading.cases,
                ..*coming
            };
            self.tick(&coming, scratch, tally, found);
        }
    }

    /// What the selector may have counted as before, if that is not remembered, and what
    /// it may read now and settle on.
    ///
    /// A push that is held gives no intention, and steers only Jog and Bench, where an
    /// intention changes nothing; so in all other states each push is a fresh one.
    /// One that is not proven moves nothing, as one that is centred.
    fn pushes(&self, hands: &Hands, cases: Cases) -> Vec<Pushed> {
        let by_hand = matches!(self.state, State::Jog | State::Bench);
        let mut all = Vec::new();
        let mut read = |selector, cases: Cases| {
            if cases.is_empty() {
                return;
            }
            let held = if by_hand { selector } else { Selector::Hold };
            all.push(Pushed {
                counted: self.given().then_some(held),
                selector,
                cases,
            });
        };
        let pushed = hands.selector.selector();
        read(pushed, cases);
        // Exactly one closed contact proves a push. So one that lies takes the proof away. Only
        // where the selector lingers between two positions, with all three open in truth, does it
        // stand alone for long enough to count.
        let alone = [
            (Trouble::SelectHold, Selector::Hold),
            (Trouble::SelectDeploy, Selector::Deploy),
            (Trouble::SelectStow, Selector::Stow),
        ];
        let lingers = cases & self.broken.with(Trouble::SelectorLingers);
        let mut unproven = lingers;
        for (trouble, reading) in alone {
            let lie = cases & self.broken.with(trouble);
            unproven |= lie;
            if reading != pushed && pushed != Selector::Hold {
                read(reading, lie & lingers);
            }
        }
        read(Selector::Unproven, unproven);
        all
    }

    /// One tick, with every set of timers that may run out in it; true if mast or doors are
    /// driven in any.
    fn tick(
        &self,
        coming: &Coming<'_>,
        scratch: &mut Scratch,
        tally: &mut Tally,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) -> bool {
        let Coming {
            plant,
            hands,
            cases,
            ..
        } = *coming;
        if cases.is_empty() {
            return false;
        }
        let mut drives = false;
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
                let may = cases & self.may_run_out(timer, ripe, &read);
                scratch.sets.add(ripe | timer, may);
            }
            drives |= outputs.drives.mast != MastDrive::Off;
            drives |= outputs.drives.doors != DoorDrive::Off;
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
                let judged = Judged {
                    tick: &tick,
                    came,
                    watch,
                    broken: judge(&Step { insulated, ..step }, tally),
                };
                self.lead(&judged, cases, &mut scratch.known, found);
            }
        }
        drives
    }

    /// Tells the nodes that a tick leads to in these cases, unless it is known already to come
    /// to the same.
    fn lead(
        &self,
        judged: &Judged<'_, C::Mind>,
        cases: Cases,
        known: &mut Known,
        found: &mut impl FnMut(Node<C::Mind>, Cases, u64, Move<'_>),
    ) {
        let Judged {
            tick,
            came,
            watch,
            broken,
        } = *judged;
        let (plant, drives) = (tick.plant, &tick.outputs.drives);
        let may_lie = cases & self.stop_may_lie;
        for (may_lie, cases) in [(true, may_lie), (false, cases - may_lie)] {
            if cases.is_empty() {
                continue;
            }
            let outcome = Outcome {
                // Where the contacts will be is not known yet.
                memory: came.memory.stored(true, may_lie),
                mind: came.mind,
                watch: &watch,
                drives,
                blade: (plant.place, plant.pace),
                broken,
            };
            let new = known.new_of(&outcome, cases);
            if new.is_empty() {
                continue;
            }
            let several = Several::of(self.broken.common(), new);
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

    /// The cases in which a timer that ran in a step may as well run out in it beside those
    /// that are `ripe`, with any effect.
    fn may_run_out(&self, timer: Timer, ripe: Timers, read: &Read<'_>) -> Cases {
        let clears = read.hands.acknowledge == Acknowledge::Held;
        let stay = if clears {
            Faults::empty()
        } else {
            self.latched
        };
        if is_quiet(timer, stay | latched_by(ripe), self.joined) {
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
    let (mut broken, mut number) = (0, 0);
    tally.steps += 1;
    judge_each(step, |found| {
        match found {
            Found::Nothing => {}
            Found::Held => tally.tested[number] += 1,
            Found::Broken => {
                tally.tested[number] += 1;
                broken |= 1 << number;
            }
        }
        number += 1;
    });
    broken
}
