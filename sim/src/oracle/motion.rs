//! Mast and doors: HZ-1, HZ-3, SR-02, SR-03, SR-09, SR-13.

use mastwright_core::State;
use mastwright_core::outputs::{DoorDrive, MastDrive, Pace};

use super::Rule;
use super::limits::{REACTION, SECOND};
use super::moment::{Moment, Run};
use super::verdict::Finding;

/// HZ-1. Met while the mast is inside the bay.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BladeStrike;

impl Rule for BladeStrike {
    const ID: &'static str = "HZ-1";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        if now.frame.truth.mast.position >= now.limits.clearance_position {
            return Finding::Idle;
        }
        if now.past.off_park.abs() > now.limits.clearance_sector {
            return Finding::measured(
                "the blade was outside its sector inside the bay",
                now.past.off_park.to_degrees(),
                "deg off park",
            );
        }
        Finding::Held
    }
}

/// HZ-3. Met while the mast is in the sweep of the doors. Overlap alone harms nothing;
/// one must move into the other.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct MastAgainstDoors;

impl Rule for MastAgainstDoors {
    const ID: &'static str = "HZ-3";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let (truth, limits) = (&now.frame.truth, now.limits);
        if truth.mast.position <= limits.mast_stowed {
            return Finding::Idle;
        }
        if truth.door_speed < -limits.doors_moving {
            return Finding::measured(
                "the doors closed on the mast",
                truth.mast.position,
                "of its travel",
            );
        }
        if truth.doors < limits.doors_open && truth.mast.speed.abs() > limits.mast_moving {
            return Finding::measured(
                "the mast moved between doors that were not open",
                truth.doors,
                "of their opening",
            );
        }
        Finding::Held
    }
}

/// A crew's confirmation of restraint serves this long, ticks: 66 s, the longest the
/// controller can be set to and its filtering.
const RESTRAINED: u32 = 66 * SECOND;

/// Whether the crew has confirmed restraint: by a press of acknowledge that began while
/// Bench was shown. The one that was held in order to enter Bench says nothing of it.
#[derive(Clone, Copy, Debug)]
struct Restraint {
    /// The frame before showed Bench.
    shown: bool,
    /// The button is down by a press that counts.
    pressed: bool,
    /// No press that counts has lasted.
    unconfirmed: Run,
}

impl Default for Restraint {
    fn default() -> Self {
        Self {
            shown: false,
            pressed: false,
            unconfirmed: Run::FOREVER,
        }
    }
}

impl Restraint {
    /// Takes a frame's word for Bench and the button; true while restraint is confirmed.
    #[inline]
    fn feed(&mut self, bench: bool, acknowledging: u32) -> bool {
        if !bench {
            *self = Self::default();
            return false;
        }
        let began = self.shown && acknowledging == 1;
        self.pressed = acknowledging > 0 && (self.pressed || began);
        self.shown = true;
        self.unconfirmed.feed(!self.pressed) <= RESTRAINED
    }
}

/// SR-02. Met while the mast is driven below the clearance position, and in Bench
/// anywhere.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ParkedBelowClearance {
    restraint: Restraint,
}

impl Rule for ParkedBelowClearance {
    const ID: &'static str = "SR-02";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let bench = now.state() == State::Bench;
        let restrained = self.restraint.feed(bench, now.past.acknowledging.ticks());
        let inside = now.frame.truth.mast.position < now.limits.clearance_position;
        if !now.mast_driven || !(inside || bench) {
            return Finding::Idle;
        }
        if bench && !restrained {
            return Finding::broken("the mast was driven in Bench, restraint not confirmed");
        }
        if inside && now.past.unparked.ticks() > REACTION {
            return Finding::measured(
                "the mast was driven below the clearance position with the blade not parked",
                now.past.off_park.to_degrees(),
                "deg off park",
            );
        }
        Finding::Held
    }
}

/// Least rest between opposite drives, ticks: 200 ms, in which the current of a
/// drive's winding decays and its gear comes to rest (a choice of this design).
const REST: u32 = 20;

/// Which way a drive ran, and how long it has rested since.
#[derive(Clone, Copy, Debug, Default)]
struct Reversal {
    forward: Option<bool>,
    rested: u32,
}

