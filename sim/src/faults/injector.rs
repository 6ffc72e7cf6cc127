//! The injector: the faults of one run, started one by one, wrapped around the world.
//!
//! Order within a tick: [`Injector::start`] what begins now; then
//! [`Injector::corrupt_controls`] after the pilot, [`Injector::corrupt_inputs`] after
//! the sensors, [`Injector::corrupt_heat`] before the heat warning, [`Injector::powered`] and [`Injector::bit_flip`] before the controller,
//! [`Injector::corrupt_drives`] and [`Injector::defects`] before the plant; and
//! [`Injector::tick`] last, once. A fault that lasts one tick touches the tick in
//! which it is started and no other.

use mastwright_core::Inputs;
use mastwright_core::heat_warning::HeatInputs;
use mastwright_core::outputs::Drives;

use super::actuator::{self, ActuatorId};
use super::channel::SensorId;
use super::detector::DetectorId;
use super::drive::{self, Ways};
use super::fault::Fault;
use super::mechanics::{self, MechanicsId};
use super::pilot::{self, PilotId};
use super::random::Random;
use super::sensor;
use super::supply;
use super::target::Target;
use super::timing::{Breaks, ticks};
use crate::controls::Controls;
use crate::plant::defects::Defects;

/// The faults of one run. The same faults, seed and calls give the same bytes.
#[derive(Clone, Debug, PartialEq)]
pub struct Injector {
    slots: Vec<Slot>,
    /// Indices of the active faults, in the order they began.
    active: Vec<usize>,
    last: Ways,
}

impl Injector {
    /// An injector of these faults, none of them begun.
    #[must_use]
    pub fn new(faults: Vec<Fault>, seed: u64) -> Self {
        let slot = |(stream, fault): (usize, Fault)| Slot::new(fault, seed, stream as u64);
        let slots: Vec<Slot> = faults.into_iter().enumerate().map(slot).collect();
        Self {
            active: Vec::with_capacity(slots.len()),
            slots,
            last: Ways::default(),
        }
    }

    /// The faults it was made of, active or not.
    pub fn faults(&self) -> impl Iterator<Item = &Fault> {
        self.slots.iter().map(|slot| &slot.fault)
    }

    /// Begins fault number `index`, or begins it anew if it is active.
    ///
    /// # Panics
    /// When there is no such fault.
    pub fn start(&mut self, index: usize) {
        self.slots[index].begin();
        self.active.retain(|active| *active != index);
        self.active.push(index);
    }

    /// Adds a fault to those of this run and begins it. It behaves as if the injector had
    /// been made with it, last of all, and with `seed`.
    pub fn add(&mut self, fault: Fault, seed: u64) {
        let index = self.slots.len();
        self.slots.push(Slot::new(fault, seed, index as u64));
        self.start(index);
    }

    /// Ends fault number `index`, if it is active.
    pub fn clear(&mut self, index: usize) {
        self.active.retain(|active| *active != index);
    }

    /// Indices of the active faults, in the order they began.
    #[must_use]
    pub fn active(&self) -> &[usize] {
        &self.active
    }

    /// The active faults, each with its index, in the order they began.
    pub fn acting(&self) -> impl Iterator<Item = (usize, &Fault)> {
        self.active
            .iter()
            .map(|index| (*index, &self.slots[*index].fault))
    }

    /// Lets the pilot's hands err.
    #[inline]
    pub fn corrupt_controls(&mut self, controls: &mut Controls) {
        for index in &self.active {
            self.slots[*index].corrupt_controls(controls);
        }
    }

    /// Makes of the readings what the faulty sensors and the faulty link tell, and of
    /// the deadline what the faulty processor missed.
    #[inline]
    pub fn corrupt_inputs(&mut self, inputs: &mut Inputs) {
        for index in &self.active {
            self.slots[*index].corrupt_inputs(inputs);
        }
    }

    /// Makes of the heat detectors' readings what the faulty ones tell the heat warning.
    #[inline]
    pub fn corrupt_heat(&mut self, inputs: &mut HeatInputs) {
        for index in &self.active {
            self.slots[*index].corrupt_heat(inputs);
        }
    }

    /// Makes of the commands what the faulty actuators do with them.
    #[inline]
    pub fn corrupt_drives(&mut self, drives: &mut Drives) {
        self.last.note(drives);
        for index in &self.active {
            self.slots[*index].corrupt_drives(drives, self.last);
        }
    }

    /// What is wrong in the physical world now. Jams: the one begun last holds.
    #[inline]
    #[must_use]
    pub fn defects(&self) -> Defects {
        let mut mechanics = Defects::default();
        for index in &self.active {
            self.slots[*index].show(&mut mechanics);
        }
        mechanics
    }

    /// True while the controller has its supply.
    #[inline]
    #[must_use]
    pub fn powered(&self) -> bool {
        let lost = |index: &usize| {
            let slot = &self.slots[*index];
            matches!(slot.action, Action::Unpower) && slot.broken()
        };
        !self.active.iter().any(lost)
    }

    /// The number of a memory bit to flip now: any 32-bit number, of which the world
    /// takes the remainder by the size of the memory. Given once for each start and
    /// only in that tick; call until it gives nothing.
    #[inline]
    pub fn bit_flip(&mut self) -> Option<u32> {
        for index in &self.active {
            if let Action::Flip(pending) = &mut self.slots[*index].action
                && let Some(bit) = pending.take()
            {
                return Some(bit);
            }
        }
        None
    }

    /// Ends the tick: time passes for the active faults, and those whose duration is
    /// over heal.
    #[inline]
    pub fn tick(&mut self) {
        if !self.active.is_empty() {
            let slots = &mut self.slots;
            self.active.retain(|index| slots[*index].tick());
        }
    }
}

