//! The propeller: spin, stop, park, hold, and the proof that it is parked.
//!
//! Responsibilities:
//! 1. Prove the blade parked: both angle sources in the window and in agreement, the
//!    shaft at standstill, all of it for the whole proof time (SR-02). A motor that
//!    is off is not a propeller that is stopped: windmilling is motion.
//! 2. Bring the blade to rest: brake while it is fast, turn it slowly while it is
//!    out of place, hold it once it is there. Each of the three asks permission.
//! 3. Propel only as far as demand and limits allow.
//!
//! Terms: *park angle*, the two angles half a turn apart at which the two blades lie
//! along the mast; *hold stiffness*, the torque by which a held blade answers a push.

use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::PropellerSensors;
use crate::interlock::{Condition, Conditions, Permission};
use crate::outputs::Motor;
use crate::timer::Sustained;
use crate::units::{CentiDegrees, Permille, Rpm};

/// What the propeller is asked to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Task {
    /// Turn freely.
    Free,
    /// Slow down by shorted phases, which need no bus; no angle is sought.
    Slowed,
    /// Come to rest at the park angle and stay there.
    Still,
    /// Propel with this share of the rated torque.
    Propel(Permille),
}

/// Beyond this distance from its park angle the blade is always turned forwards: near
/// the quarter turn both ways are equally far, and noise must not choose.
const TURN_FORWARD_BEYOND: CentiDegrees = CentiDegrees::new(8_000);

/// What must be remembered of the propeller.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Propeller {
    parked: Sustained,
    lost: Sustained,
    disagreed: Sustained,
}

impl Propeller {
    /// Reads the sensors for one tick; adds what they prove and the faults they show.
    pub fn observe(
        &mut self,
        sensors: &PropellerSensors,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
        let limit = config.stale_after;
        let speed = sensors.speed.proven(limit).map(Rpm::magnitude);
        let a = sensors.angle_a.proven(limit);
        let b = sensors.angle_b.proven(limit);
        let apart = a.zip(b).map(|(a, b)| a.apart(b));
        // Of the sources that are heard, the one that stands further off decides.
        let off_a = a.map(|angle| angle.off_park().magnitude());
        let off_b = b.map(|angle| angle.off_park().magnitude());
        let heard_off = off_a.max(off_b);
        let off = off_a.zip(off_b).and(heard_off);

        let slow = speed.is_some_and(|speed| speed <= config.shaft_slow);
        let still = speed.is_some_and(|speed| speed <= config.shaft_still);
        let agrees = apart.is_some_and(|apart| apart <= config.blade_agree);
        let parked_place = off.is_some_and(|off| off <= config.park_window);
        let standing = still && agrees && parked_place;
        let known = off.is_some() && speed.is_some();
        let near = off.is_some_and(|off| off <= config.hold_capture);
        let in_place = heard_off.is_some_and(|off| off <= config.park_window);
        let parked = self.parked.feed(standing, config.park_proof.ticks());
        *proven |= Condition::BladeKnown.when(known)
            | Condition::BladeAgrees.when(agrees)
            | Condition::BladeNearPark.when(near)
            | Condition::BladeInPlace.when(in_place)
            | Condition::ShaftSlow.when(slow)
            | Condition::Parked.when(parked);

        let after = config.fault_after.ticks();
        let lost = off.is_none() || speed.is_none();
        if self.lost.feed(lost, after) {
            *active |= Fault::BladeSensorLost;
        }
        // Two sources sampled a moment apart differ while the shaft is fast.
        let disagree = apart.is_some() && !agrees;
        if self.disagreed.feed(slow && disagree, after) {
            *active |= Fault::BladeDisagreement;
        }
    }

    /// The permission a task needs in the present situation, and the command it is for.
    /// [`Motor::Free`] and [`Motor::Short`] give no torque of their own and need none.
    #[must_use]
    pub fn ask(
        task: Task,
        sensors: &PropellerSensors,
        config: &Config,
        proven: Conditions,
    ) -> (Option<Permission>, Motor) {
        match task {
            Task::Free => (None, Motor::Free),
            Task::Slowed => (None, Motor::Short),
            Task::Propel(share) => (Some(Permission::Propel), Motor::Thrust(share)),
            Task::Still => {
                let stilled = Stilled::by(proven);
                let motor = match stilled {
                    Stilled::Brake => Motor::Brake(config.brake_strength),
                    Stilled::Turn => Motor::Creep(turn_towards_park(sensors.angle_a.raw(), config)),
                    Stilled::Hold => Motor::Hold(config.hold_strength),
                };
                (Some(stilled.permission()), motor)
            }
        }
    }
}

/// How a blade comes to rest at its park angle, and is kept there.
#[derive(Clone, Copy, Debug)]
enum Stilled {
    /// It is fast.
    Brake,
    /// It is out of place.
    Turn,
    /// It is there.
    Hold,
}

impl Stilled {
    fn by(proven: Conditions) -> Self {
        if !proven.contains(Condition::ShaftSlow) {
            Self::Brake
        } else if !proven.contains(Condition::BladeNearPark) {
            Self::Turn
        } else {
            Self::Hold
        }
    }

    const fn permission(self) -> Permission {
        match self {
            Self::Brake => Permission::BrakeBlade,
            Self::Turn => Permission::TurnBlade,
            Self::Hold => Permission::HoldBlade,
        }
    }
}

/// The shorter way to the park angle. The raw angle only chooses the sense; whether to
/// turn at all is decided by a permission that needs both sources.
fn turn_towards_park(angle: CentiDegrees, config: &Config) -> Rpm {
    let off = angle.off_park();
    if off > CentiDegrees::ZERO && off < TURN_FORWARD_BEYOND {
        Rpm::ZERO.minus(config.creep_speed)
    } else {
        config.creep_speed
    }
}

#[cfg(feature = "walk")]
impl Propeller {
    /// The permission that it takes to keep the blade still, where so much is proven.
    pub(crate) fn stilled_by(proven: Conditions) -> Permission {
        Stilled::by(proven).permission()
    }

    pub(crate) fn walk(&mut self, visitor: &mut impl crate::walk::Visitor, config: &Config) {
        let proof = config.park_proof.ticks();
        visitor.sustained(crate::walk::Timer::Parked, &mut self.parked, proof);
    }
}

#[cfg(test)]
mod tests;
