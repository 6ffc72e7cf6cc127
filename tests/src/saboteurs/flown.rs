//! A controller that is the real one, tampered with, and its flights.

use mastwright_core::config::{Config, Settings};
use mastwright_core::heat_warning::HeatLimits;
use mastwright_core::{Faults, Inputs, Outputs, Sequencer};
use mastwright_sim::frame::Frame;
use mastwright_sim::oracle::{Limits, Oracle, Verdict};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::{Controller, World};

/// What is wrong with a controller. Each saboteur replaces what it needs; what it leaves
/// out is as it should be. Its memory starts anew with its controller's power.
pub trait Tamper: Clone + Default + Send + Sync {
    /// The limits it works with, changed from those of the scenario.
    fn misconfigure(_settings: &mut Settings) {}

    /// What it remembers, as a number; the exploration keeps it for it.
    fn mind(&self) -> u64 {
        0
    }

    /// The one that remembers what a number says.
    fn from_mind(_mind: u64) -> Self {
        Self::default()
    }

    /// What it believes instead of what it is told.
    fn mislead(&mut self, _inputs: &mut Inputs) {}

    /// What it drives and tells instead of what was permitted, given what it was told.
    fn overrule(&mut self, _told: &Inputs, _outputs: &mut Outputs) {}

    /// One tick of the real controller, tampered with.
    fn step(&mut self, real: &mut Sequencer, told: &Inputs, config: &Config) -> Outputs {
        let mut believed = *told;
        self.mislead(&mut believed);
        let mut outputs = real.step(&believed, config);
        self.overrule(told, &mut outputs);
        outputs
    }

    /// The limits of its heat warning.
    fn heat_limits() -> HeatLimits {
        HeatLimits::default()
    }

    /// How its heat warning is wired: what sounds, from what ought to.
    fn rewire(_frame: &mut Frame) {}
}

/// The real controller, tampered with.
#[derive(Clone, Debug)]
pub struct Sabotaged<T> {
    real: Sequencer,
    config: Config,
    tamper: T,
}

impl<T: Tamper> Controller for Sabotaged<T> {
    fn wake(retained: Faults, config: &Config) -> Self {
        let config = tampered_limits::<T>(config);
        Self {
            real: Sequencer::wake(retained, &config),
            config,
            tamper: T::default(),
        }
    }

    fn step(&mut self, told: &Inputs, _config: &Config) -> Outputs {
        self.tamper.step(&mut self.real, told, &self.config)
    }

    fn with_bit_flipped(&self, bit: u32) -> Self {
        Self {
            real: self.real.with_bit_flipped(bit),
            ..self.clone()
        }
    }

    fn heat_limits() -> HeatLimits {
        T::heat_limits()
    }
}

/// The limits that a saboteur works with, given those it ought to.
pub(super) fn tampered_limits<T: Tamper>(config: &Config) -> Config {
    let mut settings = config.settings();
    T::misconfigure(&mut settings);
    Config::new(settings).expect("even a saboteur's limits are within range")
}

/// Flies the honest controller through a scenario.
#[must_use]
pub fn fly_honest(scenario: &Scenario) -> Verdict {
    fly_as::<Sequencer>(scenario)
}

/// Flies a saboteur through a scenario.
#[must_use]
pub fn fly<T: Tamper>(scenario: &Scenario) -> Verdict {
    let world = World::<Sabotaged<T>>::with(scenario, scenario.seed);
    judge(world, scenario.ticks, T::rewire)
}

/// Flies any controller through a scenario, its heat warning wired as it should be.
#[must_use]
pub fn fly_as<C: Controller>(scenario: &Scenario) -> Verdict {
    judge(
        World::<C>::with(scenario, scenario.seed),
        scenario.ticks,
        |_| {},
    )
}

fn judge<C: Controller>(mut world: World<C>, ticks: u64, rewire: fn(&mut Frame)) -> Verdict {
    let mut oracle = Oracle::new(&Limits::default());
    for _ in 0..ticks {
        let mut frame = world.step().clone();
        rewire(&mut frame);
        oracle.judge(&frame);
    }
    oracle.finish()
}
