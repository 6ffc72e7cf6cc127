//! The propeller and its shaft: thrust and torque over advance ratio, windmilling
//! included, and the passive detent that keeps an unpowered blade aligned.
//!
//! Source: textbook definitions J = V/(nD), CT = T/(rho n² D⁴), CP = P/(rho n³ D⁵)
//! (from memory). The coefficients are those of an invented two-blade propeller.
//!
//! Written over n and V instead of J, the polynomials need no division and stay true
//! down to a locked shaft, where J has no value: rho D² (c0 n² D² + c1 n D V + c2 V²).

use core::f64::consts::{PI, TAU};

use serde::{Deserialize, Serialize};

/// The propeller.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PropellerSetup {
    /// Diameter, m.
    pub diameter: f64,
    /// Thrust coefficient as a polynomial of J, up to `windmill_from`.
    pub ct: [f64; 3],
    /// Power coefficient as a polynomial of J, up to `windmill_from`.
    pub cp: [f64; 3],
    /// Advance ratio at which the air begins to drive the shaft.
    pub windmill_from: f64,
    /// Locked-shaft thrust over rho D² V²; negative, a drag.
    pub ct_locked: f64,
    /// Locked-shaft torque over rho D³ V² / 2 pi; negative, drives the shaft.
    pub cp_locked: f64,
    /// Moment of inertia of propeller and rotor, kg m².
    pub inertia: f64,
    /// Dry friction of the shaft, N m.
    pub friction: f64,
    /// Greatest torque of the detent, N m.
    pub detent_torque: f64,
    /// Dry friction the detent adds within its reach (hysteresis), N m.
    pub detent_friction: f64,
    /// Angle off park at which the detent pulls hardest, rad.
    pub detent_peak: f64,
    /// Angle off park at which the detent has faded, rad.
    pub detent_reach: f64,
}

impl Default for PropellerSetup {
    fn default() -> Self {
        Self {
            diameter: 1.6,
            ct: [0.085, -0.0279, -0.1139],
            cp: [0.038, 0.0100, -0.0644],
            windmill_from: 0.85,
            ct_locked: -0.028,
            cp_locked: -0.018,
            inertia: 0.55,
            friction: 0.8,
            detent_torque: 15.0,
            detent_friction: 3.0,
            detent_peak: 2.5_f64.to_radians(),
            detent_reach: 14.0_f64.to_radians(),
        }
    }
}

/// What remains of a worn detent.
const WORN: f64 = 0.2;
/// The shaft is taken to burst no bearing below this; a bound for the integration, rad/s.
const SPEED_MAX: f64 = 600.0;
/// Mast position below which the bay shields the blade from the air.
const SHIELDED_BELOW: f64 = 0.05;
/// Mast position above which the blade stands in the free stream.
const FREE_ABOVE: f64 = 0.65;

/// A coefficient over J: one parabola where the propeller propels, another that meets
/// it in value and slope where it windmills and ends at the locked-shaft value.
#[derive(Clone, Copy, Debug)]
struct Curve {
    propelling: [f64; 3],
    windmilling: [f64; 3],
}

impl Curve {
    fn new(propelling: [f64; 3], join: f64, locked: f64) -> Self {
        let [c0, c1, c2] = propelling;
        let value = c0 + c1 * join + c2 * join * join;
        let slope = c1 + 2.0 * c2 * join;
        let linear = slope - 2.0 * locked * join;
        let constant = value - linear * join - locked * join * join;
        Self {
            propelling,
            windmilling: [constant, linear, locked],
        }
    }

    fn pick(&self, windmilling: bool) -> &[f64; 3] {
        if windmilling {
            &self.windmilling
        } else {
            &self.propelling
        }
    }
}

/// What the air does to the propeller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aero {
    /// Thrust, N; negative is drag.
    pub thrust: f64,
    /// Torque the air takes from the shaft, N m; negative drives it.
    pub torque: f64,
}

/// What detent and bearings do to the shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Detent {
    /// Torque towards park, N m, with its sense.
    pub torque: f64,
    /// Dry friction, N m.
    pub friction: f64,
}

/// The propeller's aerodynamics and detent.
#[derive(Clone, Copy, Debug)]
pub struct Propeller {
    setup: PropellerSetup,
    ct: Curve,
    cp: Curve,
}

impl Propeller {
    /// A propeller with its windmilling branches worked out.
    #[must_use]
    pub fn new(setup: PropellerSetup) -> Self {
        Self {
            setup,
            ct: Curve::new(setup.ct, setup.windmill_from, setup.ct_locked),
            cp: Curve::new(setup.cp, setup.windmill_from, setup.cp_locked),
        }
    }

    /// The figures it was made from.
    #[must_use]
    pub const fn setup(&self) -> &PropellerSetup {
        &self.setup
    }

    /// Thrust and torque at a shaft speed (rad/s), airspeed (m/s) and density (kg/m³).
    #[must_use]
    pub fn aero(&self, speed: f64, airspeed: f64, density: f64) -> Aero {
        let d = self.setup.diameter;
        let tip = speed * (1.0 / TAU) * d;
        let windmilling = airspeed > self.setup.windmill_from * tip;
        let scale = density * d * d;
        // Turned backwards, only the shaft's own motion changes sign: it resists.
        let square = tip * tip.abs();
        let cross = tip.max(0.0) * airspeed;
        let of = |c: &[f64; 3]| scale * (c[0] * square + c[1] * cross + c[2] * airspeed * airspeed);
        Aero {
            thrust: of(self.ct.pick(windmilling)),
            torque: of(self.cp.pick(windmilling)) * d * (1.0 / TAU),
        }
    }