impl Reversal {
    /// Takes the drive's command (forward, or none); on a reversal, the rest before it.
    #[inline]
    fn feed(&mut self, drive: Option<bool>) -> Option<u32> {
        let Some(forward) = drive else {
            self.rested = self.rested.saturating_add(1);
            return None;
        };
        let reversed = self.forward.is_some_and(|before| before != forward);
        let rested = self.rested;
        self.forward = Some(forward);
        self.rested = 0;
        reversed.then_some(rested)
    }
}

/// SR-03. Met at every reversal.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct DeadTime {
    mast: Reversal,
    doors: Reversal,
}

impl Rule for DeadTime {
    const ID: &'static str = "SR-03";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let drives = &now.frame.outputs.drives;
        let mast = self.mast.feed(match drives.mast {
            MastDrive::Off => None,
            MastDrive::Extend(_) => Some(true),
            MastDrive::Retract(_) => Some(false),
        });
        let doors = self.doors.feed(match drives.doors {
            DoorDrive::Off => None,
            DoorDrive::Open => Some(true),
            DoorDrive::Close => Some(false),
        });
        let shortest = match (mast, doors) {
            (None, None) => return Finding::Idle,
            (Some(rest), None) | (None, Some(rest)) => rest,
            (Some(mast), Some(doors)) => mast.min(doors),
        };
        if shortest < REST {
            return Finding::measured(
                "a drive was reversed without its dead time",
                f64::from(shortest) * 10.0,
                "ms of rest",
            );
        }
        Finding::Held
    }
}

/// SR-09. Met while the mast is driven or the doors are closed.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct DoorsBeforeMast;

impl Rule for DoorsBeforeMast {
    const ID: &'static str = "SR-09";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let closing = matches!(now.frame.outputs.drives.doors, DoorDrive::Close);
        if now.mast_driven && now.past.doors_not_open.ticks() > REACTION {
            return Finding::measured(
                "the mast was driven between doors that were not open",
                now.frame.truth.doors,
                "of their opening",
            );
        }
        if closing && now.past.mast_not_stowed.ticks() > REACTION {
            return Finding::measured(
                "the doors were closed though the mast was not stowed",
                now.frame.truth.mast.position,
                "of its travel",
            );
        }
        Finding::held_if(now.mast_driven || closing)
    }
}

/// Longest stall, ticks: 600 ms, well inside the time a stalled winding takes to harm
/// itself (a choice of this design).
const STALL: u32 = 60;
/// Longest run of the mast drive at full pace, ticks: 20 s, twice a rated move.
const MAST_RUN: u32 = 20 * SECOND;
/// Longest run of the mast drive at slow pace, ticks: 65 s.
const MAST_RUN_SLOW: u32 = 65 * SECOND;
/// Longest run of the door drive, ticks: 10 s, more than twice a rated move.
const DOOR_RUN: u32 = 10 * SECOND;

/// SR-13. Met while mast or doors are driven. Current is judged in truth, and only
/// while the drive is commanded: what runs uncommanded is not switched off by a command.
#[derive(Clone, Copy, Debug)]
pub(super) struct DriveLimits {
    mast_stalled: Run,
    door_stalled: Run,
    mast_full: Run,
    mast_any: Run,
    doors: Run,
}

impl Default for DriveLimits {
    fn default() -> Self {
        Self {
            mast_stalled: Run::NEVER,
            door_stalled: Run::NEVER,
            mast_full: Run::NEVER,
            mast_any: Run::NEVER,
            doors: Run::NEVER,
        }
    }
}

