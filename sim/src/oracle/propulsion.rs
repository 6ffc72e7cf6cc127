//! Thrust: HZ-2, SR-01, SR-06, SR-08.

use super::Rule;
use super::limits::REACTION;
use super::moment::Moment;
use super::verdict::Finding;
use crate::controls::Push;

/// How long a mast whose latch is lost stands propulsive torque, ticks: 300 ms. The
/// spindle still holds it; the load then grows with every turn (a choice of this
/// design). Thrust that begins on an unlocked mast has no such time.
const SPINDLE: u32 = 30;

/// HZ-2. Met while the motor propels, in truth.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct UnlockedThrust;

impl Rule for UnlockedThrust {
    const ID: &'static str = "HZ-2";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let propeller = &now.frame.truth.propeller;
        let propels = propeller.motor_torque > now.limits.propulsive_torque
            && propeller.speed > now.limits.propulsive_speed;
        if propels && now.past.unlocked.ticks() > SPINDLE {
            return Finding::measured(
                "the motor propelled on an unlocked mast",
                propeller.motor_torque,
                "N m",
            );
        }
        Finding::held_if(propels)
    }
}

/// SR-01. Met while thrust is commanded.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ThrustWhenLocked;

impl Rule for ThrustWhenLocked {
    const ID: &'static str = "SR-01";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        if !now.thrust {
            return Finding::Idle;
        }
        if now.past.unlocked.ticks() > REACTION {
            return Finding::measured(
                "thrust was commanded on an unlocked mast",
                now.frame.truth.mast.position,
                "of its travel",
            );
        }
        Finding::Held
    }
}

/// SR-06. Met while the switch is thrown, and after that while thrust is commanded.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct StopEndsThrust {
    /// Thrown, and not armed again since.
    stopped: bool,
    deploy_asked: bool,
    zero_seen: bool,
}

impl Rule for StopEndsThrust {
    const ID: &'static str = "SR-06";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let controls = &now.frame.controls;
        // The tick in which the switch is thrown may still have read it released.
        let was_stopped = self.stopped;
        if controls.stop {
            self.zero_seen = false;
            if !was_stopped || now.past.stop.ticks() == 1 {
                self.deploy_asked = false;
            }
            self.stopped = true;
        } else {
            self.zero_seen |= now.throttle_at_zero();
        }
        self.deploy_asked |= now.past.pushed == Some(Push::Deploy);
        if self.stopped && !controls.stop && self.zero_seen && self.deploy_asked {
            self.stopped = false;
            return Finding::held_if(now.thrust);
        }
        if now.thrust && was_stopped {
            return Finding::broken(if controls.stop {
                "thrust was commanded although the stop switch was thrown"
            } else {
                "thrust was commanded after a stop without arming again on purpose"
            });
        }
        Finding::held_if(controls.stop || now.thrust)
    }
}

/// SR-08. Met while thrust is commanded.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ZeroBeforeThrust {
    zero_seen: bool,
}

