//! Everything a scenario may set about the aircraft, its day and its start.
//!
//! The defaults describe one invented aircraft: a single-seat sailplane of about
//! 470 kg all up with two 25 kg packs and a two-blade propeller on a folding mast.

use serde::{Deserialize, Serialize};

use super::air::AirSetup;
use super::aircraft::AircraftSetup;
use super::auxiliary::AuxiliarySetup;
use super::bay::BaySetup;
use super::bus::BusSetup;
use super::doors::DoorSetup;
use super::mast::MastSetup;
use super::motor::MotorSetup;
use super::packs::PackSetup;
use super::propeller::PropellerSetup;
use super::thermal::ThermalSetup;
use super::truth::PACKS;

/// The aircraft, its day and its start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Setup {
    /// The airframe.
    pub aircraft: AircraftSetup,
    /// The day's air.
    pub air: AirSetup,
    /// The propeller.
    pub propeller: PropellerSetup,
    /// The motor and its controller.
    pub motor: MotorSetup,
    /// The high-voltage bus.
    pub bus: BusSetup,
    /// Either pack.
    pub pack: PackSetup,
    /// The auxiliary battery.
    pub auxiliary: AuxiliarySetup,
    /// Temperatures and fans.
    pub thermal: ThermalSetup,
    /// The mast.
    pub mast: MastSetup,
    /// The bay doors.
    pub doors: DoorSetup,
    /// The air in the bay.
    pub bay: BaySetup,
    /// How it starts.
    pub initial: InitialState,
}

/// How a run starts. Every motion starts from rest, except flight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct InitialState {
    /// Mast position: 0 stowed, 1 deployed and latched.
    pub mast: f64,
    /// Door opening, 0 to 1; if not given, open under a raised mast and otherwise shut.
    pub doors: Option<f64>,
    /// On the ground, or in flight.
    pub on_ground: bool,
    /// Airspeed, m/s.
    pub airspeed: f64,
    /// Height above the field, m; 0 on the ground.
    pub height: f64,
    /// State of charge of each pack, 0 to 1.
    pub charge: [f64; PACKS],
    /// State of charge of the auxiliary battery, 0 to 1.
    pub auxiliary_charge: f64,
    /// Blade angle, deg, 0 to 360; 0 and 180 are parked.
    pub blade_angle: f64,
    /// Shaft speed, rpm.
    pub shaft_rpm: f64,
    /// Both packs joined and the main contactor closed onto a charged bus.
    pub bus_live: bool,
    /// Motor winding temperature, deg C; if not given, ambient.
    pub motor_temperature: Option<f64>,
    /// Motor controller temperature, deg C; if not given, ambient.
    pub controller_temperature: Option<f64>,
    /// Pack temperature, deg C; if not given, ambient.
    pub pack_temperature: Option<f64>,
}

impl Default for InitialState {
    /// Stowed on the ground, charged, cold.
    fn default() -> Self {
        Self {
            mast: 0.0,
            doors: None,
            on_ground: true,
            airspeed: 0.0,
            height: 0.0,
            charge: [0.95; PACKS],
            auxiliary_charge: 0.8,
            blade_angle: 0.0,
            shaft_rpm: 0.0,
            bus_live: false,
            motor_temperature: None,
            controller_temperature: None,
            pack_temperature: None,
        }
    }
}

/// A value of a setup that no aircraft can have.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {value}: allowed are {low} to {high} {unit}")]
pub struct SetupError {
    /// The field, as a scenario writes it.
    pub field: &'static str,
    /// The value given.
    pub value: f64,
    /// The least value allowed.
    pub low: f64,
    /// The greatest value allowed.
    pub high: f64,
    /// Their unit.
    pub unit: &'static str,
}

