//! Whether any lie whatever of a broken sensor comes to what one of the lies comes to that
//! the exploration tries.

use std::collections::BTreeMap;

use mastwright_core::axis::Way;
use mastwright_core::signal::Signal;
use mastwright_core::units::Millivolts;
use mastwright_core::walk::Timers;
use mastwright_core::{Config, Faults, Inputs, Sequencer};
use mastwright_sim::explore::cases::Several;
use mastwright_sim::explore::checks::decisive;
use mastwright_sim::explore::facts::{Situation, is_quiet, may_run_out};
use mastwright_sim::explore::hands::Hands;
use mastwright_sim::explore::lies::{self, Counts, Read};
use mastwright_sim::explore::memory::{self as packed, Acknowledge, Chosen};
use mastwright_sim::explore::plant::{Blade, Motion, Pace, Place, Plant, Side, Volts, keeps_blade};
use mastwright_sim::explore::sense::{Sensed, sound};
use mastwright_sim::explore::space::World;
use mastwright_sim::explore::tried::Matters;
use mastwright_sim::explore::trouble::{Trouble, Troubles};
use mastwright_sim::explore::watch::{Asked, Watch};
use mastwright_sim::plant::truth::Truth;

use super::channels::{CHANNELS, Channel};
use super::follow::Told;
use super::{memory, plant};
use crate::draw::Draw;

/// How many values of each reading are drawn.
const VALUES: u32 = 6;

/// What one step comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Came {
    told: Told,
    memory: u64,
    /// The timers that ran in it and may run out, with any effect.
    moved: Timers,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// Of each trouble: how many lies were told.
    pub told: BTreeMap<&'static str, u64>,
    /// Of each trouble and state: a lie that comes to what none does that is tried.
    pub missed: BTreeMap<(&'static str, &'static str), (u64, String)>,
}

/// A memory of the real controller, in an abstract world.
struct Here<'a> {
    config: &'a Config,
    /// Reduced, every running timer running.
    controller: Sequencer,
    plant: Plant,
    hands: Hands,
    troubles: Troubles,
}

impl Here<'_> {
    fn came(&self, sensed: &Sensed) -> Option<Came> {
        let mut controller = self.controller;
        let chosen = Chosen {
            acknowledge: self.hands.acknowledge,
            counted: Some(mastwright_core::command::Selector::Hold),
            selector: sensed.selector,
            position: sensed.inputs.mast.position.raw(),
            strange: sensed.strange,
            strayed_from: sensed.strayed_from,
            parked: sensed.parked,
        };
        packed::prepare(&mut controller, &chosen, self.config);
        let outputs = controller.step(&sensed.inputs, self.config);
        let memory = packed::pack(controller, true, self.config);
        let clears = self.hands.acknowledge == Acknowledge::Held;
        let now = Situation {
            plant: &self.plant,
            broken: Several::one(self.troubles),
            state: self.controller.state(),
            stage: self.controller.bus_stage(),
        };
        let latched = self.controller.latched();
        let joined = self.controller.joined();
        // What is being cleared may be latched anew; a pack that is not joined stays so.
        let standing = if clears { Faults::empty() } else { latched };
        let quiet = |timer| is_quiet(timer, standing, joined);
        let moved = memory.moved.iter();
        Some(Came {
            told: Told::of(&outputs),
            memory: memory.bits,
            moved: moved
                .filter(|&timer| !quiet(timer) && !may_run_out(timer, &now).is_empty())
                .collect(),
        })
    }
}

