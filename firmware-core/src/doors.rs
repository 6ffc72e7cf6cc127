//! The bay doors: two doors on one drive, proven open or shut by three switches.
//!
//! Responsibilities:
//! 1. Prove "open" from both open switches and the absence of shut; prove "shut" the
//!    other way round, and, once they have moved, by the drive pressing on its end stop
//!    as well: a shut switch that fails closed half way must not stand for shut doors.
//!    A contradiction proves neither.
//! 2. See that doors at rest stay where they were left.
//! 3. Drive them, with the discipline of every axis. That they close with a bang is
//!    normal and no fault (common practice, no source).

use crate::axis::{Axis, Limits, Way};
use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::DoorSensors;
use crate::interlock::{Condition, Conditions};
use crate::outputs::DoorDrive;
use crate::timer::Sustained;
use crate::units::Milliamps;

/// Faults that forbid driving the doors until they are cleared on purpose.
pub const FORBIDDING: Faults = enumset::enum_set!(
    Fault::DoorContradiction
        | Fault::DoorSensorLost
        | Fault::DoorOverload
        | Fault::DoorOverdue
        | Fault::DoorUnasked
);

/// Where the doors were when their drive last rested.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Place {
    /// Not known, or not at rest yet.
    #[default]
    Unknown,
    /// Open.
    Open,
    /// Shut.
    Shut,
}

/// The doors' axis and what must be remembered to judge it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Doors {
    axis: Axis,
    left_at: Place,
    contradicted: Sustained,
    lost: Sustained,
    resting: Sustained,
    strayed: Sustained,
    /// The doors have moved, and have not been pressed shut since.
    moved: bool,
    pressing: Sustained,
    unpressed: Sustained,
}

impl Doors {
    /// Reads the sensors for one tick; adds what they prove and the faults they show.
    pub fn observe(
        &mut self,
        sensors: &DoorSensors,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
        let limit = config.stale_after;
        let current = sensors.drive_current.proven(limit);
        let readings = (
            sensors.left_open.proven(limit),
            sensors.right_open.proven(limit),
            sensors.shut.proven(limit),
        );
        let place = match readings {
            (Some(true), Some(true), Some(false)) => Place::Open,
            (Some(false), Some(false), Some(true)) => Place::Shut,
            _ => Place::Unknown,
        };
        if self.judge_press(place, current, config) {
            *active |= Fault::DoorOverdue;
        }
        match place {
            Place::Open => *proven |= Condition::DoorsOpen,
            Place::Shut if !self.moved => *proven |= Condition::DoorsShut,
            Place::Shut | Place::Unknown => {}
        }
        let (left, right, shut) = readings;
        let contradiction = shut == Some(true) && (left == Some(true) || right == Some(true));
        let lost = left.is_none() || right.is_none() || shut.is_none() || current.is_none();

        let after = config.fault_after.ticks();
        if self.contradicted.feed(contradiction, after) {
            *active |= Fault::DoorContradiction;
        }
        if self.lost.feed(lost, after) {
            *active |= Fault::DoorSensorLost;
        }
        if self.has_strayed(place, contradiction || lost, config) {
            *active |= Fault::DoorUnasked;
        }
        let shown = self.axis.observe(current, &limits(config));
        if shown.overloaded {
            *active |= Fault::DoorOverload;
        }
        if shown.overdue {
            *active |= Fault::DoorOverdue;
        }
        if self.axis.rested(Way::Out) {
            *proven |= Condition::OpenRested;
        }
        if self.axis.rested(Way::In) {
            *proven |= Condition::CloseRested;
        }
    }

    /// Drives the doors, or lets them rest.
    pub fn drive(&mut self, way: Option<Way>, config: &Config) -> DoorDrive {
        self.axis.command(way, &limits(config));
        match way {
            None => DoorDrive::Off,
            Some(Way::Out) => DoorDrive::Open,
            Some(Way::In) => DoorDrive::Close,
        }
    }

    /// Sees the doors leave shut, and the drive press them shut again; true when they
    /// are told to be shut and no press comes.
    fn judge_press(&mut self, place: Place, current: Option<Milliamps>, config: &Config) -> bool {
        let driven = self.axis.driven();
        if driven == Some(Way::Out) || place == Place::Open {
            self.moved = true;
        }
        let loaded = current.is_some_and(|current| current.magnitude() > config.door_overload);
        let pressing = driven == Some(Way::In) && place == Place::Shut && loaded;
        if self.pressing.feed(pressing, config.door_press.ticks()) {
            self.moved = false;
        }
        let unpressed = driven == Some(Way::In) && place == Place::Shut && self.moved;
        self.unpressed
            .feed(unpressed, config.door_press_time.ticks())
    }

    /// True once resting doors have left the place where they came to rest.
    fn has_strayed(&mut self, place: Place, doubtful: bool, config: &Config) -> bool {
        let driven = self.axis.driven().is_some();
        // Doors coast for a moment; where they are left is where they come to rest.
        if !self.resting.feed(!driven, config.door_settle.ticks()) {
            self.left_at = Place::Unknown;
        } else if self.left_at == Place::Unknown {
            self.left_at = place;
        }
        let away = self.left_at != Place::Unknown && place != self.left_at && !doubtful;
        let strayed = self.strayed.feed(away, config.fault_after.ticks());
        if strayed {
            // What is latched is the motion; from here on they are judged by where they
            // are now, or the fault could never be cleared.
            self.left_at = place;
        }
        strayed
    }
}

fn limits(config: &Config) -> Limits {
    Limits {
        dead_time: config.dead_time.ticks(),
        run: config.door_time.ticks(),
        overload: config.door_overload,
        overload_after: config.overload_after.ticks(),
    }
}

#[cfg(feature = "walk")]
mod walk {
    use super::{Config, Doors, limits};
    use crate::walk::{Flag, Straying, Timer, Visitor};

    impl Doors {
        pub(crate) fn walk(&mut self, visitor: &mut impl Visitor, config: &Config) {
            let timers = [Timer::DoorRest, Timer::DoorRun, Timer::DoorOverload];
            self.axis.walk(visitor, timers, &limits(config));
            let after = config.fault_after.ticks();
            visitor.sustained(Timer::DoorContradicted, &mut self.contradicted, after);
            visitor.sustained(Timer::DoorLost, &mut self.lost, after);
            visitor.straying(Straying {
                left_at: &mut self.left_at,
                resting: &mut self.resting,
                settle: config.door_settle.ticks(),
                strayed: &mut self.strayed,
                after,
            });
            visitor.flag(Flag::DoorsMoved, &mut self.moved);
            let press = config.door_press.ticks();
            visitor.sustained(Timer::DoorPressing, &mut self.pressing, press);
            let press_time = config.door_press_time.ticks();
            visitor.sustained(Timer::DoorUnpressed, &mut self.unpressed, press_time);
        }
    }
}

#[cfg(test)]
mod tests;
