//! The aircraft: a point of mass with a drag polar and an energy balance.
//!
//! Source: textbook performance (parabolic drag polar; excess power over weight is the
//! rate of climb, less what goes into speed). All figures are those of an invented
//! single-seat sailplane.
//!
//! Regimes: on the ground (rolls under thrust against drag and wheel friction, held by
//! the brake while the pilot wants no speed), in flight (the pilot flies a target
//! airspeed; height follows from energy).

use serde::{Deserialize, Serialize};

use super::air::G0;
use super::truth::AircraftTruth;

/// The airframe.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AircraftSetup {
    /// All-up mass, both packs included, kg.
    pub mass: f64,
    /// Wing area, m².
    pub wing_area: f64,
    /// Drag coefficient at zero lift, mast stowed.
    pub cd0: f64,
    /// Factor of the square of lift in the drag polar: 1/(pi e A).
    pub induced: f64,
    /// Drag area of the raised mast without its propeller, m².
    pub mast_drag_area: f64,
    /// Airspeed at which the wheel leaves the ground, m/s.
    pub take_off_speed: f64,
    /// Rolling friction of the wheel, share of weight.
    pub rolling_friction: f64,
    /// Friction of the braked wheel, share of weight.
    pub brake_friction: f64,
    /// Time constant with which the pilot reaches a target airspeed, s.
    pub airspeed_lag: f64,
}

impl Default for AircraftSetup {
    fn default() -> Self {
        Self {
            mass: 470.0,
            wing_area: 10.5,
            cd0: 0.010,
            induced: 0.0165,
            mast_drag_area: 0.10,
            take_off_speed: 22.0,
            rolling_friction: 0.04,
            brake_friction: 0.35,
            airspeed_lag: 2.0,
        }
    }
}

/// Greatest acceleration along the path the pilot uses to reach an airspeed, m/s².
const ACCELERATION_MAX: f64 = 2.0;
/// A target airspeed below this on the ground means the pilot holds the brake, m/s.
const BRAKE_BELOW: f64 = 1.0;
/// The polar is not meant for slower flight: the wing would stall, m/s.
const POLAR_FROM: f64 = 15.0;

impl AircraftSetup {
    /// Drag, N, at an airspeed above stall, lift equal to `lift` N.
    #[must_use]
    pub fn drag(&self, airspeed: f64, density: f64, lift: f64, mast: f64) -> f64 {
        let pressure = 0.5 * density * airspeed * airspeed;
        let parasite = pressure * (self.cd0 * self.wing_area + self.mast_drag_area * mast);
        let slow = 0.5 * density * POLAR_FROM * POLAR_FROM;
        let induced = self.induced * lift * lift / (pressure.max(slow) * self.wing_area);
        parasite + induced
    }
}

/// What acts on the aircraft in one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Acting {
    /// Airspeed the pilot flies, m/s.
    pub target_airspeed: f64,
    /// Gust along the path, m/s.
    pub gust: f64,
    /// Propeller thrust, N.
    pub thrust: f64,
    /// Air density, kg/m³.
    pub density: f64,
    /// Mast position, 0 to 1.
    pub mast: f64,
}

/// The aircraft's motion.
#[derive(Clone, Copy, Debug)]
pub struct Aircraft {
    setup: AircraftSetup,
    speed: f64,
    height: f64,
    climb: f64,
    on_ground: bool,
}

impl Aircraft {
    /// An aircraft at a speed (m/s) and height above the field (m).
    #[must_use]
    pub fn new(setup: AircraftSetup, speed: f64, height: f64, on_ground: bool) -> Self {
        Self {
            setup,
            speed,
            height: if on_ground { 0.0 } else { height },
            climb: 0.0,
            on_ground,
        }
    }

    /// Moves on by `dt` s.
    pub fn step(&mut self, acting: &Acting, dt: f64) {
        if self.on_ground {
            self.roll(acting, dt);
        } else {
            self.fly(acting, dt);
        }
    }

    /// Speed through calm air, gusts left out, m/s.
    #[must_use]
    pub const fn speed(&self) -> f64 {
        self.speed
    }

