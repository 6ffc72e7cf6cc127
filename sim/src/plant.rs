//! The physical truth, model by model.
//!
//! Each model has a file of its own that names its source. [`Plant`] holds them and
//! moves them on together by one tick of 10 ms; only the shaft is stepped more finely,
//! and only while it is slow enough for detent, brake or hold to grip it. Slow models
//! (temperatures, air density) take their turn once in ten ticks, each in another tick.

pub mod air;
pub mod aircraft;
pub mod auxiliary;
pub mod bay;
pub mod bus;
pub mod contactor;
pub mod defects;
pub mod doors;
pub mod limits;
pub mod mast;
pub mod motor;
pub mod packs;
pub mod propeller;
pub mod setup;
pub mod thermal;
pub mod truth;

use core::f64::consts::TAU;

use mastwright_core::outputs::{DoorDrive, Drives, Fans, MastDrive};
use mastwright_core::signal::Signal;
use mastwright_core::units::CentiDegrees;

use crate::frame::TICK;
use air::Air;
use aircraft::Aircraft;
use auxiliary::Auxiliary;
use bay::Bay;
use bus::Bus;
use defects::Defects;
use doors::Doors;
use mast::Mast;
use motor::{Powers, Seen};
use packs::Pack;
use propeller::{Propeller, Shaft};
use setup::Setup;
use thermal::{Node, Thermal};
use truth::{PACKS, PackTruth, PropellerTruth, Truth};

/// What the world around the aircraft does in one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Surroundings {
    /// Airspeed the pilot flies, m/s; below 1 m/s on the ground: holds the brake.
    pub target_airspeed: f64,
    /// A person is declared near mast and blade (Bench).
    pub person_near: bool,
    /// Rotor angle the motor controller is told, rad in [0, 2 pi): source A, faults
    /// included; see [`rotor_angle`].
    pub rotor_angle_seen: f64,
}

/// What the motor controller makes of angle source A, rad. A source that declares itself
/// unsound gives no number, and holding without one makes no torque.
#[must_use]
pub fn rotor_angle(source: &Signal<CentiDegrees>) -> f64 {
    if source.is_valid() {
        f64::from(source.raw().get().rem_euclid(36_000)) * (TAU / 36_000.0)
    } else {
        f64::NAN
    }
}

/// A slow model's turn comes once in this many ticks.
const SLOW: u32 = 10;
/// Seconds between two turns of a slow model.
const SLOW_STEP: f64 = TICK * SLOW as f64;
/// Air is worked out anew once in this many ticks.
const AIR_EVERY: u32 = 100;
/// Below this speed the shaft is stepped finely, rad/s.
const FINE_BELOW: f64 = 25.0;
/// A hand reaches the blade through doors opened further than this, 0 to 1.
const HAND_PASSES: f64 = 0.3;
/// A hand follows the blade up to this speed, rad/s: a walking pace at the tip.
const HAND_FOLLOWS: f64 = 2.0;
/// Fine steps of the shaft in one tick.
const FINE_STEPS: u32 = 4;

/// The physical truth and what moves it.
#[derive(Clone, Debug)]
pub struct Plant {
    setup: Setup,
    tick: u32,
    air: Air,
    aircraft: Aircraft,
    propeller: Propeller,
    shaft: Shaft,
    bus: Bus,
    packs: [Pack; PACKS],
    pack_heat: [Node; PACKS],
    auxiliary: Auxiliary,
    thermal: Thermal,
    /// Heat gathered since the last turn of the slow models, J.
    gathered: Gathered,
    mast: Mast,
    doors: Doors,
    bay: Bay,
    truth: Truth,
}

#[derive(Clone, Copy, Debug, Default)]
struct Gathered {
    motor: f64,
    controller: f64,
    packs: [f64; PACKS],
}

