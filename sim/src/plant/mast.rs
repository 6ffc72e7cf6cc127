//! The mast: an arm driven by a self-locking spindle against gravity, air load and a
//! counter-spring, with hard stops at both ends and a latch at the upper one.
//!
//! Source: statics of a hinged arm, gravity m g l cos(a), air load on the raised part
//! (textbook); drive with a speed that falls and a current that grows linearly with
//! load (direct-current drive, textbook). The figures are invented.
//!
//! Terms: angle a from 0 (lying in the bay) to `angle_deployed`; load counts positive
//! where it pushes the mast down into the bay.

use mastwright_core::outputs::{MastDrive, Pace};
use serde::{Deserialize, Serialize};

use super::air::G0;
use super::doors;
use super::truth::MastTruth;

/// The mast and its drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MastSetup {
    /// Mass of mast, motor and propeller, kg.
    pub mass: f64,
    /// Distance of its centre of mass from the hinge, m.
    pub arm: f64,
    /// Angle between stowed and deployed, rad.
    pub angle_deployed: f64,
    /// Drag area of mast and blade at full height, m², with its lever, m.
    pub air: [f64; 2],
    /// Torque of the counter-spring when stowed, N m; it fades towards deployed.
    pub spring: f64,
    /// Load torque at which the drive stalls, N m.
    pub stall_torque: f64,
    /// Travel for each second without load, 1/s.
    pub free_speed: f64,
    /// Time constant of starting and stopping, s.
    pub lag: f64,
    /// Current without load, A.
    pub free_current: f64,
    /// Current while stalled, A.
    pub stall_current: f64,
    /// The pin takes this long to withdraw before the mast can leave its upper end, s.
    pub pin_time: f64,
}

impl Default for MastSetup {
    fn default() -> Self {
        Self {
            mass: 24.0,
            arm: 0.9,
            angle_deployed: 95.0_f64.to_radians(),
            air: [0.16, 1.0],
            spring: 120.0,
            stall_torque: 900.0,
            free_speed: 0.107,
            lag: 0.1,
            free_current: 8.0,
            stall_current: 45.0,
            pin_time: 0.2,
        }
    }
}

/// The pin drops in at or above this position.
const PIN_AT: f64 = 0.996;
/// Clearance either side of a jam.
const JAM_SIDE: f64 = 5e-4;
/// Speed at which a mast with a broken spindle drifts at stall load, 1/s.
const DRIFT: f64 = 1.0;

/// What acts on the mast besides its drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Acting {
    /// Airspeed, m/s.
    pub airspeed: f64,
    /// Air density, kg/m³.
    pub density: f64,
    /// Door opening.
    pub doors: f64,
    /// The mast cannot pass this position.
    pub jam: Option<f64>,
    /// The spindle does not hold.
    pub free: bool,
}

/// The mast at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Mast {
    setup: MastSetup,
    truth: MastTruth,
    /// How far the pin is withdrawn, 0 to 1.
    pin: f64,
}

impl Mast {
    /// A mast at rest at a position; at its upper end it is latched.
    #[must_use]
    pub fn new(setup: MastSetup, position: f64) -> Self {
        Self {
            setup,
            truth: MastTruth {
                position,
                locked: position >= PIN_AT,
                ..MastTruth::default()
            },
            pin: 0.0,
        }
    }

    /// What is true of the mast.
    #[must_use]
    pub const fn truth(&self) -> MastTruth {
        self.truth
    }