impl Rule for DriveLimits {
    const ID: &'static str = "SR-13";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let (truth, limits) = (&now.frame.truth, now.limits);
        let full = matches!(
            now.frame.outputs.drives.mast,
            MastDrive::Extend(Pace::Full) | MastDrive::Retract(Pace::Full)
        );
        let mast_stalled = now.mast_driven && truth.mast.drive_current.abs() > limits.mast_stall;
        let door_stalled = now.doors_driven && truth.door_current.abs() > limits.door_stall;
        if self.mast_stalled.feed(mast_stalled) > STALL {
            return Finding::measured(
                "the mast drive was left on while stalled",
                truth.mast.drive_current,
                "A",
            );
        }
        if self.door_stalled.feed(door_stalled) > STALL {
            return Finding::measured(
                "the door drive was left on while stalled",
                truth.door_current,
                "A",
            );
        }
        let overdue = (self.mast_full.feed(full) > MAST_RUN)
            | (self.mast_any.feed(now.mast_driven) > MAST_RUN_SLOW)
            | (self.doors.feed(now.doors_driven) > DOOR_RUN);
        if overdue {
            return Finding::broken("a drive ran beyond its time");
        }
        Finding::held_if(now.mast_driven || now.doors_driven)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle::handmade::{breaks, half_out, holds, judge, stowed, with};
    use crate::oracle::verdict::Outcome;

    const OUT: MastDrive = MastDrive::Extend(Pace::Full);
    const IN: MastDrive = MastDrive::Retract(Pace::Full);

    #[test]
    fn a_blade_off_its_sector_is_a_strike_inside_the_bay_and_none_above_it() {
        let off = |degrees: f64, position: f64| {
            with(&half_out(), |f| {
                f.truth.propeller.angle = degrees.to_radians();
                f.truth.mast.position = position;
            })
        };
        for degrees in [11.0, 90.0, 169.0, 191.0, 349.0] {
            assert!(breaks("HZ-1", &[(1, &off(degrees, 0.59))]), "{degrees}");
            assert!(!breaks("HZ-1", &[(100, &off(degrees, 0.61))]), "{degrees}");
        }
        for degrees in [0.0, 9.0, 171.0, 189.0, 351.0] {
            assert!(holds("HZ-1", &[(1, &off(degrees, 0.1))]), "{degrees}");
        }
    }

    #[test]
    fn mast_against_doors_needs_both_in_the_way_and_one_moving() {
        let ajar = with(&half_out(), |f| f.truth.doors = 0.9);
        assert!(holds("HZ-3", &[(10, &ajar)]), "overlap alone harms nothing");
        let moving = with(&ajar, |f| f.truth.mast.speed = -0.05);
        assert!(breaks("HZ-3", &[(1, &moving)]));
        let closing = with(&half_out(), |f| f.truth.door_speed = -0.3);
        assert!(breaks("HZ-3", &[(1, &closing)]));
        let behind = with(&stowed(), |f| f.truth.door_speed = -0.3);
        assert!(!breaks("HZ-3", &[(10, &behind)]));
    }

    #[test]
    fn the_mast_may_not_be_driven_inside_the_bay_with_the_blade_unparked() {
        let driven = with(&half_out(), |f| f.outputs.drives.mast = IN);
        assert!(holds("SR-02", &[(100, &driven)]));
        let off = with(&driven, |f| f.truth.propeller.angle = 0.3);
        assert!(breaks("SR-02", &[(1, &off)]), "unparked from the start");
        let turning = with(&driven, |f| f.truth.propeller.speed = 2.0);
        assert!(holds("SR-02", &[(10, &driven), (15, &turning)]));
        assert!(breaks("SR-02", &[(10, &driven), (16, &turning)]));
        let above = with(&off, |f| f.truth.mast.position = 0.7);
        assert_eq!(judge("SR-02", &[(100, &above)]), Outcome::NotExercised);
    }

    #[test]
    fn in_bench_the_mast_is_driven_only_after_restraint_is_confirmed() {
        let rest = with(&half_out(), |f| {
            f.outputs.indications.state = State::Bench;
        });
        let driven = with(&rest, |f| {
            f.outputs.drives.mast = MastDrive::Retract(Pace::Slow);
        });
        let confirmed = with(&rest, |f| f.controls.acknowledge = true);
        assert!(breaks("SR-02", &[(9, &rest), (1, &driven)]));
        assert!(holds(
            "SR-02",
            &[(1, &rest), (9, &confirmed), (99, &driven)]
        ));
        assert!(breaks(
            "SR-02",
            &[(1, &rest), (9, &confirmed), (6600, &rest), (1, &driven)]
        ));
    }