impl Plant {
    /// The aircraft at its start. The setup is expected to have passed [`Setup::check`].
    #[must_use]
    pub fn new(setup: &Setup) -> Self {
        let start = &setup.initial;
        let air = setup.air.above_field(start.height);
        let ambient = air.temperature;
        let packs = start
            .charge
            .map(|charge| Pack::new(setup.pack, charge, TICK));
        let bus = Bus::new(setup.bus, 0.0, TICK);
        let source = packs::join(&packs, [true; PACKS]).voltage;
        let raised = start.mast > doors::MAST_BELOW;
        let doors = start.doors.unwrap_or(if raised { 1.0 } else { 0.0 });
        let angle = start.blade_angle.to_radians();
        let pack_temperature = start.pack_temperature.unwrap_or(ambient);
        let mut plant = Self {
            setup: *setup,
            tick: 0,
            air,
            aircraft: Aircraft::new(
                setup.aircraft,
                start.airspeed,
                start.height,
                start.on_ground,
            ),
            propeller: Propeller::new(setup.propeller),
            shaft: Shaft {
                angle: if angle < TAU { angle } else { 0.0 },
                speed: start.shaft_rpm * TAU / 60.0,
            },
            bus: if start.bus_live {
                bus.live(source)
            } else {
                bus
            },
            packs,
            pack_heat: [Node {
                capacity: setup.pack.heat_capacity,
                temperature: pack_temperature,
            }; PACKS],
            auxiliary: Auxiliary::new(setup.auxiliary, start.auxiliary_charge, TICK),
            thermal: Thermal::new(
                setup.thermal,
                start.motor_temperature.unwrap_or(ambient),
                start.controller_temperature.unwrap_or(ambient),
            ),
            gathered: Gathered::default(),
            mast: Mast::new(setup.mast, start.mast),
            doors: Doors::new(setup.doors, doors),
            bay: Bay::new(setup.bay, ambient),
            truth: Truth::default(),
        };
        plant.truth.bus.voltage = plant.bus.voltage();
        plant.truth.bus.main_closed = start.bus_live;
        plant.truth.bus.source = if start.bus_live { source } else { 0.0 };
        plant.truth.bus.insulation = setup.bus.insulation;
        plant.truth.propeller.angle = plant.shaft.angle;
        plant.truth.propeller.speed = plant.shaft.speed;
        plant.show(&Surroundings::default(), &Defects::default());
        plant
    }

    /// What is true now.
    #[must_use]
    pub const fn truth(&self) -> &Truth {
        &self.truth
    }

    /// Temperature of the air around the aircraft, deg C.
    #[must_use]
    pub fn ambient(&self, defects: &Defects) -> f64 {
        defects.ambient.unwrap_or(self.air.temperature)
    }

    /// Moves on by one tick of 10 ms.
    pub fn step(&mut self, drives: &Drives, surroundings: &Surroundings, defects: &Defects) {
        for (pack, added) in self.packs.iter_mut().zip(defects.pack_aged) {
            pack.age(added);
        }
        let powers = self.turn_shaft(drives, surroundings, defects);
        let charger = self
            .auxiliary
            .charger_power(drives.aux_charger, self.bus.voltage());
        self.truth.bus = self
            .bus
            .step(&drives.bus, defects, powers.bus + charger, &mut self.packs);
        let fans = matches!(drives.fans, Fans::On) && !defects.fans_failed;
        let moving = self.mast.truth().drive_current + self.doors.current;
        self.auxiliary
            .step(moving, fans, charger, defects.aux_drain);
        self.move_mast_and_doors(drives, defects);
        let excess = if self.truth.aircraft.on_ground {
            0.0
        } else {
            defects.over_speed
        };
        self.aircraft.step(
            &aircraft::Acting {
                target_airspeed: surroundings.target_airspeed + excess,
                gust: defects.gust,
                thrust: self.truth.propeller.thrust,
                density: self.air.density,
                mast: self.mast.truth().position,
            },
            TICK,
        );
        self.gather(&powers);
        self.slow_turn(fans, defects);
        self.show(surroundings, defects);
        self.tick = self.tick.wrapping_add(1);
    }

    /// Turns the shaft under motor, air, detent and push; gives the motor's powers.
    fn turn_shaft(&mut self, drives: &Drives, around: &Surroundings, defects: &Defects) -> Powers {
        let motor = &self.setup.motor;
        let fine = self.shaft.speed.abs() < FINE_BELOW;
        let steps = if fine { FINE_STEPS } else { 1 };
        let dt = if fine {
            TICK / f64::from(FINE_STEPS)
        } else {
            TICK
        };
        let kick = dt / self.setup.propeller.inertia;
        let exposed = propeller::exposure(self.mast.truth().position);
        let airspeed = (self.aircraft.speed() + defects.gust).max(0.0) * exposed;
        let mut seen = Seen {
            enabled: drives.motor_enable,
            bus: self.bus.voltage(),
            speed: self.shaft.speed,
            angle: around.rotor_angle_seen,
        };
        let mut torque = 0.0;
        let mut thrust = 0.0;
        for _ in 0..steps {
            seen.speed = self.shaft.speed;
            torque = motor.torque(drives.motor, &seen);
            let air = self
                .propeller
                .aero(self.shaft.speed, airspeed, self.air.density);
            let detent = if fine {
                let off_park = propeller::off_park(self.shaft.angle);
                self.propeller.detent(off_park, defects.detent_worn)
            } else {
                // A fast shaft takes and returns the detent's work many times a second.
                self.propeller.bearing()
            };
            let outside = detent.torque - air.torque + self.push(defects.blade_push);
            let before = self.shaft.angle;
            let friction = detent.friction + defects.shaft_drag;
            self.shaft.turn(torque + outside, friction, kick, dt);
            // The angle source follows the shaft through the tick.
            seen.angle = (seen.angle + self.shaft.angle - before).rem_euclid(TAU);
            thrust = air.thrust;
            // A shaft that friction holds through one step is held through all of them.
            if seen.speed == 0.0 && self.shaft.speed == 0.0 {
                break;
            }
        }
        self.truth.propeller = PropellerTruth {
            angle: self.shaft.angle,
            speed: self.shaft.speed,
            motor_torque: torque,
            thrust,
        };
        motor.powers(drives.motor, &seen, torque)
    }

