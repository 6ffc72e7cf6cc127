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
            Task::Still if !proven.contains(Condition::ShaftSlow) => (
                Some(Permission::BrakeBlade),
                Motor::Brake(config.brake_strength),
            ),
            Task::Still if !proven.contains(Condition::BladeNearPark) => (
                Some(Permission::TurnBlade),
                Motor::Creep(turn_towards_park(sensors.angle_a.raw(), config)),
            ),
            Task::Still => (
                Some(Permission::HoldBlade),
                Motor::Hold(config.hold_strength),
            ),
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
    pub(crate) fn walk(&mut self, visitor: &mut impl crate::walk::Visitor, config: &Config) {
        let proof = config.park_proof.ticks();
        visitor.sustained(crate::walk::Timer::Parked, &mut self.parked, proof);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::Signal;

    fn sensors(a: i32, b: i32, rpm: i16) -> PropellerSensors {
        PropellerSensors {
            angle_a: Signal::fresh(CentiDegrees::new(a)),
            angle_b: Signal::fresh(CentiDegrees::new(b)),
            speed: Signal::fresh(Rpm::new(rpm)),
        }
    }

    fn observe(propeller: &mut Propeller, told: &PropellerSensors) -> (Conditions, Faults) {
        let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
        propeller.observe(told, &Config::default(), &mut proven, &mut active);
        (proven, active)
    }

    fn parked_after(told: &PropellerSensors, ticks: u32) -> bool {
        let mut propeller = Propeller::default();
        (0..ticks).fold(false, |_, _| {
            observe(&mut propeller, told).0.contains(Condition::Parked)
        })
    }

    #[test]
    fn parked_takes_the_whole_proof_time() {
        assert!(!parked_after(&sensors(0, 0, 0), 29));
        assert!(parked_after(&sensors(0, 0, 0), 30));
        assert!(
            parked_after(&sensors(18_100, 17_900, 0), 30),
            "the other park angle"
        );
    }

    #[test]
    fn each_of_window_agreement_and_standstill_is_needed() {
        assert!(parked_after(&sensors(400, 300, 3), 40));
        assert!(!parked_after(&sensors(401, 300, 0), 40), "A outside");
        assert!(!parked_after(&sensors(300, 401, 0), 40), "B outside");
        assert!(!parked_after(&sensors(200, -101, 0), 40), "apart");
        assert!(
            !parked_after(&sensors(0, 18_000, 0), 40),
            "half a turn apart"
        );
        assert!(!parked_after(&sensors(0, 0, 4), 40), "turning");
        assert!(!parked_after(&sensors(0, 0, -4), 40), "turning backwards");
        for lost in 0..3 {
            let mut told = sensors(0, 0, 0);
            match lost {
                0 => told.angle_a = told.angle_a.invalidated(),
                1 => told.angle_b = told.angle_b.invalidated(),
                _ => told.speed = told.speed.invalidated(),
            }
            assert!(!parked_after(&told, 40), "reading {lost} lost");
        }
    }

    #[test]
    fn a_blade_that_sweeps_through_its_window_is_not_parked() {
        let mut propeller = Propeller::default();
        for tick in 0..2_000 {
            // Windmilling at 60 rpm with a speed sensor stuck at zero.
            let angle = tick * 360 % 36_000;
            let (proven, _) = observe(&mut propeller, &sensors(angle, angle, 0));
            assert!(!proven.contains(Condition::Parked));
        }
    }

    #[test]
    fn in_place_asks_every_source_that_is_heard_and_at_least_one() {
        let mut told = sensors(9_000, 0, 0);
        let in_place = |told: &PropellerSensors| {
            observe(&mut Propeller::default(), told)
                .0
                .contains(Condition::BladeInPlace)
        };
        assert!(!in_place(&told));
        told.angle_a = told.angle_a.invalidated();
        assert!(in_place(&told));
        told.angle_b = told.angle_b.invalidated();
        assert!(!in_place(&told));
    }

    #[test]
    fn sources_that_disagree_are_told_only_while_the_shaft_is_slow() {
        for (rpm, told) in [(0, true), (2_000, false)] {
            let mut propeller = Propeller::default();
            let mut seen = Faults::empty();
            for _ in 0..20 {
                seen |= observe(&mut propeller, &sensors(0, 5_000, rpm)).1;
            }
            assert_eq!(seen.contains(Fault::BladeDisagreement), told, "{rpm} rpm");
        }
    }

    #[test]
    fn the_blade_is_turned_the_shorter_way_and_never_dithers_across_the_quarter_turn() {
        let config = Config::default();
        let creep = config.creep_speed;
        let back = Rpm::ZERO.minus(creep);
        for (angle, expected) in [
            (1_000, back),
            (35_000, creep),
            (19_000, back),
            (17_000, creep),
            (8_500, creep),
            (9_500, creep),
        ] {
            assert_eq!(
                turn_towards_park(CentiDegrees::new(angle), &config),
                expected,
                "{angle}"
            );
        }
    }
}