    /// Moves on by `dt` s under a drive (off when unpowered).
    pub fn step(&mut self, drive: MastDrive, acting: &Acting, dt: f64) {
        self.move_pin(drive, dt);
        let (sense, pace) = match drive {
            MastDrive::Off => (0.0, 0.0),
            MastDrive::Extend(pace) => (1.0, share(pace)),
            MastDrive::Retract(pace) => (-1.0, share(pace)),
        };
        let unheld = acting.free && !self.truth.locked;
        if sense == 0.0 && self.truth.speed == 0.0 && !unheld {
            self.truth.drive_current = 0.0;
            return;
        }
        let load = self.load(acting);
        let s = self.setup;
        // A load along the motion does not push the spindle: it is self-locking.
        let against = (load * sense).max(0.0) / s.stall_torque;
        let mut wanted = sense * pace * s.free_speed * (1.0 - against).max(0.0);
        if unheld && sense == 0.0 {
            wanted = -DRIFT * load / s.stall_torque;
        }
        self.truth.speed += (wanted - self.truth.speed) * (dt / s.lag).min(1.0);
        let stalled = self.advance(sense, acting, dt);
        self.truth.drive_current = if sense == 0.0 {
            0.0
        } else if stalled {
            s.stall_current
        } else {
            s.free_current + (s.stall_current - s.free_current) * against.min(1.0)
        };
        if sense == 0.0 && self.truth.speed.abs() < 1e-5 {
            self.truth.speed = 0.0;
        }
    }

    /// Torque that pushes the mast into the bay, N m.
    #[must_use]
    pub fn load(&self, acting: &Acting) -> f64 {
        let s = &self.setup;
        let (sine, cosine) = (self.truth.position * s.angle_deployed).sin_cos();
        let gravity = s.mass * G0 * s.arm * cosine;
        let pressure = 0.5 * acting.density * acting.airspeed * acting.airspeed;
        let air = pressure * s.air[0] * s.air[1] * sine * sine;
        gravity + air - s.spring * (1.0 - self.truth.position)
    }

    fn move_pin(&mut self, drive: MastDrive, dt: f64) {
        let withdraw = matches!(drive, MastDrive::Retract(_));
        let at_end = self.truth.position >= PIN_AT;
        if withdraw && self.truth.locked {
            self.pin += dt / self.setup.pin_time;
            self.truth.locked = self.pin < 1.0;
        } else if !withdraw {
            self.pin = 0.0;
            self.truth.locked = at_end;
        }
    }

    /// Moves within what is free; true when something solid stops a drive of this sense.
    fn advance(&mut self, sense: f64, acting: &Acting, dt: f64) -> bool {
        let here = self.truth.position;
        let (low, high) = self.limits(acting);
        let free = here + self.truth.speed * dt;
        self.truth.position = free.clamp(low, high);
        if free <= low || free >= high {
            self.truth.speed = 0.0;
        }
        // Against a pin still in place the drive only takes up its slack.
        if sense < 0.0 {
            free <= low && !self.truth.locked
        } else {
            free >= high
        }
    }

    /// The range the mast can be in next, from where it is.
    fn limits(&self, acting: &Acting) -> (f64, f64) {
        let here = self.truth.position;
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        if self.truth.locked {
            low = here;
        }
        if here <= doors::MAST_BELOW && acting.doors < doors::MAST_CONTACT {
            high = doors::MAST_BELOW;
        }
        if let Some(place) = acting.jam {
            if here <= place {
                high = high.min((place - JAM_SIDE).max(here));
            } else {
                low = low.max((place + JAM_SIDE).min(here));
            }
        }
        (low, high)
    }
}

