//! What bounds a motion whatever it is for: SR-23, SR-24, SR-25.

use mastwright_core::Mode;
use mastwright_core::outputs::{MastDrive, Pace};

use super::Rule;
use super::limits::REACTION;
use super::moment::{Moment, Run};
use super::verdict::Finding;

/// SR-23. Met while mast or doors are driven above walking pace.
#[derive(Clone, Copy, Debug)]
pub(super) struct AirspeedRange {
    too_fast: Run,
}

impl Default for AirspeedRange {
    fn default() -> Self {
        Self {
            too_fast: Run::NEVER,
        }
    }
}

impl Rule for AirspeedRange {
    const ID: &'static str = "SR-23";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let airspeed = now.frame.truth.aircraft.airspeed;
        let driven = now.mast_driven || now.doors_driven;
        let too_fast = driven && airspeed > now.limits.moving_airspeed;
        if self.too_fast.feed(too_fast) > REACTION {
            return Finding::measured(
                "mast or doors were driven too fast in the air",
                airspeed,
                "m/s",
            );
        }
        Finding::held_if(driven && airspeed > 1.0)
    }
}

/// How long the mast may be driven once the selector is let go in Bench, ticks: the
/// reaction, and a contact that is debounced.
const LET_GO: u32 = REACTION + 5;

/// SR-24. Met while the mode of control shown is Bench and the mast is driven.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BenchIsSlow;

impl Rule for BenchIsSlow {
    const ID: &'static str = "SR-24";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let indications = &now.frame.outputs.indications;
        if !now.frame.powered || indications.mode != Mode::Bench {
            return Finding::Idle;
        }
        if now.torque || now.thrust {
            return Finding::broken("the motor was given torque in Bench");
        }
        match now.frame.outputs.drives.mast {
            MastDrive::Off => Finding::Idle,
            MastDrive::Extend(Pace::Full) | MastDrive::Retract(Pace::Full) => {
                Finding::broken("the mast was driven at full pace in Bench")
            }
            MastDrive::Extend(Pace::Slow) | MastDrive::Retract(Pace::Slow)
                if now.past.centred.ticks() > LET_GO =>
            {
                Finding::broken("the mast was driven in Bench though nobody held the selector")
            }
            MastDrive::Extend(Pace::Slow) | MastDrive::Retract(Pace::Slow) => Finding::Held,
        }
    }
}

/// SR-25. Met while the mast is, in truth, neither locked nor stowed.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoTorqueUnlocked {
    enabled: Run,
}

impl Default for NoTorqueUnlocked {
    fn default() -> Self {
        Self {
            enabled: Run::NEVER,
        }
    }
}

impl Rule for NoTorqueUnlocked {
    const ID: &'static str = "SR-25";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let mast = &now.frame.truth.mast;
        let enabled = !mast.locked && now.frame.outputs.drives.motor_enable;
        if self.enabled.feed(enabled) > REACTION {
            let travel = mast.position * 100.0;
            return Finding::measured("the motor was enabled off the lock, at travel", travel, "%");
        }
        Finding::held_if(!mast.locked && mast.position > now.limits.mast_stowed)
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::Mode;
    use mastwright_core::outputs::{DoorDrive, MastDrive, Motor, Pace};
    use mastwright_core::units::Permille;

    use crate::controls::Push;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, half_out, holds, locked, with};

    #[test]
    fn mast_and_doors_are_driven_within_their_airspeed() {
        let driven = |airspeed: f64, change: fn(&mut Frame)| {
            with(&half_out(), |f| {
                f.truth.aircraft.airspeed = airspeed;
                change(f);
            })
        };
        let mast: fn(&mut Frame) = |f| f.outputs.drives.mast = MastDrive::Extend(Pace::Full);
        let doors: fn(&mut Frame) = |f| f.outputs.drives.doors = DoorDrive::Open;
        for what in [mast, doors] {
            assert!(holds("SR-23", &[(500, &driven(29.0, what))]));
            assert!(holds(
                "SR-23",
                &[(10, &driven(29.0, what)), (15, &driven(40.0, what))]
            ));
            assert!(breaks("SR-23", &[(16, &driven(40.0, what))]));
        }
        assert!(!breaks("SR-23", &[(500, &driven(40.0, |_| {}))]));
    }

    fn bench(change: impl FnOnce(&mut Frame)) -> Frame {
        with(&half_out(), |f| {
            f.outputs.indications.mode = Mode::Bench;
            f.controls.selector = Push::Stow;
            f.outputs.drives.mast = MastDrive::Retract(Pace::Slow);
            change(f);
        })
    }

    #[test]
    fn bench_is_slow_and_needs_the_selector_held() {
        let held = bench(|_| {});
        let let_go = bench(|f| f.controls.selector = Push::Hold);
        assert!(holds("SR-24", &[(500, &held), (20, &let_go)]));
        assert!(breaks("SR-24", &[(500, &held), (21, &let_go)]));
        let fast = bench(|f| f.outputs.drives.mast = MastDrive::Retract(Pace::Full));
        assert!(breaks("SR-24", &[(1, &fast)]));
    }

    #[test]
    fn bench_gives_the_blade_no_torque() {
        let held = bench(|f| {
            f.outputs.drives.motor = Motor::Hold(Permille::FULL);
            f.outputs.drives.motor_enable = true;
        });
        assert!(breaks("SR-24", &[(1, &held)]));
    }

    #[test]
    fn the_motor_is_not_enabled_off_the_lock() {
        let hold = |frame: &Frame| {
            with(frame, |f| {
                f.outputs.drives.motor = Motor::Hold(Permille::FULL);
                f.outputs.drives.motor_enable = true;
            })
        };
        assert!(holds(
            "SR-25",
            &[(100, &half_out()), (15, &hold(&half_out()))]
        ));
        assert!(breaks("SR-25", &[(16, &hold(&half_out()))]));
        assert!(!breaks("SR-25", &[(500, &hold(&locked()))]));
    }
}
