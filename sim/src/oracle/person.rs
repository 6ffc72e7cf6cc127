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