    /// The shaft where no detent reaches it.
    #[must_use]
    pub const fn bearing(&self) -> Detent {
        Detent {
            torque: 0.0,
            friction: self.setup.friction,
        }
    }

    /// The detent at an angle off park, rad: its torque, which pulls towards park, and
    /// the dry friction of the shaft there.
    #[must_use]
    pub fn detent(&self, off_park: f64, worn: bool) -> Detent {
        let s = &self.setup;
        let away = off_park.abs();
        if away >= s.detent_reach {
            return self.bearing();
        }
        let share = if away <= s.detent_peak {
            away / s.detent_peak
        } else {
            (s.detent_reach - away) / (s.detent_reach - s.detent_peak)
        };
        let left = if worn { WORN } else { 1.0 };
        Detent {
            torque: -(left * s.detent_torque * share).copysign(off_park),
            friction: s.friction + left * s.detent_friction,
        }
    }
}

/// Share of the airspeed that reaches the blade at a mast position.
#[must_use]
pub fn exposure(mast: f64) -> f64 {
    ((mast - SHIELDED_BELOW) * (1.0 / (FREE_ABOVE - SHIELDED_BELOW))).clamp(0.0, 1.0)
}

/// Angle to the nearest park angle (0 or pi) of an angle in [0, 2 pi), rad.
#[must_use]
pub fn off_park(angle: f64) -> f64 {
    if angle < 0.5 * PI {
        angle
    } else if angle < 1.5 * PI {
        angle - PI
    } else {
        angle - TAU
    }
}

/// The turning shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shaft {
    /// Blade angle, rad, in [0, 2 pi).
    pub angle: f64,
    /// Speed, rad/s.
    pub speed: f64,
}

impl Shaft {
    /// Turns on by `dt` s (at most 10 ms) under a torque, N m, against dry friction,
    /// N m, where `kick` is dt over the moment of inertia. Friction stops the shaft,
    /// never reverses it.
    pub fn turn(&mut self, torque: f64, friction: f64, kick: f64, dt: f64) {
        let driven = self.speed + torque * kick;
        let slowed = (driven.abs() - friction * kick).max(0.0);
        self.speed = slowed.min(SPEED_MAX).copysign(driven);
        self.angle += self.speed * dt;
        if self.angle >= TAU {
            self.angle -= TAU;
        } else if self.angle < 0.0 {
            // Rounding may land on a full turn itself.
            self.angle = (self.angle + TAU).min(TAU - 1e-12);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn left_alone(airspeed: f64, angle: f64, worn: bool) -> Shaft {
        let propeller = Propeller::new(PropellerSetup::default());
        let mut shaft = Shaft { angle, speed: 0.0 };
        for _ in 0..8_000 {
            let air = propeller.aero(shaft.speed, airspeed, 1.2).torque;
            let detent = propeller.detent(off_park(shaft.angle), worn);
            shaft.turn(detent.torque - air, detent.friction, 0.0025 / 0.55, 0.0025);
        }
        shaft
    }

    #[test]
    fn the_branches_meet_in_value_where_windmilling_begins() {
        let propeller = Propeller::new(PropellerSetup::default());
        let speed = TAU * 20.0;
        let join = 0.85 * 20.0 * 1.6;
        let below = propeller.aero(speed, join - 1e-6, 1.2);
        let above = propeller.aero(speed, join + 1e-6, 1.2);
        assert!((below.thrust - above.thrust).abs() < 1e-3);
        assert!((below.torque - above.torque).abs() < 1e-3);
    }

    #[test]
    fn an_unpowered_blade_stays_parked_in_normal_flight() {
        let shaft = left_alone(28.0, 0.0, false);
        assert!(shaft.speed.abs() < 1e-6);
        assert!(off_park(shaft.angle).abs() < 2.6_f64.to_radians());
    }

    #[test]
    fn a_fast_airflow_or_a_worn_detent_lets_it_windmill() {
        assert!(left_alone(40.0, 0.0, false).speed > 50.0);
        assert!(left_alone(28.0, 0.0, true).speed > 50.0);
    }

    #[test]
    fn the_bay_shields_the_blade() {
        assert!(exposure(0.0).abs() < 1e-12);
        assert!((exposure(1.0) - 1.0).abs() < 1e-12);
        assert!(exposure(0.3) > 0.0 && exposure(0.3) < 1.0);
    }

    #[test]
    fn off_park_takes_the_nearer_park_angle() {
        for (angle, expected) in [
            (0.1, 0.1),
            (PI - 0.1, -0.1),
            (PI + 0.1, 0.1),
            (TAU - 0.1, -0.1),
        ] {
            assert!((off_park(angle) - expected).abs() < 1e-12);
        }
    }

    #[test]
    fn friction_stops_a_shaft_without_reversing_it() {
        let mut shaft = Shaft {
            angle: 1.0,
            speed: 0.01,
        };
        shaft.turn(0.0, 5.0, 0.01 / 0.5, 0.01);
        assert!(shaft.speed.abs() < 1e-12);
    }
}
