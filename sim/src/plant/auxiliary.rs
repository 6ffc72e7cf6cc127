//! The auxiliary battery, 12 V class: it feeds avionics, mast drive, door drive and
//! fans, and is charged from the bus.
//!
//! Source: resistance and one RC branch, as the packs, with a voltage linear in charge;
//! a charger of constant power that tapers at its end voltage (common practice, no
//! source). The figures are invented.

use serde::{Deserialize, Serialize};

/// The auxiliary battery and its charger.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AuxiliarySetup {
    /// Capacity, Ah.
    pub capacity: f64,
    /// Voltage at rest, empty and full, V.
    pub rest: [f64; 2],
    /// Series resistance, ohm.
    pub r0: f64,
    /// Resistance of the RC branch, ohm.
    pub r1: f64,
    /// Time constant of the RC branch, s.
    pub tau: f64,
    /// Load of avionics and controller, A.
    pub base_load: f64,
    /// Load of the fans, A.
    pub fan_load: f64,
    /// Power of the charger, W.
    pub charger_power: f64,
    /// End voltage of the charger, V.
    pub charger_end: f64,
    /// Least bus voltage the charger works from, V.
    pub charger_bus_min: f64,
}

impl Default for AuxiliarySetup {
    fn default() -> Self {
        Self {
            capacity: 12.0,
            rest: [11.8, 13.8],
            r0: 0.015,
            r1: 0.05,
            tau: 20.0,
            base_load: 1.5,
            fan_load: 2.0,
            charger_power: 150.0,
            charger_end: 14.4,
            charger_bus_min: 200.0,
        }
    }
}

/// The auxiliary battery's state.
#[derive(Clone, Copy, Debug)]
pub struct Auxiliary {
    setup: AuxiliarySetup,
    charge: f64,
    branch: f64,
    voltage: f64,
    step: f64,
    branch_step: f64,
}

impl Auxiliary {
    /// A rested battery at a charge, to be stepped by `dt` s.
    #[must_use]
    pub fn new(setup: AuxiliarySetup, charge: f64, dt: f64) -> Self {
        let mut battery = Self {
            setup,
            charge,
            branch: 0.0,
            voltage: 0.0,
            step: dt / (setup.capacity * 3_600.0),
            branch_step: 1.0 - (-dt / setup.tau).exp(),
        };
        battery.voltage = battery.rest();
        battery
    }

    /// Terminal voltage, V.
    #[must_use]
    pub const fn voltage(&self) -> f64 {
        self.voltage
    }

    /// Power the charger takes from a bus at a voltage, W.
    #[must_use]
    pub fn charger_power(&self, on: bool, bus: f64) -> f64 {
        if on && bus >= self.setup.charger_bus_min {
            // A charger near its end voltage takes less, by the same taper.
            self.setup.charger_power * self.taper()
        } else {
            0.0
        }
    }

    /// Moves on by one step: `drives` A of mast and door drives, fans on or off, the
    /// charger delivering `power` W, `drain` A of other load.
    pub fn step(&mut self, drives: f64, fans: bool, power: f64, drain: f64) {
        let s = &self.setup;
        let fan = if fans { s.fan_load } else { 0.0 };
        let load = s.base_load + drives + fan + drain;
        let current = load - power / self.voltage.max(8.0);
        self.branch += (current * s.r1 - self.branch) * self.branch_step;
        self.charge = (self.charge - current * self.step).clamp(0.0, 1.0);
        self.voltage = (self.rest() - self.branch - current * s.r0).max(0.0);
    }

    fn rest(&self) -> f64 {
        let [empty, full] = self.setup.rest;
        empty + (full - empty) * self.charge
    }

    fn taper(&self) -> f64 {
        ((self.setup.charger_end - self.voltage) * 10.0).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(charge: f64, drives: f64, charging: bool, seconds: u32) -> Auxiliary {
        let mut battery = Auxiliary::new(AuxiliarySetup::default(), charge, 0.01);
        for _ in 0..seconds * 100 {
            let power = battery.charger_power(charging, 400.0);
            battery.step(drives, false, power, 0.0);
        }
        battery
    }

    #[test]
    fn a_stalled_mast_drive_pulls_the_voltage_down() {
        assert!(run(0.7, 45.0, false, 5).voltage() < run(0.7, 0.0, false, 5).voltage() - 0.8);
    }

    #[test]
    fn charging_ends_at_the_end_voltage() {
        let charged = run(0.5, 0.0, true, 3_600);
        assert!(charged.voltage() > 14.2 && charged.voltage() <= 14.45);
    }

    #[test]
    fn the_charger_needs_a_live_bus() {
        let battery = run(0.5, 0.0, false, 1);
        assert!(battery.charger_power(true, 100.0).abs() < 1e-12);
        assert!((battery.charger_power(true, 400.0) - 150.0).abs() < 1e-9);
    }
}
