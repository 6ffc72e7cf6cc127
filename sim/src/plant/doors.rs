//! The bay doors: one drive moves both by a linkage; springs snap them shut.
//!
//! Source: kinematics with a starting lag; the doors close with a bang, which is normal
//! (common practice, no source). The figures are invented.

use mastwright_core::outputs::DoorDrive;
use serde::{Deserialize, Serialize};

/// The doors and their drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DoorSetup {
    /// Full travel takes this long, s.
    pub travel_time: f64,
    /// Time constant of starting and stopping, s.
    pub lag: f64,
    /// Current while moving freely in calm air, A.
    pub free_current: f64,
    /// Current added at 30 m/s, A; grows with the square of airspeed.
    pub air_current: f64,
    /// Current while stalled, A.
    pub stall_current: f64,
}

impl Default for DoorSetup {
    fn default() -> Self {
        Self {
            travel_time: 2.8,
            lag: 0.05,
            free_current: 4.0,
            air_current: 1.5,
            stall_current: 25.0,
        }
    }
}

/// Doors opened less than this touch a mast that is out of its bay.
pub const MAST_CONTACT: f64 = 0.6;
/// A mast no higher than this lies clear below the closed doors.
pub const MAST_BELOW: f64 = 0.02;
/// Below this opening the springs pull the doors shut.
const SNAP_BELOW: f64 = 0.05;
/// Speed at which the springs shut the doors, 1/s.
const SNAP_SPEED: f64 = 0.8;
/// Clearance either side of a jam.
const JAM_SIDE: f64 = 5e-4;

/// The doors at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Doors {
    setup: DoorSetup,
    /// Opening, 0 shut to 1 open.
    pub opening: f64,
    /// Speed, 1/s.
    pub speed: f64,
    /// Drive current, A.
    pub current: f64,
}

impl Doors {
    /// Doors at rest at an opening.
    #[must_use]
    pub const fn new(setup: DoorSetup, opening: f64) -> Self {
        Self {
            setup,
            opening,
            speed: 0.0,
            current: 0.0,
        }
    }

    /// Moves on by `dt` s under a drive (off when unpowered), with the mast at a
    /// position and an airspeed, m/s.
    pub fn step(&mut self, drive: DoorDrive, mast: f64, airspeed: f64, jam: Option<f64>, dt: f64) {
        let snapping = self.opening < SNAP_BELOW && self.opening > 0.0;
        let wanted = match drive {
            DoorDrive::Off if snapping => -SNAP_SPEED,
            DoorDrive::Off => 0.0,
            DoorDrive::Open => 1.0 / self.setup.travel_time,
            DoorDrive::Close if snapping => -SNAP_SPEED,
            DoorDrive::Close => -1.0 / self.setup.travel_time,
        };
        if wanted.abs() + self.speed.abs() < 1e-9 {
            self.current = 0.0;
            return;
        }
        self.speed += (wanted - self.speed) * (dt / self.setup.lag).min(1.0);
        let (low, high) = self.limits(mast, jam);
        let free = self.opening + self.speed * dt;
        let stopped = free <= low || free >= high;
        self.opening = free.clamp(low, high);
        if stopped || (drive == DoorDrive::Off && self.speed.abs() < 1e-4) {
            self.speed = 0.0;
        }
        let load = self.setup.air_current * airspeed * airspeed * (1.0 / 900.0);
        self.current = match drive {
            DoorDrive::Off => 0.0,
            DoorDrive::Open | DoorDrive::Close if stopped => self.setup.stall_current,
            DoorDrive::Open | DoorDrive::Close => self.setup.free_current + load,
        };
    }

    /// The range the doors can be in next, from where they are.
    fn limits(&self, mast: f64, jam: Option<f64>) -> (f64, f64) {
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        if mast > MAST_BELOW {
            low = MAST_CONTACT.min(self.opening);
        }
        if let Some(place) = jam {
            if self.opening <= place {
                high = (place - JAM_SIDE).max(self.opening);
            } else {
                low = low.max((place + JAM_SIDE).min(self.opening));
            }
        }
        (low, high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn driven(from: f64, drive: DoorDrive, mast: f64, jam: Option<f64>, seconds: u32) -> Doors {
        let mut doors = Doors::new(DoorSetup::default(), from);
        for _ in 0..seconds * 100 {
            doors.step(drive, mast, 25.0, jam, 0.01);
        }
        doors
    }

    #[test]
    fn they_open_and_close_in_about_three_seconds_with_little_current() {
        let opening = driven(0.0, DoorDrive::Open, 0.0, None, 2);
        assert!(opening.opening > 0.6 && opening.opening < 0.95);
        assert!(opening.current < 8.0);
        assert!(driven(0.0, DoorDrive::Open, 0.0, None, 3).opening > 0.995);
        assert!(driven(1.0, DoorDrive::Close, 0.0, None, 3).opening < 0.005);
    }

    #[test]
    fn driven_into_a_stop_they_draw_the_stall_current() {
        assert!((driven(0.0, DoorDrive::Open, 0.0, None, 4).current - 25.0).abs() < 1e-9);
    }

    #[test]
    fn a_raised_mast_stops_them() {
        let stopped = driven(1.0, DoorDrive::Close, 0.5, None, 5);
        assert!((stopped.opening - MAST_CONTACT).abs() < 1e-9);
        assert!((stopped.current - 25.0).abs() < 1e-9);
    }

    #[test]
    fn a_jam_stops_them_from_either_side() {
        let below = driven(0.0, DoorDrive::Open, 0.0, Some(0.4), 5).opening;
        assert!(below < 0.4 && below > 0.399);
        let above = driven(1.0, DoorDrive::Close, 0.0, Some(0.4), 5).opening;
        assert!(above > 0.4 && above < 0.401);
    }
}