impl Setup {
    /// Refuses what no aircraft can have: the models divide by some of these numbers
    /// and take the range of others for granted.
    ///
    /// # Errors
    /// The first value outside its range, with the range.
    pub fn check(&self) -> Result<(), SetupError> {
        let start = &self.initial;
        let field = |field, value, low, high, unit| {
            if value >= low && value <= high {
                Ok(())
            } else {
                Err(SetupError {
                    field,
                    value,
                    low,
                    high,
                    unit,
                })
            }
        };
        field("aircraft.mass", self.aircraft.mass, 100.0, 2_000.0, "kg")?;
        field(
            "aircraft.wing_area",
            self.aircraft.wing_area,
            2.0,
            50.0,
            "m2",
        )?;
        field("aircraft.cd0", self.aircraft.cd0, 0.001, 0.2, "")?;
        field("aircraft.induced", self.aircraft.induced, 0.001, 0.2, "")?;
        field(
            "aircraft.mast_drag_area",
            self.aircraft.mast_drag_area,
            0.0,
            2.0,
            "m2",
        )?;
        field(
            "aircraft.take_off_speed",
            self.aircraft.take_off_speed,
            5.0,
            60.0,
            "m/s",
        )?;
        field(
            "aircraft.rolling_friction",
            self.aircraft.rolling_friction,
            0.0,
            1.0,
            "",
        )?;
        field(
            "aircraft.brake_friction",
            self.aircraft.brake_friction,
            0.0,
            1.0,
            "",
        )?;
        field(
            "aircraft.airspeed_lag",
            self.aircraft.airspeed_lag,
            0.1,
            60.0,
            "s",
        )?;
        field("air.offset", self.air.offset, -60.0, 50.0, "K")?;
        field(
            "air.field_elevation",
            self.air.field_elevation,
            -400.0,
            5_000.0,
            "m",
        )?;
        field("propeller.diameter", self.propeller.diameter, 0.5, 4.0, "m")?;
        field(
            "propeller.windmill_from",
            self.propeller.windmill_from,
            0.1,
            3.0,
            "",
        )?;
        field(
            "propeller.inertia",
            self.propeller.inertia,
            0.25,
            10.0,
            "kg m2",
        )?;
        field(
            "propeller.friction",
            self.propeller.friction,
            0.0,
            10.0,
            "N m",
        )?;
        field(
            "propeller.detent_torque",
            self.propeller.detent_torque,
            0.0,
            60.0,
            "N m",
        )?;
        field(
            "propeller.detent_peak",
            self.propeller.detent_peak,
            0.01,
            0.5,
            "rad",
        )?;
        let past_peak = self.propeller.detent_peak * 1.1;
        field(
            "propeller.detent_reach",
            self.propeller.detent_reach,
            past_peak,
            1.5,
            "rad",
        )?;
        field(
            "motor.torque_constant",
            self.motor.torque_constant,
            0.1,
            10.0,
            "N m/A",
        )?;
        field("motor.resistance", self.motor.resistance, 0.005, 5.0, "ohm")?;
        field("motor.inductance", self.motor.inductance, 1e-5, 0.1, "H")?;
        field("motor.pole_pairs", self.motor.pole_pairs, 1.0, 60.0, "")?;
        field(
            "motor.rated_torque",
            self.motor.rated_torque,
            1.0,
            500.0,
            "N m",
        )?;
        field(
            "motor.brake_torque",
            self.motor.brake_torque,
            0.0,
            500.0,
            "N m",
        )?;
        field(
            "motor.creep_torque",
            self.motor.creep_torque,
            0.0,
            100.0,
            "N m",
        )?;
        field(
            "motor.creep_gain",
            self.motor.creep_gain,
            0.0,
            60.0,
            "N m s/rad",
        )?;
        field(
            "motor.hold_torque",
            self.motor.hold_torque,
            0.0,
            300.0,
            "N m",
        )?;
        field(
            "motor.hold_stiffness",
            self.motor.hold_stiffness,
            0.0,
            1_000.0,
            "N m/rad",
        )?;
        field(
            "motor.hold_damping",
            self.motor.hold_damping,
            0.0,
            60.0,
            "N m s/rad",
        )?;
        field(
            "motor.iron_loss[1]",
            self.motor.iron_loss[1],
            1.0,
            1_000.0,
            "rad/s",
        )?;
        field("bus.capacitance", self.bus.capacitance, 1e-5, 0.1, "F")?;
        field("bus.precharge", self.bus.precharge, 1.0, 1_000.0, "ohm")?;
        field("bus.discharge", self.bus.discharge, 10.0, 1e5, "ohm")?;
        field("bus.idle_current", self.bus.idle_current, 0.0, 5.0, "A")?;
        field("bus.wiring", self.bus.wiring, 0.0, 1.0, "ohm")?;
        field("bus.insulation", self.bus.insulation, 0.0, 1e9, "ohm")?;
        field("pack.cells", self.pack.cells, 1.0, 250.0, "cells")?;
        field("pack.capacity", self.pack.capacity, 0.1, 500.0, "Ah")?;
        field("pack.r0", self.pack.r0, 1e-5, 1.0, "ohm")?;
        field("pack.r1", self.pack.r1, 0.0, 1.0, "ohm")?;
        field("pack.tau", self.pack.tau, 0.1, 1e4, "s")?;
        field(
            "pack.heat_capacity",
            self.pack.heat_capacity,
            100.0,
            1e6,
            "J/K",
        )?;
        field(
            "pack.thermal_resistance",
            self.pack.thermal_resistance,
            1e-3,
            100.0,
            "K/W",
        )?;
        field(
            "auxiliary.capacity",
            self.auxiliary.capacity,
            0.1,
            200.0,
            "Ah",
        )?;
        field("auxiliary.tau", self.auxiliary.tau, 0.1, 1e4, "s")?;
        field(
            "thermal.motor_capacity",
            self.thermal.motor_capacity,
            10.0,
            1e6,
            "J/K",
        )?;
        field(
            "thermal.motor_cooling",
            self.thermal.motor_cooling,
            1e-3,
            1e3,
            "W/K",
        )?;
        field(
            "thermal.controller_capacity",
            self.thermal.controller_capacity,
            10.0,
            1e6,
            "J/K",
        )?;
        field(
            "thermal.controller_still",
            self.thermal.controller_still,
            1e-3,
            1e3,
            "W/K",
        )?;
        field(
            "thermal.controller_fans",
            self.thermal.controller_fans,
            0.0,
            1e3,
            "W/K",
        )?;
        field("thermal.fan_lag", self.thermal.fan_lag, 0.1, 60.0, "s")?;
        field("mast.mass", self.mast.mass, 1.0, 200.0, "kg")?;
        field("mast.stall_torque", self.mast.stall_torque, 1.0, 1e5, "N m")?;
        field("mast.free_speed", self.mast.free_speed, 1e-3, 2.0, "1/s")?;
        field("mast.lag", self.mast.lag, 0.01, 10.0, "s")?;
        field("mast.pin_time", self.mast.pin_time, 0.01, 10.0, "s")?;
        field("doors.travel_time", self.doors.travel_time, 0.2, 60.0, "s")?;
        field("doors.lag", self.doors.lag, 0.01, 10.0, "s")?;
        field("bay.lag", self.bay.lag, 0.1, 600.0, "s")?;
        field("initial.mast", start.mast, 0.0, 1.0, "")?;
        field("initial.doors", start.doors.unwrap_or(0.0), 0.0, 1.0, "")?;
        field("initial.airspeed", start.airspeed, 0.0, 80.0, "m/s")?;
        field("initial.height", start.height, 0.0, 8_000.0, "m")?;
        field("initial.charge[0]", start.charge[0], 0.0, 1.0, "")?;
        field("initial.charge[1]", start.charge[1], 0.0, 1.0, "")?;
        field(
            "initial.auxiliary_charge",
            start.auxiliary_charge,
            0.0,
            1.0,
            "",
        )?;
        field("initial.blade_angle", start.blade_angle, 0.0, 360.0, "deg")?;
        field(
            "initial.shaft_rpm",
            start.shaft_rpm,
            -5_000.0,
            5_000.0,
            "rpm",
        )?;
        let warm = |given: Option<f64>| given.unwrap_or(20.0);
        field(
            "initial.motor_temperature",
            warm(start.motor_temperature),
            -60.0,
            250.0,
            "C",
        )?;
        let controller = warm(start.controller_temperature);
        field(
            "initial.controller_temperature",
            controller,
            -60.0,
            250.0,
            "C",
        )?;
        field(
            "initial.pack_temperature",
            warm(start.pack_temperature),
            -60.0,
            150.0,
            "C",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_aircraft_is_accepted() {
        assert_eq!(Setup::default().check(), Ok(()));
    }

    #[test]
    fn an_impossible_value_is_refused_by_name_with_its_range() {
        let mut setup = Setup::default();
        setup.bus.capacitance = 0.0;
        let refusal = setup.check().expect_err("no capacitor");
        assert_eq!(
            refusal.to_string(),
            "bus.capacitance is 0: allowed are 0.00001 to 0.1 F"
        );
        setup = Setup::default();
        setup.initial.mast = f64::NAN;
        assert!(setup.check().is_err());
    }

    #[test]
    fn a_scenario_overrides_what_it_names_and_an_unknown_key_is_refused() {
        let setup: Setup = toml::from_str("[initial]\nmast = 1\n[aircraft]\nmass = 480.0").unwrap();
        assert!((setup.initial.mast - 1.0).abs() < 1e-12);
        assert!((setup.aircraft.mass - 480.0).abs() < 1e-12);
        assert_eq!(setup.propeller, PropellerSetup::default());
        assert!(toml::from_str::<Setup>("[aircraft]\nwings = 2").is_err());
    }
}
