//! From what a scenario says to what the plant is made of.

use crate::faults::Mechanics;
use crate::plant::defects::Defects;
use crate::plant::setup;
use crate::scenario::setup::Setup;

/// The plant's setup for a scenario's start.
pub(super) fn setup(start: &Setup) -> setup::Setup {
    let mut plant = setup::Setup::default();
    plant.air.field_elevation = start.elevation;
    plant.air.offset = start.warmer;
    if let Some(mass) = start.mass {
        plant.aircraft.mass = mass;
    }
    let initial = &mut plant.initial;
    initial.mast = start.mast;
    initial.doors = Some(start.doors);
    initial.on_ground = start.on_ground;
    initial.airspeed = start.airspeed;
    initial.height = start.height;
    initial.charge = start.charge;
    initial.blade_angle = start.blade_angle;
    initial.shaft_rpm = start.propeller;
    initial.motor_temperature = start.motor_temperature;
    initial.controller_temperature = start.controller_temperature;
    initial.pack_temperature = start.pack_temperature;
    plant
}

/// The plant's defects for what the injector says is wrong in the physical world.
pub(super) fn defects(mechanics: &Mechanics) -> Defects {
    Defects {
        mast_jam: mechanics.mast_jam,
        door_jam: mechanics.door_jam,
        main_welded: mechanics.main_welded,
        pack_contactor_welded: mechanics.pack_contactor_welded,
        pack_dropout: mechanics.pack_dropout,
        insulation_ohm: mechanics.insulation_ohm,
        fans_failed: mechanics.fans_failed,
        discharge_open: mechanics.discharge_open,
        blade_push: mechanics.blade_push,
        gust: mechanics.gust,
        extra_heat_bay: mechanics.extra_heat_bay,
        detent_worn: mechanics.detent_worn,
        ..Defects::default()
    }
}
