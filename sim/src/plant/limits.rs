//! The range of every figure of a setup, and the refusal of what lies outside.
//!
//! The models divide by some of these figures, and their fixed steps are stable for the
//! stiffness and inertia allowed here: a setup that passes cannot break them.

use super::setup::Setup;

/// A figure no aircraft can have.
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

/// One figure, a figure that may be left out, or a list of figures.
trait Figures {
    /// The first of them that is not within the range.
    fn outside(&self, low: f64, high: f64) -> Option<f64>;
}

impl Figures for f64 {
    fn outside(&self, low: f64, high: f64) -> Option<f64> {
        let within = *self >= low && *self <= high;
        (!within).then_some(*self)
    }
}

impl Figures for Option<f64> {
    fn outside(&self, low: f64, high: f64) -> Option<f64> {
        self.and_then(|figure| figure.outside(low, high))
    }
}

impl<const N: usize> Figures for [f64; N] {
    fn outside(&self, low: f64, high: f64) -> Option<f64> {
        self.iter().find_map(|figure| figure.outside(low, high))
    }
}

macro_rules! ranges {
    ($($group:ident.$name:ident: $low:expr, $high:expr, $unit:literal;)+) => {
        impl Setup {
            /// Refuses what no aircraft can have.
            ///
            /// # Errors
            /// The first figure outside its range, with the range.
            pub fn check(&self) -> Result<(), SetupError> {
                $(if let Some(value) = self.$group.$name.outside($low, $high) {
                    return Err(SetupError {
                        field: concat!(stringify!($group), ".", stringify!($name)),
                        value,
                        low: $low,
                        high: $high,
                        unit: $unit,
                    });
                })+
                self.check_detent()
            }
        }
    };
}

ranges! {
    aircraft.mass: 100.0, 2_000.0, "kg";
    aircraft.wing_area: 2.0, 50.0, "m2";
    aircraft.cd0: 0.001, 0.2, "";
    aircraft.induced: 0.001, 0.2, "";
    aircraft.mast_drag_area: 0.0, 2.0, "m2";
    aircraft.take_off_speed: 5.0, 60.0, "m/s";
    aircraft.rolling_friction: 0.0, 1.0, "";
    aircraft.brake_friction: 0.0, 1.0, "";
    aircraft.airspeed_lag: 0.1, 60.0, "s";
    air.offset: -60.0, 50.0, "K";
    air.field_elevation: -400.0, 5_000.0, "m";
    propeller.diameter: 0.5, 4.0, "m";
    propeller.ct: -1.0, 1.0, "";
    propeller.cp: -1.0, 1.0, "";
    propeller.windmill_from: 0.1, 3.0, "";
    propeller.ct_locked: -1.0, 0.0, "";
    propeller.cp_locked: -1.0, 0.0, "";
    propeller.inertia: 0.25, 10.0, "kg m2";
    propeller.friction: 0.0, 10.0, "N m";
    propeller.detent_torque: 0.0, 60.0, "N m";
    propeller.detent_friction: 0.0, 30.0, "N m";
    propeller.detent_peak: 0.02, 0.5, "rad";
    propeller.detent_reach: 0.02, 1.5, "rad";
    motor.torque_constant: 0.1, 10.0, "N m/A";
    motor.resistance: 0.005, 5.0, "ohm";
    motor.inductance: 1e-5, 0.1, "H";
    motor.pole_pairs: 1.0, 60.0, "";
    motor.rated_torque: 1.0, 500.0, "N m";
    motor.brake_torque: 0.0, 500.0, "N m";
    motor.creep_torque: 0.0, 100.0, "N m";
    motor.creep_gain: 0.0, 60.0, "N m s/rad";
    motor.hold_torque: 0.0, 300.0, "N m";
    motor.hold_stiffness: 0.0, 1_000.0, "N m/rad";
    motor.hold_damping: 0.0, 60.0, "N m s/rad";
    motor.current_max: 1.0, 1_000.0, "A";
    motor.modulation: 0.1, 1.2, "";
    motor.bus_min: 10.0, 500.0, "V";
    motor.bus_max: 100.0, 800.0, "V";
    motor.loss_base: 0.0, 1_000.0, "W";
    motor.loss_current: 0.0, 100.0, "W/A";
    motor.iron_loss: 0.0, 5_000.0, "W";
    motor.rated_speed: 1.0, 1_000.0, "rad/s";
    bus.capacitance: 1e-5, 0.1, "F";
    bus.precharge: 1.0, 1_000.0, "ohm";
    bus.discharge: 10.0, 1e5, "ohm";
    bus.idle_current: 0.0, 5.0, "A";
    bus.wiring: 0.0, 1.0, "ohm";
    bus.regeneration_max: 100.0, 800.0, "V";
    bus.insulation: 0.0, 1e9, "ohm";
    pack.cells: 1.0, 250.0, "cells";
    pack.ocv: 0.5, 6.0, "V";
    pack.capacity: 0.1, 500.0, "Ah";
    pack.r0: 1e-5, 1.0, "ohm";
    pack.r1: 0.0, 1.0, "ohm";
    pack.tau: 0.1, 1e4, "s";
    pack.heat_capacity: 100.0, 1e6, "J/K";
    pack.thermal_resistance: 1e-3, 100.0, "K/W";
    auxiliary.capacity: 0.1, 200.0, "Ah";
    auxiliary.rest: 6.0, 20.0, "V";
    auxiliary.r0: 0.0, 1.0, "ohm";
    auxiliary.r1: 0.0, 1.0, "ohm";
    auxiliary.tau: 0.1, 1e4, "s";
    auxiliary.base_load: 0.0, 50.0, "A";
    auxiliary.fan_load: 0.0, 50.0, "A";
    auxiliary.charger_power: 0.0, 2_000.0, "W";
    auxiliary.charger_end: 10.0, 20.0, "V";
    auxiliary.charger_bus_min: 10.0, 500.0, "V";
    thermal.motor_capacity: 10.0, 1e6, "J/K";
    thermal.motor_cooling: 1e-3, 1e3, "W/K";
    thermal.controller_capacity: 10.0, 1e6, "J/K";
    thermal.controller_still: 1e-3, 1e3, "W/K";
    thermal.controller_fans: 0.0, 1e3, "W/K";
    thermal.fan_lag: 0.1, 60.0, "s";
    mast.mass: 1.0, 200.0, "kg";
    mast.arm: 0.1, 3.0, "m";
    mast.angle_deployed: 0.5, 2.5, "rad";
    mast.air: 0.0, 5.0, "";
    mast.spring: 0.0, 2_000.0, "N m";
    mast.stall_torque: 1.0, 1e5, "N m";
    mast.free_speed: 1e-3, 2.0, "1/s";
    mast.lag: 0.01, 10.0, "s";
    mast.free_current: 0.0, 200.0, "A";
    mast.stall_current: 0.0, 500.0, "A";
    mast.pin_time: 0.01, 10.0, "s";
    doors.travel_time: 0.2, 60.0, "s";
    doors.lag: 0.01, 10.0, "s";
    doors.free_current: 0.0, 100.0, "A";
    doors.air_current: 0.0, 100.0, "A";
    doors.stall_current: 0.0, 200.0, "A";
    bay.lag: 0.1, 600.0, "s";
    bay.reach: 0.0, 1.0, "";
    initial.mast: 0.0, 1.0, "";
    initial.doors: 0.0, 1.0, "";
    initial.airspeed: 0.0, 80.0, "m/s";
    initial.height: 0.0, 8_000.0, "m";
    initial.charge: 0.0, 1.0, "";
    initial.auxiliary_charge: 0.0, 1.0, "";
    initial.blade_angle: 0.0, 360.0, "deg";
    initial.shaft_rpm: -5_000.0, 5_000.0, "rpm";
    initial.motor_temperature: -60.0, 250.0, "C";
    initial.controller_temperature: -60.0, 250.0, "C";
    initial.pack_temperature: -60.0, 150.0, "C";
}

