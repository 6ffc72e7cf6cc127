//! Temperatures: lumped nodes that lag behind their heat, and the cooling fans.
//!
//! Source: first-order lag T_end = T_ambient + P R, time constant R C (textbook). The
//! figures are invented and sized so that a controller without fans betrays itself by
//! its rate of rise within seconds.

use serde::{Deserialize, Serialize};

/// One lumped node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// Heat capacity, J/K.
    pub capacity: f64,
    /// Temperature, deg C.
    pub temperature: f64,
}

impl Node {
    /// Moves on by `dt` s with a heat, W, and a conductance to ambient, W/K.
    ///
    /// The share of the way gone in one step, 1 - exp(-x), is taken as x/(1 + x/2)
    /// (Padé), which errs by less than x³/12 and never overshoots.
    pub fn step(&mut self, heat: f64, conductance: f64, ambient: f64, dt: f64) {
        let x = conductance * dt / self.capacity;
        let drive = heat / conductance + ambient - self.temperature;
        self.temperature += drive * x / (1.0 + 0.5 * x);
    }
}

/// Motor, controller and fans.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ThermalSetup {
    /// Heat capacity of the motor windings and iron, J/K.
    pub motor_capacity: f64,
    /// Conductance from motor to air, W/K.
    pub motor_cooling: f64,
    /// Heat capacity of the controller's heat sink, J/K.
    pub controller_capacity: f64,
    /// Conductance from heat sink to air without fans, W/K.
    pub controller_still: f64,
    /// Conductance the fans add at full speed, W/K.
    pub controller_fans: f64,
    /// Time constant of the fans' spin-up and run-down, s.
    pub fan_lag: f64,
}

impl Default for ThermalSetup {
    fn default() -> Self {
        Self {
            motor_capacity: 6_000.0,
            motor_cooling: 11.0,
            controller_capacity: 460.0,
            controller_still: 0.6,
            controller_fans: 14.0,
            fan_lag: 0.7,
        }
    }
}

/// Fan speed, as a share, above which the tachometer counts them as turning.
const TURNING: f64 = 0.5;

/// Motor, controller and fans at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Thermal {
    setup: ThermalSetup,
    /// Motor windings.
    pub motor: Node,
    /// Controller heat sink.
    pub controller: Node,
    fans: f64,
}

impl Thermal {
    /// Nodes at their starting temperatures, deg C, fans at rest.
    #[must_use]
    pub const fn new(setup: ThermalSetup, motor: f64, controller: f64) -> Self {
        Self {
            setup,
            motor: Node {
                capacity: setup.motor_capacity,
                temperature: motor,
            },
            controller: Node {
                capacity: setup.controller_capacity,
                temperature: controller,
            },
            fans: 0.0,
        }
    }

    /// Moves the motor's windings on by `dt` s under a mean heat, W.
    pub fn step_motor(&mut self, heat: f64, ambient: f64, dt: f64) {
        self.motor.step(heat, self.setup.motor_cooling, ambient, dt);
    }

    /// Moves the heat sink and the fans on by `dt` s under a mean heat, W.
    pub fn step_controller(&mut self, heat: f64, fans_fed: bool, ambient: f64, dt: f64) {
        let x = dt / self.setup.fan_lag;
        let target = if fans_fed { 1.0 } else { 0.0 };
        self.fans += (target - self.fans) * x / (1.0 + 0.5 * x);
        let cooling = self.setup.controller_still + self.setup.controller_fans * self.fans;
        self.controller.step(heat, cooling, ambient, dt);
    }

    /// The fans turn.
    #[must_use]
    pub fn fans_turning(&self) -> bool {
        self.fans > TURNING
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Heat in the controller at full power, W; see the motor's figures.
    const FULL: f64 = 457.0;

    fn rises(start: f64, ambient: f64, fans: bool, windows: usize) -> Vec<f64> {
        let mut thermal = Thermal::new(ThermalSetup::default(), ambient, start);
        for _ in 0..if fans { 30 } else { 0 } {
            thermal.step_controller(0.0, fans, start, 0.1);
        }
        (0..windows)
            .map(|_| {
                let before = thermal.controller.temperature;
                for _ in 0..50 {
                    thermal.step_controller(FULL, fans, ambient, 0.1);
                }
                thermal.controller.temperature - before
            })
            .collect()
    }

    #[test]
    fn with_fans_the_controller_rises_slowly_and_settles_cool() {
        let windows = rises(40.0, 25.0, true, 60);
        assert!(windows[0] < 4.0, "{}", windows[0]);
        let settled = 40.0 + windows.iter().sum::<f64>();
        assert!(settled > 50.0 && settled < 75.0, "{settled}");
    }

    #[test]
    fn without_fans_it_betrays_itself_and_overheats_within_90_s() {
        let windows = rises(20.0, 20.0, false, 18);
        assert!(windows[..10].iter().all(|rise| *rise > 4.2), "{windows:?}");
        let mut temperature = 20.0;
        let overheated = windows.iter().position(|rise| {
            temperature += rise;
            temperature >= 95.0
        });
        assert!(
            overheated.is_some_and(|w| (11..18).contains(&w)),
            "{overheated:?}"
        );
    }

    #[test]
    fn fans_take_a_moment_to_turn() {
        let mut thermal = Thermal::new(ThermalSetup::default(), 20.0, 20.0);
        thermal.step_controller(0.0, true, 20.0, 0.1);
        assert!(!thermal.fans_turning());
        for _ in 0..15 {
            thermal.step_controller(0.0, true, 20.0, 0.1);
        }
        assert!(thermal.fans_turning());
    }
}
