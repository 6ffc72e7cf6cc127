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
            auxiliary_charge: 0.75,
            blade_angle: 0.0,
            shaft_rpm: 0.0,
            bus_live: false,
            motor_temperature: None,
            controller_temperature: None,
            pack_temperature: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scenario_overrides_what_it_names_and_an_unknown_key_is_refused() {
        let setup: Setup = toml::from_str("[initial]\nmast = 1\n[aircraft]\nmass = 480.0").unwrap();
        assert!((setup.initial.mast - 1.0).abs() < 1e-12);
        assert!((setup.aircraft.mass - 480.0).abs() < 1e-12);
        assert_eq!(setup.propeller, PropellerSetup::default());
        assert!(toml::from_str::<Setup>("[aircraft]\nwings = 2").is_err());
    }
}