    #[test]
    fn an_acknowledge_pressed_before_bench_was_shown_confirms_no_restraint() {
        let bench = with(&half_out(), |f| {
            f.outputs.indications.state = State::Bench;
        });
        let before = with(&half_out(), |f| f.controls.acknowledge = true);
        let held_on = with(&bench, |f| f.controls.acknowledge = true);
        let driven = with(&bench, |f| {
            f.outputs.drives.mast = MastDrive::Extend(Pace::Slow);
        });
        let [first, second, third] = [(50, &before), (50, &held_on), (10, &bench)];
        assert!(breaks("SR-02", &[first, second, third, (1, &driven)]));
        let confirmed = (5, &held_on);
        assert!(holds(
            "SR-02",
            &[first, second, third, confirmed, (99, &driven)]
        ));
        let reset = (1, &before);
        assert!(
            breaks(
                "SR-02",
                &[
                    first,
                    second,
                    third,
                    confirmed,
                    reset,
                    (1, &bench),
                    (1, &driven)
                ]
            ),
            "Bench was left and entered again in between"
        );
    }

    #[test]
    fn a_reversal_without_200_ms_of_rest_is_caught_for_mast_and_doors() {
        let rest = half_out();
        let up = with(&rest, |f| f.outputs.drives.mast = OUT);
        let down = with(&rest, |f| f.outputs.drives.mast = IN);
        assert!(breaks("SR-03", &[(5, &up), (19, &rest), (5, &down)]));
        assert!(holds("SR-03", &[(5, &up), (20, &rest), (5, &down)]));
        let same_way: &[_] = &[(5, &up), (1, &rest), (5, &up)];
        assert_eq!(judge("SR-03", same_way), Outcome::NotExercised);
        let open = with(&rest, |f| f.outputs.drives.doors = DoorDrive::Open);
        let close = with(&rest, |f| f.outputs.drives.doors = DoorDrive::Close);
        assert!(breaks("SR-03", &[(5, &close), (5, &open)]));
        assert!(holds("SR-03", &[(5, &close), (30, &rest), (5, &open)]));
    }

    #[test]
    fn the_mast_waits_for_open_doors_and_the_doors_for_a_stowed_mast() {
        let driven = with(&half_out(), |f| f.outputs.drives.mast = OUT);
        let ajar = with(&driven, |f| f.truth.doors = 0.96);
        assert!(holds("SR-09", &[(10, &driven)]));
        assert!(breaks("SR-09", &[(1, &ajar)]));
        assert!(holds("SR-09", &[(1, &driven), (15, &ajar)]));
        assert!(breaks("SR-09", &[(1, &driven), (16, &ajar)]));
        let close = |frame: &_| {
            with(frame, |f: &mut crate::frame::Frame| {
                f.outputs.drives.doors = DoorDrive::Close;
            })
        };
        assert!(breaks("SR-09", &[(1, &close(&half_out()))]));
        assert!(holds("SR-09", &[(1, &close(&stowed()))]));
    }

    #[test]
    fn a_stalled_drive_left_on_is_caught() {
        let running = with(&half_out(), |f| {
            f.outputs.drives.mast = OUT;
            f.truth.mast.drive_current = 20.0;
        });
        let stalled = with(&running, |f| f.truth.mast.drive_current = 45.0);
        assert!(holds("SR-13", &[(100, &running), (60, &stalled)]));
        assert!(breaks("SR-13", &[(100, &running), (61, &stalled)]));
        let door = with(&half_out(), |f| {
            f.outputs.drives.doors = DoorDrive::Open;
            f.truth.door_current = 25.0;
        });
        assert!(breaks("SR-13", &[(61, &door)]));
    }

    #[test]
    fn a_drive_beyond_its_time_is_caught() {
        let full = with(&half_out(), |f| f.outputs.drives.mast = IN);
        assert!(holds("SR-13", &[(2000, &full)]));
        assert!(breaks("SR-13", &[(2001, &full)]));
        let slow = with(&full, |f| {
            f.outputs.drives.mast = MastDrive::Retract(Pace::Slow);
        });
        assert!(holds("SR-13", &[(6500, &slow)]));
        assert!(breaks("SR-13", &[(6501, &slow)]));
        let doors = with(&half_out(), |f| f.outputs.drives.doors = DoorDrive::Open);
        assert!(holds("SR-13", &[(1000, &doors)]));
        assert!(breaks("SR-13", &[(1001, &doors)]));
    }
}