impl Rule for ZeroBeforeThrust {
    const ID: &'static str = "SR-08";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let since = now.frame.powered && now.past.unlocked.ticks() <= REACTION;
        self.zero_seen = since && (now.throttle_at_zero() || self.zero_seen);
        if !now.thrust {
            return Finding::Idle;
        }
        if !self.zero_seen {
            return Finding::measured(
                "thrust was commanded before the throttle was seen at zero",
                now.frame.controls.throttle,
                "of the lever",
            );
        }
        Finding::Held
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, half_out, holds, judge, locked, thrusting, with};
    use crate::oracle::verdict::Outcome;

    fn open(frame: &Frame) -> Frame {
        with(frame, |f| f.controls.throttle = 1.0)
    }

    #[test]
    fn torque_that_propels_on_an_unlocked_mast_is_a_hazard() {
        let propelling = with(&locked(), |f| {
            f.truth.propeller.motor_torque = 80.0;
            f.truth.propeller.speed = 100.0;
        });
        let lost = with(&propelling, |f| f.truth.mast.locked = false);
        assert!(holds("HZ-2", &[(10, &propelling), (30, &lost)]));
        assert!(breaks("HZ-2", &[(10, &propelling), (31, &lost)]));
        assert!(
            breaks("HZ-2", &[(1, &lost)]),
            "never locked: no time at all"
        );
        let creeping = with(&half_out(), |f| {
            f.truth.propeller.motor_torque = 25.0;
            f.truth.propeller.speed = 1.6;
        });
        let braking = with(&half_out(), |f| {
            f.truth.propeller.motor_torque = -80.0;
            f.truth.propeller.speed = 100.0;
        });
        for harmless in [creeping, braking] {
            assert_eq!(judge("HZ-2", &[(100, &harmless)]), Outcome::NotExercised);
        }
    }

    #[test]
    fn thrust_commanded_on_an_unlocked_mast_is_caught() {
        let thrust = thrusting(locked());
        let lost = with(&thrust, |f| f.truth.mast.locked = false);
        assert!(holds("SR-01", &[(10, &thrust), (15, &lost)]));
        assert!(breaks("SR-01", &[(10, &thrust), (16, &lost)]));
        assert!(breaks("SR-01", &[(1, &lost)]));
    }

    #[test]
    fn thrust_one_tick_after_the_stop_is_caught() {
        let thrust = open(&thrusting(locked()));
        let thrown = with(&thrust, |f| f.controls.stop = true);
        let obeyed = with(&locked(), |f| f.controls.stop = true);
        assert!(breaks(
            "SR-06",
            &[(10, &locked()), (9, &thrust), (2, &thrown)]
        ));
        assert!(holds(
            "SR-06",
            &[(10, &locked()), (9, &thrust), (1, &thrown), (500, &obeyed)]
        ));
    }

    #[test]
    fn after_a_stop_thrust_needs_release_and_zero_and_a_fresh_deploy() {
        let rest = locked();
        let stop = with(&rest, |f| f.controls.stop = true);
        let opened = open(&rest);
        let deploy = with(&rest, |f| f.controls.selector = Push::Deploy);
        let thrust = open(&thrusting(locked()));
        let held = with(&thrust, |f| f.controls.stop = true);
        let deploy_held = with(&deploy, |f| f.controls.stop = true);
        let armed: &[_] = &[
            (9, &rest),
            (9, &stop),
            (9, &rest),
            (9, &deploy),
            (9, &thrust),
        ];
        assert!(holds("SR-06", armed));
        for (why, script) in [
            ("not released", [(9, &stop), (9, &deploy_held), (1, &held)]),
            ("no fresh deploy", [(9, &stop), (9, &rest), (1, &thrust)]),
            (
                "deploy before the stop",
                [(9, &deploy), (9, &stop), (1, &thrust)],
            ),
        ] {
            let mut whole = vec![(9, &rest)];
            whole.extend(script);
            assert!(breaks("SR-06", &whole), "{why}");
        }
        let stop_open = open(&stop);
        let deploy_open = open(&deploy);
        assert!(
            breaks(
                "SR-06",
                &[
                    (9, &rest),
                    (99, &stop_open),
                    (9, &opened),
                    (9, &deploy_open),
                    (1, &thrust)
                ]
            ),
            "no zero"
        );
    }

    #[test]
    fn a_throttle_opened_early_must_not_start_the_motor() {
        let early = open(&half_out());
        let locked_open = open(&locked());
        let thrust = open(&thrusting(locked()));
        assert!(breaks(
            "SR-08",
            &[(99, &early), (99, &locked_open), (1, &thrust)]
        ));
        assert!(holds(
            "SR-08",
            &[(99, &early), (9, &locked()), (9, &thrust)]
        ));
    }

    #[test]
    fn a_zero_seen_before_a_power_loss_does_not_count_after_it() {
        let thrust = open(&thrusting(locked()));
        let dark = with(&open(&locked()), |f| f.powered = false);
        assert!(breaks(
            "SR-08",
            &[(9, &locked()), (99, &dark), (1, &thrust)]
        ));
    }
}