fn share(pace: Pace) -> f64 {
    match pace {
        Pace::Full => 1.0,
        Pace::Slow => 0.25,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const UP: MastDrive = MastDrive::Extend(Pace::Full);
    const DOWN: MastDrive = MastDrive::Retract(Pace::Full);

    fn calm() -> Acting {
        Acting {
            airspeed: 25.0,
            density: 1.2,
            doors: 1.0,
            jam: None,
            free: false,
        }
    }

    /// Seconds until `done`, at most 60, with the greatest current on the way.
    fn until(
        mast: &mut Mast,
        drive: MastDrive,
        acting: &Acting,
        done: impl Fn(&MastTruth) -> bool,
    ) -> (f64, f64) {
        let mut greatest = 0.0_f64;
        for tick in 0..6_000_u32 {
            mast.step(drive, acting, 0.01);
            if done(&mast.truth()) {
                return (f64::from(tick) * 0.01, greatest);
            }
            greatest = greatest.max(mast.truth().drive_current);
        }
        (60.0, greatest)
    }

    #[test]
    fn it_deploys_and_stows_in_about_ten_seconds_below_20_a() {
        let mut mast = Mast::new(MastSetup::default(), 0.0);
        let (up, current) = until(&mut mast, UP, &calm(), |m| m.locked);
        assert!(
            (8.5..12.5).contains(&up) && current < 20.0,
            "{up} s, {current} A"
        );
        let (down, current) = until(&mut mast, DOWN, &calm(), |m| m.position < 0.005);
        assert!(
            (8.5..12.5).contains(&down) && current < 20.0,
            "{down} s, {current} A"
        );
    }

    #[test]
    fn the_slow_pace_takes_four_times_as_long() {
        let slow = MastDrive::Extend(Pace::Slow);
        let (full, _) = until(
            &mut Mast::new(MastSetup::default(), 0.1),
            UP,
            &calm(),
            |m| m.position > 0.9,
        );
        let (quarter, _) = until(
            &mut Mast::new(MastSetup::default(), 0.1),
            slow,
            &calm(),
            |m| m.position > 0.9,
        );
        assert!((quarter / full - 4.0).abs() < 0.2);
    }

    #[test]
    fn the_pin_holds_until_it_is_withdrawn() {
        let mut mast = Mast::new(MastSetup::default(), 1.0);
        mast.step(DOWN, &calm(), 0.01);
        assert!(mast.truth().locked && mast.truth().position > 0.999);
        let (unlocked, current) = until(&mut mast, DOWN, &calm(), |m| !m.locked);
        assert!(unlocked < 0.3 && current < 20.0);
    }

    #[test]
    fn unpowered_it_stays_where_it_is_unless_the_spindle_is_broken() {
        let mut held = Mast::new(MastSetup::default(), 0.6);
        until(&mut held, MastDrive::Off, &calm(), |_| false);
        assert!((held.truth().position - 0.6).abs() < 1e-12);
        let broken = Acting {
            free: true,
            ..calm()
        };
        let mut drifting = Mast::new(MastSetup::default(), 0.6);
        until(&mut drifting, MastDrive::Off, &broken, |_| false);
        assert!(drifting.truth().position < 0.5);
    }

    #[test]
    fn a_jam_stalls_it_from_either_side_and_lets_it_back() {
        let jammed = Acting {
            jam: Some(0.5),
            ..calm()
        };
        let mut mast = Mast::new(MastSetup::default(), 1.0);
        until(&mut mast, DOWN, &jammed, |_| false);
        assert!((mast.truth().position - 0.5).abs() < 0.001);
        assert!((mast.truth().drive_current - 45.0).abs() < 1e-9);
        let (_, _) = until(&mut mast, UP, &jammed, |m| m.locked);
        assert!(mast.truth().locked);
    }

    #[test]
    fn shut_doors_stop_a_mast_from_leaving_the_bay() {
        let shut = Acting {
            doors: 0.0,
            ..calm()
        };
        let mut mast = Mast::new(MastSetup::default(), 0.0);
        until(&mut mast, UP, &shut, |_| false);
        assert!((mast.truth().position - doors::MAST_BELOW).abs() < 1e-12);
        assert!((mast.truth().drive_current - 45.0).abs() < 1e-9);
    }

    #[test]
    fn air_load_grows_with_speed_and_raises_the_current() {
        let upright = Mast::new(MastSetup::default(), 0.9);
        let slow = upright.load(&calm());
        let fast = upright.load(&Acting {
            airspeed: 45.0,
            ..calm()
        });
        assert!(fast > slow + 50.0);
    }
}
