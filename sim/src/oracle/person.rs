//! A person near mast and blade: HZ-6.

use super::Rule;
use super::moment::Moment;
use super::verdict::Finding;

/// How long the mast may go on once the selector is let go, ticks: 300 ms: 150 ms of
/// reaction and as much for the drive to run out.
const RUN_OUT: u32 = 30;

/// HZ-6. Met while a person is declared near. The person moves the blade by hand as they
/// like; the system must not push back with more than a brake's drag.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct PersonNear;

impl Rule for PersonNear {
    const ID: &'static str = "HZ-6";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let (truth, limits) = (&now.frame.truth, now.limits);
        if !truth.person_near {
            return Finding::Idle;
        }
        let speed = truth.mast.speed.abs();
        if speed > limits.mast_slow {
            return Finding::measured("the mast moved fast near a person", speed, "1/s");
        }
        if speed > limits.mast_moving && now.past.centred.ticks() > RUN_OUT {
            return Finding::measured(
                "the mast moved near a person though nobody held the selector",
                speed,
                "1/s",
            );
        }
        let propeller = &truth.propeller;
        let drags = propeller.motor_torque * propeller.speed < 0.0;
        if propeller.motor_torque.abs() > limits.hand_torque && !drags {
            return Finding::measured(
                "the motor turned the blade near a person",
                propeller.motor_torque,
                "N m",
            );
        }
        Finding::Held
    }
}

#[cfg(test)]
mod tests {

    use crate::controls::Push;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, half_out, holds, judge, with};
    use crate::oracle::verdict::Outcome;

    fn near(change: impl FnOnce(&mut Frame)) -> Frame {
        with(&half_out(), |f| {
            f.truth.person_near = true;
            change(f);
        })
    }

    #[test]
    fn the_mast_moves_slowly_and_only_while_the_selector_is_held() {
        let held = near(|f| {
            f.controls.selector = Push::Stow;
            f.truth.mast.speed = -0.03;
        });
        let let_go = near(|f| f.truth.mast.speed = -0.03);
        let fast = near(|f| {
            f.controls.selector = Push::Stow;
            f.truth.mast.speed = -0.1;
        });
        assert!(holds("HZ-6", &[(100, &held), (30, &let_go)]));
        assert!(breaks("HZ-6", &[(100, &held), (31, &let_go)]));
        assert!(breaks("HZ-6", &[(100, &held), (1, &fast)]));
    }

    #[test]
    fn the_motor_may_drag_on_the_blade_and_never_drive_it() {
        let turned = |torque, speed| {
            near(|f| {
                f.truth.propeller.motor_torque = torque;
                f.truth.propeller.speed = speed;
            })
        };
        assert!(holds("HZ-6", &[(10, &turned(-8.0, 1.0))]));
        assert!(breaks("HZ-6", &[(1, &turned(8.0, 1.0))]));
        assert!(breaks("HZ-6", &[(1, &turned(8.0, 0.0))]));
    }

    #[test]
    fn without_a_person_near_nothing_is_judged() {
        let alone = with(&half_out(), |f| f.truth.mast.speed = 0.1);
        assert_eq!(judge("HZ-6", &[(100, &alone)]), Outcome::NotExercised);
    }
}
