//! The sensors: how the truth looks to the controller when nothing is broken.
//!
//! Responsibilities:
//! 1. Quantise, and add bounded noise from a generator with an explicit seed.
//! 2. Place the switch points of every contact.
//! 3. Renew slow readings in turn, and let the others grow older in between.
//!
//! Errors and switch points are those of invented sensors.

pub mod contacts;
pub mod reading;

use core::f64::consts::TAU;

use mastwright_core::inputs::{
    self, BusSensors, DoorSensors, Inputs, MastSensors, PACKS, PackSensors, PropellerSensors,
    ThermalSensors,
};
use mastwright_core::signal::Signal;

use crate::controls::Controls;
use crate::plant::truth::Truth;
use crate::rng::Rng;
use reading::{
    angle, decicelsius, decimetres_per_second, kiloohms, milliamps, millivolts, permille, renew,
    rpm,
};

/// Temperatures and insulation are renewed once in this many ticks.
const SLOW_EVERY: u8 = 8;
/// Pack data are renewed once in this many ticks.
const PACK_EVERY: u8 = 5;
/// Both periods fit a whole number of times.
const CYCLE: u8 = 40;

/// Mast position error, permille.
const POSITION_ERROR: f64 = 1.0;
/// Blade angle error of either source, rad.
const ANGLE_ERROR: f64 = 0.3 * TAU / 360.0;
/// Shaft speed error, rpm.
const SPEED_ERROR: f64 = 0.5;
/// Throttle track error, permille.
const THROTTLE_ERROR: f64 = 1.0;
/// The second throttle track reads this much more at full travel, permille.
const TRACK_DIFFERENCE: f64 = 4.0;
/// Bus voltage error, mV.
const BUS_VOLTAGE_ERROR: f64 = 300.0;
/// Bus current error, mA.
const BUS_CURRENT_ERROR: f64 = 40.0;
/// Drive current error, mA.
const DRIVE_CURRENT_ERROR: f64 = 100.0;
/// Pack voltage error, mV.
const PACK_VOLTAGE_ERROR: f64 = 200.0;
/// Auxiliary voltage error, mV.
const AUXILIARY_ERROR: f64 = 20.0;
/// Airspeed error, 0.1 m/s.
const AIRSPEED_ERROR: f64 = 2.0;
/// Temperature error, 0.1 K.
const TEMPERATURE_ERROR: f64 = 1.0;
/// Insulation error, share of the reading.
const INSULATION_ERROR: f64 = 0.01;

/// Every sensor of the aircraft.
#[derive(Clone, Debug)]
pub struct Sensors {
    rng: Rng,
    /// Place in the cycle of renewals; none before the first sample.
    turn: Option<u8>,
    slow: Slow,
}

/// The readings that are not renewed in every tick.
#[derive(Clone, Copy, Debug, Default)]
struct Slow {
    packs: [PackSensors; PACKS],
    thermal: ThermalSensors,
    insulation: Signal<mastwright_core::units::KiloOhms>,
}