    /// Height above the field, m.
    #[must_use]
    pub const fn height(&self) -> f64 {
        self.height
    }

    /// What is true of the aircraft; the gust counts as airspeed.
    #[must_use]
    pub fn truth(&self, gust: f64) -> AircraftTruth {
        AircraftTruth {
            airspeed: (self.speed + gust).max(0.0),
            height: self.height,
            climb: self.climb,
            on_ground: self.on_ground,
        }
    }

    fn roll(&mut self, acting: &Acting, dt: f64) {
        let setup = &self.setup;
        self.climb = 0.0;
        let braked = acting.target_airspeed < BRAKE_BELOW;
        let friction = if braked {
            setup.brake_friction
        } else {
            setup.rolling_friction
        } * setup.mass
            * G0;
        let drag = setup.drag(self.speed, acting.density, 0.0, acting.mast);
        let driven = self.speed + (acting.thrust - drag) / setup.mass * dt;
        self.speed = (driven - friction / setup.mass * dt).max(0.0);
        // Fast enough, and with power to spare: otherwise it would touch down again.
        let lifts = self.speed >= setup.take_off_speed && acting.thrust > drag;
        self.on_ground = braked || !lifts;
    }

    fn fly(&mut self, acting: &Acting, dt: f64) {
        let setup = &self.setup;
        let weight = setup.mass * G0;
        let drag = setup.drag(self.speed, acting.density, weight, acting.mast);
        let acceleration = ((acting.target_airspeed - self.speed) / setup.airspeed_lag)
            .clamp(-ACCELERATION_MAX, ACCELERATION_MAX);
        let spare_power = (acting.thrust - drag - setup.mass * acceleration) * self.speed;
        self.climb = spare_power / weight;
        self.speed = (self.speed + acceleration * dt).max(0.0);
        self.height += self.climb * dt;
        if self.height <= 0.0 {
            self.height = 0.0;
            self.climb = 0.0;
            self.on_ground = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn acting(target_airspeed: f64, thrust: f64) -> Acting {
        Acting {
            target_airspeed,
            gust: 0.0,
            thrust,
            density: 1.2,
            mast: 1.0,
        }
    }

    fn after(mut aircraft: Aircraft, acting: &Acting, seconds: u32) -> Aircraft {
        for _ in 0..seconds * 100 {
            aircraft.step(acting, 0.01);
        }
        aircraft
    }

    #[test]
    fn the_brake_holds_against_static_thrust() {
        let setup = AircraftSetup::default();
        let braked = after(Aircraft::new(setup, 0.0, 0.0, true), &acting(0.0, 800.0), 5);
        assert!(braked.speed().abs() < 1e-12 && braked.truth(0.0).on_ground);
    }

    #[test]
    fn it_rolls_takes_off_and_climbs_under_thrust() {
        let setup = AircraftSetup::default();
        let flown = after(
            Aircraft::new(setup, 0.0, 0.0, true),
            &acting(26.0, 650.0),
            60,
        );
        let truth = flown.truth(0.0);
        assert!(!truth.on_ground && truth.height > 30.0);
        assert!((truth.airspeed - 26.0).abs() < 0.1);
        assert!(truth.climb > 1.5 && truth.climb < 4.0);
    }

    #[test]
    fn it_sinks_without_thrust_and_lands() {
        let setup = AircraftSetup::default();
        let start = Aircraft::new(setup, 25.0, 20.0, false);
        let gliding = after(start, &acting(25.0, 0.0), 5).truth(0.0);
        assert!(gliding.climb < -0.5 && gliding.climb > -1.5);
        let landed = after(start, &acting(25.0, 0.0), 60).truth(0.0);
        assert!(landed.on_ground && landed.height.abs() < 1e-12);
    }

    #[test]
    fn speed_gained_is_paid_for_in_climb() {
        let setup = AircraftSetup::default();
        let start = Aircraft::new(setup, 25.0, 500.0, false);
        let steady = after(start, &acting(25.0, 600.0), 1).truth(0.0).climb;
        let hurried = after(start, &acting(40.0, 600.0), 1).truth(0.0).climb;
        assert!(hurried < steady - 3.0);
    }
}
