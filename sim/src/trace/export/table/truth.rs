//! Signals of the physical truth.

use core::f64::consts::TAU;

use super::super::signal::{Signal, Unit};
use crate::plant::truth::Truth;

macro_rules! quantities {
    ($($name:literal: $unit:ident, $about:literal, $get:expr;)+) => {
        vec![$(Signal::real(concat!("truth.", $name), Unit::$unit, $about, |tick| {
            let get: fn(&Truth) -> f64 = $get;
            get(&tick.frame.truth)
        })),+]
    };
}

/// The signals, subject by subject.
pub(super) fn signals() -> Vec<Signal> {
    let mut all = mast_and_doors();
    all.extend(propeller());
    all.extend(bus());
    all.extend(pack(0));
    all.extend(pack(1));
    all.extend(thermal());
    all.extend(aircraft());
    all
}

/// Turns a share of one into percent.
const PERCENT: f64 = 100.0;

fn flag(name: &'static str, about: &'static str, get: fn(&Truth) -> bool) -> Signal {
    Signal::flag(name, about, move |tick| get(&tick.frame.truth))
}

fn mast_and_doors() -> Vec<Signal> {
    let mut all = quantities!(
        "mast.position": Percent, "Travel, 0 stowed to 100 deployed", |t| t.mast.position * PERCENT;
        "mast.speed": PercentPerSecond, "Speed of travel; positive deploys", |t| t.mast.speed * PERCENT;
        "mast.drive_current": Ampere, "Current of the mast drive", |t| t.mast.drive_current;
    );
    all.push(flag(
        "truth.mast.locked",
        "The latch pin has engaged",
        |t| t.mast.locked,
    ));
    all.extend(quantities!(
        "doors.opening": Percent, "Opening, 0 shut to 100 fully open", |t| t.doors * PERCENT;
        "doors.speed": PercentPerSecond, "Speed; positive opens", |t| t.door_speed * PERCENT;
        "doors.drive_current": Ampere, "Current of the door drive", |t| t.door_current;
    ));
    all
}

fn propeller() -> Vec<Signal> {
    quantities!(
        "propeller.angle": Degree, "Blade angle; the blade is aligned with the mast at 0 and 180", |t| t.propeller.angle.to_degrees();
        "propeller.speed": Rpm, "Shaft speed; positive propels", |t| t.propeller.speed * 60.0 / TAU;
        "propeller.motor_torque": NewtonMetre, "Torque of the motor on the shaft", |t| t.propeller.motor_torque;
        "propeller.thrust": Newton, "Thrust; negative when windmilling", |t| t.propeller.thrust;
    )
}

fn bus() -> Vec<Signal> {
    let mut all = quantities!(
        "bus.voltage": Volt, "Voltage across the bus capacitor", |t| t.bus.voltage;
        "bus.current": Ampere, "Current into the bus", |t| t.bus.current;
        "bus.source": Volt, "Voltage of the connected packs before the main contactor", |t| t.bus.source;
        "bus.inrush": Ampere, "Greatest current into the capacitor in this tick", |t| t.bus.inrush;
        "bus.insulation": KiloOhm, "Insulation resistance to the airframe", |t| t.bus.insulation / 1000.0;
    );
    all.push(flag(
        "truth.bus.main_closed",
        "The main contactor's contacts touch",
        |t| t.bus.main_closed,
    ));
    all
}

fn pack(index: usize) -> Vec<Signal> {
    let name = |what: &str| format!("truth.pack_{}.{what}", index + 1);
    let of = move |tick: &crate::trace::Tick| tick.frame.truth.packs[index];
    vec![
        Signal::real(
            &name("voltage"),
            Unit::Volt,
            "Voltage at its terminals",
            move |tick| of(tick).voltage,
        ),
        Signal::real(
            &name("current"),
            Unit::Ampere,
            "Current out of it",
            move |tick| of(tick).current,
        ),
        Signal::real(
            &name("charge"),
            Unit::Percent,
            "State of charge",
            move |tick| of(tick).charge * PERCENT,
        ),
        Signal::real(
            &name("temperature"),
            Unit::Celsius,
            "Hottest cell",
            move |tick| of(tick).temperature,
        ),
        Signal::flag(name("connected"), "Its contactor is closed", move |tick| {
            of(tick).connected
        }),
    ]
}

fn thermal() -> Vec<Signal> {
    let mut all = quantities!(
        "auxiliary": Volt, "Auxiliary battery", |t| t.auxiliary;
        "thermal.motor": Celsius, "Motor windings", |t| t.motor_temperature;
        "thermal.controller": Celsius, "Heat sink of the motor controller", |t| t.controller_temperature;
        "thermal.bay_heat_1": Celsius, "Air at heat detector 1", |t| t.bay_heat[0];
        "thermal.bay_heat_2": Celsius, "Air at heat detector 2", |t| t.bay_heat[1];
        "thermal.bay_heat_3": Celsius, "Air at heat detector 3", |t| t.bay_heat[2];
        "thermal.bay_heat_4": Celsius, "Air at heat detector 4", |t| t.bay_heat[3];
    );
    all.push(flag(
        "truth.thermal.fans_turning",
        "The cooling fans turn",
        |t| t.fans_turning,
    ));
    all
}

fn aircraft() -> Vec<Signal> {
    let mut all = quantities!(
        "aircraft.airspeed": MetrePerSecond, "Airspeed", |t| t.aircraft.airspeed;
        "aircraft.height": Metre, "Height above the field", |t| t.aircraft.height;
        "aircraft.climb": MetrePerSecond, "Rate of climb", |t| t.aircraft.climb;
    );
    all.push(flag(
        "truth.aircraft.on_ground",
        "It stands or rolls on the ground",
        |t| t.aircraft.on_ground,
    ));
    all
}