impl Sensors {
    /// Sensors whose noise follows from `seed`.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self {
            rng: Rng::new(seed),
            turn: None,
            slow: Slow::default(),
        }
    }

    /// Reads everything once, in one tick.
    pub fn sample(&mut self, truth: &Truth, controls: &Controls) -> Inputs {
        self.renew_slow(truth);
        let [throttle_a, throttle_b] = self.rng.pair();
        let [position, airspeed] = self.rng.pair();
        let [angle_a, angle_b] = self.rng.pair();
        let [speed, mast_current] = self.rng.pair();
        let [bus_voltage, bus_current] = self.rng.pair();
        let [door_current, auxiliary] = self.rng.pair();
        Inputs {
            controls: inputs::Controls {
                throttle_a: throttle(controls, 0.0, throttle_a),
                throttle_b: throttle(controls, TRACK_DIFFERENCE, throttle_b),
                ..contacts::controls(controls)
            },
            mast: MastSensors {
                position: permille(truth.mast.position * 1_000.0 + position * POSITION_ERROR),
                drive_current: drive_current(truth.mast.drive_current, mast_current),
                ..contacts::mast(&truth.mast)
            },
            doors: DoorSensors {
                drive_current: drive_current(truth.door_current, door_current),
                ..contacts::doors(truth.doors)
            },
            propeller: PropellerSensors {
                angle_a: angle(truth.propeller.angle + angle_a * ANGLE_ERROR),
                angle_b: angle(truth.propeller.angle + angle_b * ANGLE_ERROR),
                speed: rpm(truth.propeller.speed * (60.0 / TAU) + speed * SPEED_ERROR),
            },
            bus: BusSensors {
                voltage: millivolts(truth.bus.voltage * 1_000.0 + bus_voltage * BUS_VOLTAGE_ERROR),
                current: milliamps(truth.bus.current * 1_000.0 + bus_current * BUS_CURRENT_ERROR),
                insulation: self.slow.insulation,
                main_feedback: Signal::fresh(truth.bus.main_closed),
            },
            packs: self.slow.packs,
            thermal: ThermalSensors {
                fans_turning: Signal::fresh(truth.fans_turning),
                ..self.slow.thermal
            },
            auxiliary: millivolts(truth.auxiliary * 1_000.0 + auxiliary * AUXILIARY_ERROR),
            airspeed: decimetres_per_second(
                truth.aircraft.airspeed * 10.0 + airspeed * AIRSPEED_ERROR,
            ),
            missed_deadline: false,
        }
    }

    /// Renews the slow readings whose turn it is; all of them in the first tick.
    fn renew_slow(&mut self, truth: &Truth) {
        let first = self.turn.is_none();
        let turn = self.turn.map_or(0, |turn| (turn + 1) % CYCLE);
        self.turn = Some(turn);
        let due = |every: u8, place: u8| first || turn % every == place;
        let rng = &mut self.rng;
        let slow = &mut self.slow;
        renew(&mut slow.thermal.motor, due(SLOW_EVERY, 1), || {
            temperature(truth.motor_temperature, rng)
        });
        renew(&mut slow.thermal.controller, due(SLOW_EVERY, 3), || {
            temperature(truth.controller_temperature, rng)
        });
        renew(&mut slow.insulation, due(SLOW_EVERY, 5), || {
            let [error, _] = rng.pair();
            kiloohms(truth.bus.insulation * 0.001 * (1.0 + error * INSULATION_ERROR))
        });
        for (i, (sensors, pack)) in slow.packs.iter_mut().zip(&truth.packs).enumerate() {
            let now = due(PACK_EVERY, if i == 0 { 0 } else { 2 });
            renew(&mut sensors.voltage, now, || {
                let [error, _] = rng.pair();
                millivolts(pack.voltage * 1_000.0 + error * PACK_VOLTAGE_ERROR)
            });
            renew(&mut sensors.temperature, now, || {
                temperature(pack.temperature, rng)
            });
            renew(&mut sensors.charge, now, || permille(pack.charge * 1_000.0));
        }
    }
}

fn throttle(
    controls: &Controls,
    difference: f64,
    error: f64,
) -> Signal<mastwright_core::units::Permille> {
    permille(controls.throttle * (1_000.0 + difference) + error * THROTTLE_ERROR)
}

fn drive_current(amperes: f64, error: f64) -> Signal<mastwright_core::units::Milliamps> {
    milliamps((amperes * 1_000.0 + error * DRIVE_CURRENT_ERROR).abs())
}

fn temperature(celsius: f64, rng: &mut Rng) -> Signal<mastwright_core::units::DeciCelsius> {
    let [error, _] = rng.pair();
    decicelsius(celsius * 10.0 + error * TEMPERATURE_ERROR)
}

#[cfg(test)]
mod tests;
