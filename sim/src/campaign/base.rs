//! A base mission flown without faults: what the controller did in every tick, and
//! copies of the world from which cells are flown.

use enumset::EnumSet;
use mastwright_core::outputs::{Drives, Indications};
use mastwright_core::{Fault, State};

use super::moment::Moment;
use crate::frame::Frame;
use crate::oracle::{Limits, Oracle};
use crate::scenario::Scenario;
use crate::world::{Controller, World};

/// What the controller did in one tick of the faultless mission.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Done {
    /// What it drove.
    pub drives: Drives,
    /// What it showed.
    pub indications: Indications,
    /// The heat warning sounded.
    pub heat_warning: bool,
}

impl Done {
    /// What was done in the tick of `frame`.
    #[must_use]
    pub const fn in_frame(frame: &Frame) -> Self {
        Self {
            drives: frame.outputs.drives,
            indications: frame.outputs.indications,
            heat_warning: frame.heat_warning,
        }
    }
}

/// A world and its oracle, ready for their next tick.
#[derive(Clone, Debug)]
pub struct Checkpoint<C> {
    /// The next tick.
    pub tick: u64,
    /// The world.
    pub world: World<C>,
    /// What has judged it so far.
    pub oracle: Oracle,
}

impl<C: Controller> Checkpoint<C> {
    fn start(scenario: &Scenario, seed: u64) -> Self {
        Self {
            tick: 0,
            world: World::with(scenario, seed),
            oracle: Oracle::new(&Limits::default()),
        }
    }

    /// Moves on by one tick and judges it.
    pub fn step(&mut self) -> &Frame {
        let frame = self.world.step();
        self.oracle.judge(frame);
        self.tick += 1;
        frame
    }
}

/// A base mission, flown.
#[derive(Clone, Debug)]
pub struct Base<C> {
    /// The mission.
    pub scenario: Scenario,
    /// Seed of everything random in it.
    pub seed: u64,
    /// Its moments, in order of time.
    pub moments: Vec<Moment>,
    /// Every fault the controller latched though nothing had failed: spurious alerts.
    pub spurious: EnumSet<Fault>,
    /// What the oracle found broken though nothing had failed.
    pub broken: Vec<&'static str>,
    tape: Vec<Done>,
    checkpoints: Vec<Checkpoint<C>>,
}

impl<C: Controller> Base<C> {
    /// Flies `scenario`; it has no moments yet.
    #[must_use]
    pub fn fly(scenario: Scenario, seed: u64) -> Self {
        let mut flown = Checkpoint::<C>::start(&scenario, seed);
        let tape: Vec<Done> = (0..scenario.ticks)
            .map(|_| Done::in_frame(flown.step()))
            .collect();
        let faults = tape.iter().map(|done| done.indications.faults);
        let verdict = flown.oracle.finish();
        Self {
            seed,
            spurious: faults.fold(EnumSet::empty(), |all, some| all | some),
            broken: verdict.broken().map(|line| line.id).collect(),
            tape,
            checkpoints: vec![Checkpoint::start(&scenario, seed)],
            moments: Vec::new(),
            scenario,
        }
    }

    /// The same with these moments, in order of time, and a copy of the world at each.
    #[must_use]
    pub fn with_moments(mut self, moments: Vec<Moment>) -> Self {
        for moment in &moments {
            let there = self.at(moment.tick);
            self.checkpoints.push(there);
        }
        self.moments = moments;
        self
    }

    /// The state of the controller in every tick.
    #[must_use]
    pub fn states(&self) -> Vec<State> {
        let states = self.tape.iter().map(|done| done.indications.state);
        states.collect()
    }

    /// The faultless world, ready for tick number `tick`.
    #[must_use]
    pub fn at(&self, tick: u64) -> Checkpoint<C> {
        let after = self.checkpoints.partition_point(|kept| kept.tick <= tick);
        let mut there = self.checkpoints[after.saturating_sub(1)].clone();
        while there.tick < tick {
            there.step();
        }
        there
    }

    /// What was done in the faultless mission in this tick; after its end, what was done
    /// in its last tick.
    #[must_use]
    pub fn done(&self, tick: u64) -> &Done {
        let last = self.tape.len() - 1;
        &self.tape[usize::try_from(tick).map_or(last, |tick| tick.min(last))]
    }

    /// The phase of the faultless mission in this tick, and where in it.
    #[must_use]
    pub fn place(&self, tick: u64) -> (State, &str) {
        let at = self.moments.iter().find(|moment| moment.tick == tick);
        (
            self.done(tick).indications.state,
            at.map_or("between", |moment| &moment.instant),
        )
    }

    /// Ticks in the mission.
    #[must_use]
    pub const fn length(&self) -> u64 {
        self.scenario.ticks
    }

    /// What was done in every tick, in order.
    #[must_use]
    pub fn tape(&self) -> &[Done] {
        &self.tape
    }
}