/// The abstract plant of a truth, its motion as the controller drives it.
fn situated(truth: &Truth, controller: &Sequencer, config: &Config) -> Plant {
    let running = memory::running(controller, config);
    let side = |way: Way| match way {
        Way::Out => Side::Out,
        Way::In => Side::In,
    };
    let motion = |axis: usize| match (running.driven[axis], running.resting[axis]) {
        (Some(way), _) => Motion::Driven(side(way)),
        (None, Some(rests)) => Motion::Coasts(side(rests.opposite())),
        (None, None) => Motion::Rest,
    };
    let classes = Plant {
        mast_motion: motion(0),
        door_motion: motion(1),
        ..plant::classes(truth, config)
    };
    let fits = |place, pace| {
        let plant = Plant {
            place,
            pace,
            ..classes
        };
        plant::fits(&plant, truth, [true; 2], config).then_some(plant)
    };
    if !keeps_blade(classes.mast, classes.mast_motion) {
        return classes;
    }
    [
        (Place::Window, Pace::Still),
        (Place::Window, Pace::Slow),
        (Place::Near, Pace::Still),
        (Place::Near, Pace::Slow),
        (Place::Away, Pace::Still),
        (Place::Away, Pace::Slow),
        (Place::Away, Pace::Fast),
    ]
    .into_iter()
    .find_map(|(place, pace)| fits(place, pace))
    .unwrap_or(classes)
}

impl Found {
    /// Lets each sensor lie once to a controller with this memory.
    pub fn try_all(&mut self, real: &Sequencer, truth: &Truth, config: &Config, draw: &mut Draw) {
        let bits = packed::pack(*real, true, config).bits;
        let controller = packed::unpack(bits, config);
        let classes = situated(truth, real, config);
        let latched = decisive(controller.latched());
        let state = controller.state();
        let asked = Watch {
            asked: Asked::Given,
            ..Watch::default()
        };
        let world = World {
            plant: classes,
            troubles: Troubles::default(),
            watch: asked,
        };
        let all = Matters::of(state, latched, &world).hands();
        let grips =
            controller.grips() || controller.bus_stage() == mastwright_core::bus::Stage::Live;
        let blade = Blade::of(state, classes.mast, grips);
        let mut plants = Vec::new();
        classes.each_blade(blade, |plant| plants.push(*plant));
        let counts = Counts::of(state, controller.bus_stage(), latched, blade);
        for channel in CHANNELS {
            // The selector's contacts lie with the pushes of a step.
            let Some(trouble) = channel.trouble else {
                continue;
            };
            if matches!(
                trouble,
                Trouble::SelectHold | Trouble::SelectDeploy | Trouble::SelectStow
            ) {
                continue;
            }
            let here = Here {
                config,
                controller,
                plant: draw.one(&plants),
                hands: draw.one(&all),
                troubles: Troubles::of(trouble, Trouble::None),
            };
            self.try_one(&here, channel, trouble, counts, draw);
        }
    }

    fn try_one(
        &mut self,
        here: &Here<'_>,
        channel: &Channel,
        trouble: Trouble,
        counts: Counts,
        draw: &mut Draw,
    ) {
        let mut tried = Vec::new();
        let read = Read {
            plant: &here.plant,
            hands: &here.hands,
            broken: Several::one(here.troubles),
            counts,
        };
        lies::each(&read, |sensed, _| {
            tried.extend(here.came(sensed));
            lies::of_hands(&read, sensed, |sensed, _| tried.extend(here.came(sensed)));
        });
        let insulated = !here.troubles.has(Trouble::InsulationLow);
        let mut truth = sound(&here.plant, &here.hands, insulated);
        for number in 0..VALUES {
            // A bus that is partly charged stands at any height between.
            if here.plant.volts == Volts::Part {
                let height = i32::try_from(70_000 + draw.below(300_000)).unwrap_or(0);
                truth.inputs.bus.voltage = Signal::fresh(Millivolts::new(height));
            }
            let said = (number > 0).then(|| draw.below(u32::MAX));
            let mut inputs: Inputs = truth.inputs;
            (channel.say)(&mut inputs, said);
            let Some(came) = here.came(&Sensed { inputs, ..truth }) else {
                continue;
            };
            *self.told.entry(trouble.name()).or_default() += 1;
            let covers = |tried: &Came| {
                (tried.told, tried.memory) == (came.told, came.memory)
                    && tried.moved.is_superset(came.moved)
            };
            if !tried.iter().any(covers) {
                let key = (trouble.name(), here.controller.state().name());
                let missed = self.missed.entry(key).or_insert_with(|| {
                    let words = format!(
                        "{said:?}: {came:?}\nof {tried:?}\n{:?}\n{:?}\n{:?}",
                        here.plant, here.hands, here.controller
                    );
                    (0, words)
                });
                missed.0 += 1;
            }
        }
    }
}