/// What an active fault does.
#[derive(Clone, Debug, PartialEq)]
enum Action {
    /// Corrupts sensor channels, each with its own state.
    Sense(sensor::Effect, Vec<(SensorId, sensor::State)>),
    /// Exchanges two sensor channels.
    Swap(SensorId, SensorId),
    /// Corrupts what a heat detector or the test button tells.
    Feel(DetectorId, sensor::Effect, sensor::State),
    /// Corrupts the command of an actuator.
    Drive(ActuatorId, drive::Effect, drive::State),
    /// Shows in the physical world.
    Show(MechanicsId, f64),
    /// Moves the pilot's controls.
    Hand(PilotId, f64),
    /// Takes the controller's supply.
    Unpower,
    /// Misses the deadline.
    Overrun,
    /// Flips a bit, unless it has been flipped.
    Flip(Option<u32>),
}

impl Action {
    /// The action of `fault`, at its beginning.
    fn new(fault: &Fault, random: &mut Random) -> Self {
        let strength = fault.strength().unwrap_or_default();
        let sense = |effect, ids: &[SensorId]| {
            let state = |id: &SensorId| (*id, sensor::State::new(effect));
            Self::Sense(effect, ids.iter().map(state).collect())
        };
        match fault.target() {
            Target::Sensor(id) => {
                let effect = sensor::effect(id.channel(), fault.kind(), strength);
                match (effect == sensor::Effect::Swap, id.twin()) {
                    (true, Some(twin)) => Self::Swap(id, twin),
                    (true, None) | (false, _) => sense(effect, &[id]),
                }
            }
            Target::Detector(id) => {
                let effect = sensor::effect(id.channel(), fault.kind(), strength);
                Self::Feel(id, effect, sensor::State::new(effect))
            }
            Target::Link => sense(supply::link_effect(fault.kind(), strength), supply::LINKED),
            Target::Actuator(id) => {
                let effect = actuator::effect(id, fault.kind(), strength);
                Self::Drive(id, effect, drive::State::new(effect))
            }
            Target::Mechanics(id) => Self::Show(id, strength),
            Target::Pilot(id) => Self::Hand(id, strength),
            Target::Power => Self::Unpower,
            Target::Processor => Self::Overrun,
            Target::Memory => Self::Flip(Some(if strength < 0.0 {
                (random.next() >> 32) as u32
            } else {
                strength as u32
            })),
        }
    }
}

/// One fault and how far it has come.
#[derive(Clone, Debug, PartialEq)]
struct Slot {
    fault: Fault,
    action: Action,
    random: Random,
    breaks: Option<Breaks>,
    /// Ticks from beginning to healing; nothing means until cleared.
    length: Option<u32>,
    /// Ticks until it heals.
    left: Option<u32>,
}

impl Slot {
    fn new(fault: Fault, seed: u64, stream: u64) -> Self {
        let mut random = Random::new(seed, stream);
        let length = if fault.entry().lasts {
            fault.duration().map(ticks)
        } else {
            Some(1)
        };
        Self {
            action: Action::new(&fault, &mut random),
            fault,
            random,
            breaks: None,
            length,
            left: length,
        }
    }

    fn begin(&mut self) {
        self.action = Action::new(&self.fault, &mut self.random);
        let cycle = self.fault.cycle();
        self.breaks = cycle.map(|cycle| Breaks::new(cycle, &mut self.random));
        self.left = self.length;
    }

    /// True unless the fault comes and goes and is gone.
    fn broken(&self) -> bool {
        self.breaks.as_ref().is_none_or(Breaks::broken)
    }

    fn draw(&self) -> u64 {
        self.breaks.as_ref().map_or(0, Breaks::draw)
    }

    fn corrupt_controls(&self, controls: &mut Controls) {
        if let Action::Hand(id, strength) = self.action {
            pilot::hand(id)(controls, strength, self.draw());
        }
    }

    fn corrupt_drives(&mut self, drives: &mut Drives, last: Ways) {
        let broken = self.broken();
        if let Action::Drive(id, effect, state) = &mut self.action {
            state.corrupt(*effect, *id, drives, broken, last);
        }
    }

    fn show(&self, mechanics: &mut Defects) {
        if let Action::Show(id, strength) = self.action
            && self.broken()
        {
            mechanics::show(id)(mechanics, strength);
        }
    }

    fn corrupt_inputs(&mut self, inputs: &mut Inputs) {
        let broken = self.broken();
        match &mut self.action {
            Action::Sense(effect, channels) => {
                for (id, state) in channels {
                    let sample = id.read(inputs);
                    let told =
                        state.corrupt(*effect, id.channel(), sample, broken, &mut self.random);
                    id.write(inputs, told);
                }
            }
            Action::Swap(one, other) => {
                let (first, second) = (one.read(inputs), other.read(inputs));
                one.write(inputs, second);
                other.write(inputs, first);
            }
            Action::Overrun => inputs.missed_deadline |= broken,
            Action::Feel(..)
            | Action::Drive(..)
            | Action::Show(..)
            | Action::Hand(..)
            | Action::Unpower
            | Action::Flip(_) => {}
        }
    }

    fn corrupt_heat(&mut self, inputs: &mut HeatInputs) {
        let broken = self.broken();
        if let Action::Feel(id, effect, state) = &mut self.action {
            let sample = id.read(inputs);
            let told = state.corrupt(*effect, id.channel(), sample, broken, &mut self.random);
            id.write(inputs, told);
        }
    }

    /// One tick passes; false when the fault has healed.
    fn tick(&mut self) -> bool {
        if let Some(breaks) = &mut self.breaks {
            breaks.tick(&mut self.random);
        }
        match &mut self.left {
            None => true,
            Some(left) => {
                *left -= 1;
                *left > 0
            }
        }
    }
}