    /// What a hand that pushes the blade puts on it, N m: nothing behind shut doors, and
    /// nothing on a blade that turns away faster than a hand follows.
    fn push(&self, torque: f64) -> f64 {
        let reached = self.doors.opening > HAND_PASSES;
        let followed = self.shaft.speed * torque.signum() < HAND_FOLLOWS;
        if reached && followed { torque } else { 0.0 }
    }

    fn move_mast_and_doors(&mut self, drives: &Drives, defects: &Defects) {
        let mast = if drives.mast_power {
            drives.mast
        } else {
            MastDrive::Off
        };
        let doors = if drives.door_power {
            drives.doors
        } else {
            DoorDrive::Off
        };
        let airspeed = (self.aircraft.speed() + defects.gust).max(0.0);
        self.mast.step(
            mast,
            &mast::Acting {
                airspeed,
                density: self.air.density,
                doors: self.doors.opening,
                jam: defects.mast_jam,
                free: defects.mast_free,
            },
            TICK,
        );
        let position = self.mast.truth().position;
        self.doors
            .step(doors, position, airspeed, defects.door_jam, TICK);
    }

    fn gather(&mut self, powers: &Powers) {
        self.gathered.motor += powers.motor_heat;
        self.gathered.controller += powers.controller_heat;
        for (heat, pack) in self.gathered.packs.iter_mut().zip(&self.packs) {
            *heat += pack.heat();
        }
    }

    /// Gives one slow model its turn, with the mean heat since the last one.
    fn slow_turn(&mut self, fans: bool, defects: &Defects) {
        const MEAN: f64 = 1.0 / SLOW as f64;
        let ambient = self.ambient(defects);
        match self.tick % SLOW {
            0 => {
                let heat = core::mem::take(&mut self.gathered.motor) * MEAN;
                self.thermal.step_motor(heat, ambient, SLOW_STEP);
            }
            2 => {
                let heat = core::mem::take(&mut self.gathered.controller) * MEAN;
                self.thermal.step_controller(heat, fans, ambient, SLOW_STEP);
            }
            4 => {
                let conductance = 1.0 / self.setup.pack.thermal_resistance;
                let heats = core::mem::take(&mut self.gathered.packs);
                for (node, heat) in self.pack_heat.iter_mut().zip(heats) {
                    node.step(heat * MEAN, conductance, ambient, SLOW_STEP);
                }
            }
            6 => self.bay.step(ambient, defects.extra_heat_bay, SLOW_STEP),
            8 if self.tick % AIR_EVERY == 8 => {
                self.air = self.setup.air.above_field(self.aircraft.height());
            }
            _ => {}
        }
    }

    /// Copies what the models know into the truth.
    fn show(&mut self, surroundings: &Surroundings, defects: &Defects) {
        let truth = &mut self.truth;
        truth.mast = self.mast.truth();
        truth.doors = self.doors.opening;
        truth.door_speed = self.doors.speed;
        truth.door_current = self.doors.current;
        let connected = self.bus.connected();
        for (i, shown) in truth.packs.iter_mut().enumerate() {
            *shown = PackTruth {
                voltage: if defects.pack_dropout[i] {
                    0.0
                } else {
                    self.packs[i].terminal()
                },
                current: self.packs[i].current(),
                charge: self.packs[i].charge(),
                temperature: self.pack_heat[i].temperature,
                connected: connected[i],
            };
        }
        truth.auxiliary = self.auxiliary.voltage();
        truth.motor_temperature = self.thermal.motor.temperature;
        truth.controller_temperature = self.thermal.controller.temperature;
        truth.fans_turning = self.thermal.fans_turning();
        truth.bay_heat = self.bay.air();
        truth.aircraft = self.aircraft.truth(defects.gust);
        truth.person_near = surroundings.person_near;
    }
}

#[cfg(test)]
mod tests;
