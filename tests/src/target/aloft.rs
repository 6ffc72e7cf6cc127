//! The target flies the world by itself: its answers move the plant, and the oracle
//! judges. A loss of power in the world is a hardware reset of the emulated processor,
//! at whatever it is doing.
//!
//! A world wakes its controller without being told where it is, so that the target is
//! kept for the thread and taken from there.

use std::cell::RefCell;

use mastwright_core::link::message::Memory;
use mastwright_core::link::{Reset, Restart};
use mastwright_core::units::Ticks;
use mastwright_core::{Config, Faults, Inputs, Outputs};
use mastwright_sim::link::Host;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::{Controller, World};

use super::emulator::Emulator;
use super::tools::Problem;
use crate::flown::{self, Flown};

thread_local! {
    static TARGET: RefCell<Option<Target>> = const { RefCell::new(None) };
}

/// The target, and what has become of it.
struct Target {
    host: Host<Emulator>,
    /// Ticks since it last woke.
    tick: u32,
    /// How often it woke in this flight.
    woken: u32,
    problem: Option<Problem>,
}

impl Target {
    fn wake(&mut self, config: &Config) -> Result<(), Problem> {
        let memory = if self.woken == 0 {
            Memory::Blank
        } else {
            self.host.line_mut().cut_power()?;
            Memory::Kept
        };
        self.woken += 1;
        self.tick = 0;
        let reset = Reset {
            memory,
            restart: Restart::Controller,
            silence: Ticks::ZERO,
        };
        self.host
            .hello()
            .and_then(|_| self.host.settings(&config.settings()))
            .and_then(|_| self.host.reset(&reset))
            .map(drop)
            .map_err(|error| format!("waking for the time {}: {error}", self.woken))
    }

    fn step(&mut self, inputs: &Inputs) -> Result<Outputs, Problem> {
        let answers = self
            .host
            .ticks(self.tick, std::slice::from_ref(inputs))
            .map_err(|error| format!("tick {}: {error}", self.tick))?;
        self.tick += 1;
        let [answer] = <[_; 1]>::try_from(answers).map_err(|_| "not one answer".to_owned())?;
        Ok(answer.outputs)
    }
}

/// The controller on the thread's target.
#[derive(Clone, Debug)]
struct OnTarget;

/// Does something with the thread's target; after the first problem nothing more.
fn with<T>(ask: impl FnOnce(&mut Target) -> Result<T, Problem>) -> Option<T> {
    TARGET.with_borrow_mut(|target| {
        let target = target.as_mut().filter(|target| target.problem.is_none())?;
        match ask(target) {
            Ok(done) => Some(done),
            Err(problem) => {
                target.problem = Some(problem);
                None
            }
        }
    })
}

impl Controller for OnTarget {
    /// The target knows by itself what was latched: its own memory outlives the reset.
    fn wake(_: Faults, config: &Config) -> Self {
        with(|target| target.wake(config));
        Self
    }

    fn step(&mut self, inputs: &Inputs, _: &Config) -> Outputs {
        with(|target| target.step(inputs)).unwrap_or_default()
    }

    /// The flights given to a target flip no bits.
    fn with_bit_flipped(&self, _: u32) -> Self {
        self.clone()
    }
}

/// Flies and judges `scenario` with the target in command; how often it woke, too.
///
/// # Errors
/// The target does not answer as it should.
pub fn fly(emulator: Emulator, scenario: &Scenario) -> Result<(Emulator, Flown, u32), Problem> {
    TARGET.set(Some(Target {
        host: Host::new(emulator),
        tick: 0,
        woken: 0,
        problem: None,
    }));
    let world: World<OnTarget> = World::with(scenario, scenario.seed);
    let flown = flown::fly_world(world, scenario, |_| {});
    let target = TARGET.take().ok_or("the target is gone")?;
    match target.problem {
        None => Ok((target.host.into_line(), flown, target.woken)),
        Some(problem) => Err(problem),
    }
}