impl Setup {
    /// The detent must fade outside its peak, not before.
    fn check_detent(&self) -> Result<(), SetupError> {
        let reach = self.propeller.detent_reach;
        let low = self.propeller.detent_peak + 0.01;
        match reach.outside(low, 1.5) {
            None => Ok(()),
            Some(value) => Err(SetupError {
                field: "propeller.detent_reach",
                value,
                low,
                high: 1.5,
                unit: "rad",
            }),
        }
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
    fn an_impossible_figure_is_refused_by_name_with_its_range() {
        let mut setup = Setup::default();
        setup.bus.capacitance = 0.0;
        let refusal = setup.check().expect_err("no capacitor");
        assert_eq!(
            refusal.to_string(),
            "bus.capacitance is 0: allowed are 0.00001 to 0.1 F"
        );
    }

    #[test]
    fn a_figure_that_is_no_number_is_refused_in_lists_and_options_too() {
        for spoil in [
            |s: &mut Setup| s.initial.mast = f64::NAN,
            |s: &mut Setup| s.pack.ocv[3] = f64::NAN,
            |s: &mut Setup| s.initial.doors = Some(f64::NAN),
            |s: &mut Setup| s.propeller.detent_reach = s.propeller.detent_peak,
        ] {
            let mut setup = Setup::default();
            spoil(&mut setup);
            assert!(setup.check().is_err());
        }
    }

    #[test]
    fn every_figure_of_a_setup_has_a_range() {
        let value = serde_json::to_value(Setup::default()).expect("a setup serialises");
        let groups = value.as_object().expect("groups");
        let ranges = include_str!("limits.rs");
        for (group, figures) in groups {
            for (name, figure) in figures.as_object().expect("figures") {
                let row = format!("    {group}.{name}: ");
                assert!(
                    figure.is_boolean() || ranges.contains(&row),
                    "{group}.{name}"
                );
            }
        }
    }
}
