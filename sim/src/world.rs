//! Plant, sensors, faults, pilot and controller, stepped together.
//!
//! One tick, in order: the script moves the pilot's hands and starts faults; the sensors
//! read the truth and the hands; the controller, if it has its supply, answers; the heat
//! warning, on a supply of its own, answers; the plant moves on under what the actuators
//! make of the commands. Everything random follows from one seed, so the same scenario,
//! seed and build give the same frames.

mod controller;
mod heat;
mod unit;

pub use controller::Controller;
pub use unit::Unit;

use mastwright_core::Sequencer;
use mastwright_core::outputs::{Drives, Indications};

use crate::controls::Controls;
use crate::faults::{Fault, Injector};
use crate::frame::Frame;
use crate::join;
use crate::memory::Memory;
use crate::plant::{Plant, Surroundings, rotor_angle};
use crate::scenario::Scenario;
use crate::scenario::deed::Deed;
use crate::scenario::script::{Marks, Script, Stage};
use crate::sensors::Sensors;
use heat::Heat;

/// A world in which one controller flies one scenario.
#[derive(Clone, Debug)]
pub struct World<C = Sequencer> {
    script: Script,
    injector: Injector,
    plant: Plant,
    sensors: Sensors,
    unit: Unit<C>,
    /// Bits of the controller's memory flipped in the latest tick.
    flips: Vec<u32>,
    heat: Heat,
    frame: Frame,
    first: bool,
    /// Faults given by the time the latest tick began.
    known_faults: usize,
}

impl World<Sequencer> {
    /// A world with the real controller.
    #[must_use]
    pub fn new(scenario: &Scenario, seed: u64) -> Self {
        Self::with(scenario, seed)
    }
}

impl<C: Controller> World<C> {
    /// A world with any controller.
    #[must_use]
    pub fn with(scenario: &Scenario, seed: u64) -> Self {
        let faults: Vec<Fault> = scenario
            .faults
            .iter()
            .map(|order| join::fault(order).expect("checked when the scenario was read"))
            .collect();
        Self {
            script: Script::new(scenario),
            injector: Injector::new(faults, seed),
            plant: Plant::new(&scenario.setup),
            sensors: Sensors::new(seed),
            unit: Unit::new(&scenario.config),
            flips: Vec::new(),
            heat: Heat::new(C::heat_limits()),
            frame: Frame::default(),
            first: true,
            known_faults: 0,
        }
    }

    /// Moves on by one tick of 10 ms and shows what held in it.
    pub fn step(&mut self) -> &Frame {
        let stage = self.begin_tick();
        self.control();
        self.end_tick(stage)
    }

    /// Moves on by one tick in which the controller is not asked: `drives` and
    /// `indications` stand at its pins, whether or not it has its supply. What a fault
    /// does while nobody reacts to it is found so.
    pub fn step_withheld(&mut self, drives: &Drives, indications: &Indications) -> &Frame {
        let stage = self.begin_tick();
        self.frame.outputs.drives = *drives;
        self.frame.outputs.indications = *indications;
        self.end_tick(stage)
    }

    /// Adds a fault to those of the scenario and begins it in the next tick, as if the
    /// scenario had ordered it for then: with `seed`, a scenario that lists it after the
    /// faults there are gives the same frames.
    pub fn inject(&mut self, fault: Fault, seed: u64) {
        self.injector.add(fault, seed);
    }

    /// Ends fault number `index` of those active now; another number ends nothing.
    pub fn clear(&mut self, index: usize) {
        self.injector.clear(index);
    }

    /// The faults that act now, each with its number, in the order they began.
    pub fn active_faults(&self) -> impl Iterator<Item = (usize, &Fault)> {
        self.injector.acting()
    }

    /// How many of them had been given by the time the latest tick began: the others
    /// act from the next tick on.
    #[must_use]
    pub const fn faults_known(&self) -> usize {
        self.known_faults
    }

