//! The columns of the physical truth, each with the step in which it is kept.
//!
//! Steps are far below what any sensor resolves and any limit of the oracle turns on;
//! `docs/trace-format.md` lists them with their units.

use super::{Visitor, flag, scaled};
use crate::plant::truth::{PackTruth, Truth};

macro_rules! quantities {
    ($to:ident, $of:expr, $prefix:literal: $($field:ident $(.$part:ident)* => $name:literal / $scale:literal),+ $(,)?) => {$(
        scaled($to, concat!($prefix, $name), $scale, &mut $of.$field$(.$part)*);
    )+};
}

#[inline]
pub(super) fn truth<V: Visitor>(to: &mut V, truth: &mut Truth) {
    quantities!(to, truth, "truth.":
        mast.position => "mast.position" / 1.0e6,
        mast.speed => "mast.speed" / 1.0e6,
        mast.drive_current => "mast.drive current" / 1.0e3,
        doors => "doors" / 1.0e6,
        door_speed => "door speed" / 1.0e6,
        door_current => "door current" / 1.0e3,
        propeller.angle => "propeller.angle" / 1.0e5,
        propeller.speed => "propeller.speed" / 1.0e4,
        propeller.motor_torque => "propeller.motor torque" / 1.0e3,
        propeller.thrust => "propeller.thrust" / 1.0e2,
        bus.voltage => "bus.voltage" / 1.0e3,
        bus.current => "bus.current" / 1.0e3,
        bus.source => "bus.source" / 1.0e3,
        bus.inrush => "bus.inrush" / 1.0e3,
        bus.insulation => "bus.insulation" / 1.0,
        auxiliary => "auxiliary" / 1.0e3,
        motor_temperature => "motor temperature" / 1.0e4,
        controller_temperature => "controller temperature" / 1.0e4,
        aircraft.airspeed => "aircraft.airspeed" / 1.0e4,
        aircraft.height => "aircraft.height" / 1.0e3,
        aircraft.climb => "aircraft.climb" / 1.0e4,
    );
    let [one, two] = &mut truth.packs;
    pack(to, one, &ONE);
    pack(to, two, &TWO);
    for (name, heat) in BAY.into_iter().zip(&mut truth.bay_heat) {
        scaled(to, name, 1.0e3, heat);
    }
    flag(to, "truth.mast.locked", &mut truth.mast.locked);
    flag(to, "truth.bus.main closed", &mut truth.bus.main_closed);
    flag(to, "truth.fans turning", &mut truth.fans_turning);
    flag(
        to,
        "truth.aircraft.on ground",
        &mut truth.aircraft.on_ground,
    );
    flag(to, "truth.person near", &mut truth.person_near);
}

const BAY: [&str; crate::plant::truth::HEAT_DETECTORS] = [
    "truth.bay heat 1",
    "truth.bay heat 2",
    "truth.bay heat 3",
    "truth.bay heat 4",
];

const ONE: [&str; 5] = [
    "truth.pack 1.voltage",
    "truth.pack 1.current",
    "truth.pack 1.charge",
    "truth.pack 1.temperature",
    "truth.pack 1.connected",
];

const TWO: [&str; 5] = [
    "truth.pack 2.voltage",
    "truth.pack 2.current",
    "truth.pack 2.charge",
    "truth.pack 2.temperature",
    "truth.pack 2.connected",
];

#[inline]
fn pack<V: Visitor>(to: &mut V, pack: &mut PackTruth, names: &[&'static str; 5]) {
    scaled(to, names[0], 1.0e3, &mut pack.voltage);
    scaled(to, names[1], 1.0e3, &mut pack.current);
    scaled(to, names[2], 1.0e7, &mut pack.charge);
    scaled(to, names[3], 1.0e4, &mut pack.temperature);
    flag(to, names[4], &mut pack.connected);
}
