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
