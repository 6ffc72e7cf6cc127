//! Temperatures and fans: alert, then less power, then none (SR-10).
//!
//! Responsibilities:
//! 1. Run the fans, and see that they turn.
//! 2. Alert at the hot limit, lower the thrust limit linearly from the derating
//!    temperature, end thrust at the stop temperature.
//! 3. Alert when the motor controller heats faster than working cooling can explain,
//!    early enough to abandon a take-off.

use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::Inputs;
use crate::interlock::{Condition, Conditions};
use crate::outputs::Fans;
use crate::signal::Signal;
use crate::timer::{Countdown, Sustained};
use crate::units::{DeciCelsius, Permille};

/// What must be remembered of the temperatures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Thermal {
    fans: Fans,
    idle_fans: Sustained,
    unknown: Sustained,
    /// Controller temperature at the start of the heating window, on a grid of
    /// [`GRID`]; nothing while heating is not judged.
    reference: Option<DeciCelsius>,
    window: Countdown,
}

/// The reference is kept no finer than this, 0.1 °C.
const GRID: i16 = 5;

/// One temperature and its three limits.
struct Limits {
    hot: DeciCelsius,
    derate: DeciCelsius,
    stop: DeciCelsius,
    fault: Fault,
}

impl Thermal {
    /// Reads the temperatures for one tick; adds what they prove and the faults they
    /// show; returns the share of rated thrust they allow.
    pub fn observe(
        &mut self,
        inputs: &Inputs,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> Permille {
        let motor = Limits {
            hot: config.motor_hot,
            derate: config.motor_derate,
            stop: config.motor_stop,
            fault: Fault::MotorHot,
        };
        let controller = Limits {
            hot: config.controller_hot,
            derate: config.controller_derate,
            stop: config.controller_stop,
            fault: Fault::ControllerHot,
        };
        let pack = Limits {
            hot: config.pack_hot,
            derate: config.pack_derate,
            stop: config.pack_stop,
            fault: Fault::PackHot,
        };
        let [first, second] = &inputs.packs;
        let readings = [
            (&inputs.thermal.motor, &motor),
            (&inputs.thermal.controller, &controller),
            (&first.temperature, &pack),
            (&second.temperature, &pack),
        ];
        let mut limit = Permille::FULL;
        let mut unknown = false;
        for (signal, limits) in readings {
            match signal.proven(config.stale_after) {
                Some(temperature) => {
                    limit = limit.min(allowed(temperature, limits));
                    if temperature >= limits.hot {
                        *active |= limits.fault;
                    }
                }
                None => unknown = true,
            }
        }
        if unknown {
            limit = limit.min(config.unknown_temperature_limit);
        }
        if self.unknown.feed(unknown, config.fault_after.ticks()) {
            *active |= Fault::TemperatureUnknown;
        }
        if limit > Permille::ZERO {
            *proven |= Condition::CoolEnough;
        }
        self.run_fans(inputs, config, active);
        self.judge_heating(&inputs.thermal.controller, config, active);
        limit
    }

    /// Whether the fans are to run.
    #[must_use]
    pub const fn fans(&self) -> Fans {
        self.fans
    }

    fn run_fans(&mut self, inputs: &Inputs, config: &Config, active: &mut Faults) {
        self.fans = match inputs.thermal.controller.proven(config.stale_after) {
            Some(temperature) if temperature <= config.fans_off => Fans::Off,
            Some(temperature) if temperature < config.fans_on => self.fans,
            Some(_) | None => Fans::On,
        };
        let turning = inputs
            .thermal
            .fans_turning
            .proves(config.stale_after, |turning| turning);
        if self.idle_fans.feed(
            self.fans == Fans::On && !turning,
            config.fans_spin_up.ticks(),
        ) {
            *active |= Fault::FansFailed;
        }
    }

    fn judge_heating(
        &mut self,
        controller: &Signal<DeciCelsius>,
        config: &Config,
        active: &mut Faults,
    ) {
        let judged = controller
            .proven(config.stale_after)
            .filter(|&temperature| temperature >= config.fans_on);
        let Some(temperature) = judged else {
            self.reference = None;
            return;
        };
        self.window.tick();
        match self.reference {
            Some(_) if !self.window.is_over() => {}
            before => {
                if before.is_some_and(|before| temperature.minus(before) >= config.heating_max) {
                    *active |= Fault::HeatingTooFast;
                }
                let rest = temperature.get().checked_rem_euclid(GRID).unwrap_or(0);
                self.reference = Some(temperature.minus(DeciCelsius::new(rest)));
                self.window = Countdown::of(config.heating_window.ticks());
            }
        }
    }
}

/// The share of rated thrust one temperature allows: whole up to the derating
/// temperature, none from the stop temperature, linear between.
fn allowed(temperature: DeciCelsius, limits: &Limits) -> Permille {
    let left = i32::from(limits.stop.minus(temperature).get());
    let span = i32::from(limits.stop.minus(limits.derate).get());
    let share = left
        .saturating_mul(1000)
        .checked_div(span)
        .unwrap_or(0)
        .clamp(0, 1000);
    Permille::new(i16::try_from(share).unwrap_or(0))
}

#[cfg(test)]
mod tests;