    /// The fault of this number among those this world has been given.
    #[must_use]
    pub fn fault(&self, index: usize) -> Option<&Fault> {
        self.injector.faults().nth(index)
    }

    /// The controller, as it was when it last had its supply.
    #[must_use]
    pub const fn controller(&self) -> &C {
        self.unit.controller()
    }

    /// What the controller's unit keeps over a loss of power.
    #[must_use]
    pub const fn memory(&self) -> &Memory {
        self.unit.memory()
    }

    /// The bits of the controller's memory that were flipped in the latest tick.
    #[must_use]
    pub fn flips(&self) -> &[u32] {
        &self.flips
    }

    /// How many faults this world has been given, active or not.
    #[must_use]
    pub fn faults_given(&self) -> usize {
        self.injector.faults().count()
    }

    /// A person does `deed` in the next tick; from the first deed of the hands on, the
    /// scenario's pilot does nothing more with them.
    pub fn take(&mut self, deed: Deed) {
        self.script.take(deed);
    }

    /// Whether a person has the controls.
    #[must_use]
    pub const fn is_taken(&self) -> bool {
        self.script.is_taken()
    }

    /// The hands, before any of them errs, as they are on their way to be.
    #[must_use]
    pub fn hands(&self) -> Controls {
        self.script.hands()
    }

    /// Sets pilot's hands, faults, sensors and supply of the next tick.
    fn begin_tick(&mut self) -> Stage {
        let before = (!self.first).then_some(&self.frame);
        let stage = *self.script.advance(before);
        self.known_faults = self.injector.faults().count();
        for index in self.script.started_faults().iter() {
            self.injector.start(index);
        }
        if !self.first {
            self.frame.tick += 1;
        }
        self.first = false;

        self.frame.controls = stage.controls;
        self.injector.corrupt_controls(&mut self.frame.controls);
        self.frame.truth = *self.plant.truth();
        self.frame.truth.person_near = stage.person_near;
        self.frame.inputs = self.sensors.sample(&self.frame.truth, &self.frame.controls);
        self.injector.corrupt_inputs(&mut self.frame.inputs);
        self.frame.powered = stage.powered && self.injector.powered();
        stage
    }

    /// Lets the heat warning and the plant move on.
    fn end_tick(&mut self, stage: Stage) -> &Frame {
        self.frame.heat_warning =
            self.heat
                .step(&self.frame.truth, &self.frame.controls, &mut self.injector);
        self.move_plant(stage.target_airspeed, stage.person_near);
        self.injector.tick();
        &self.frame
    }

    /// The frame of the latest tick.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        &self.frame
    }

    /// The actions of the scenario that began in the latest tick.
    #[must_use]
    pub fn started_actions(&self) -> Marks {
        self.script.started_actions()
    }

    /// The faults of the scenario that began in the latest tick.
    #[must_use]
    pub const fn started_faults(&self) -> Marks {
        self.script.started_faults()
    }

    /// Ends every fault that is active now; those still to come stay to come.
    pub fn heal(&mut self) {
        for index in self.injector.active().to_vec() {
            self.injector.clear(index);
        }
    }

    /// Lets the controller answer, if it has its supply.
    fn control(&mut self) {
        self.flips.clear();
        if !self.frame.powered {
            self.frame.outputs = self.unit.rest();
            return;
        }
        while let Some(bit) = self.injector.bit_flip() {
            self.flips.push(bit);
        }
        self.frame.outputs = self.unit.answer(&self.frame.inputs, &self.flips);
    }

    fn move_plant(&mut self, target_airspeed: f64, person_near: bool) {
        let mut drives = self.frame.outputs.drives;
        self.injector.corrupt_drives(&mut drives);
        let surroundings = Surroundings {
            target_airspeed,
            person_near,
            rotor_angle_seen: rotor_angle(&self.frame.inputs.propeller.angle_a),
        };
        self.plant
            .step(&drives, &surroundings, &self.injector.defects());
    }
}
