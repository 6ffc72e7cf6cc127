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

    /// What it believes instead of what it is told.
    fn mislead(&mut self, _inputs: &mut Inputs) {}

    /// What it drives and tells instead of what was permitted, given what it was told.
    fn overrule(&mut self, _told: &Inputs, _outputs: &mut Outputs) {}

    /// Whether [`Tamper::mind`] holds all that it remembers.
    const TELLS: bool = size_of::<Self>() == 0;

    /// What it remembers, as a number.
    fn mind(&self) -> u8 {
        0
    }

    /// The one that remembers this.
    fn of_mind(_mind: u8) -> Self {
        Self::default()
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
        let mut settings = config.settings();
        T::misconfigure(&mut settings);
        let config = Config::new(settings).expect("even a saboteur's limits are within range");
        Self {
            real: Sequencer::wake(retained, &config),
            config,
            tamper: T::default(),
        }
    }

    fn step(&mut self, told: &Inputs, _config: &Config) -> Outputs {
        let mut believed = *told;
        self.tamper.mislead(&mut believed);
        let mut outputs = self.real.step(&believed, &self.config);
        self.tamper.overrule(told, &mut outputs);
        outputs
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
