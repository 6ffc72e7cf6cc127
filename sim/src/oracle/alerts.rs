//! Alerts: SR-20, SR-22.

use mastwright_core::Faults;

use super::Rule;
use super::limits::{REACTION, SECOND};
use super::moment::{Moment, Run};
use super::verdict::Finding;

/// An acknowledge held for less than this clears nothing, ticks: 400 ms, longer than a
/// press that means "heard" (a choice of this design).
const CLEARING_HOLD: u32 = 2 * SECOND / 5;

/// SR-20. Met while a fault is latched. What a controller forgets with its power is not
/// judged here: it starts anew, and finds its faults anew (SR-21 for those that matter).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct AlertsStay {
    latched: Faults,
    sounding: Faults,
    /// Length of the latest press of acknowledge, ticks.
    press: u32,
}

impl Rule for AlertsStay {
    const ID: &'static str = "SR-20";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let shown = &now.frame.outputs.indications;
        let (latched, sounding) = (shown.faults, shown.sounding);
        let before = *self;
        if now.past.acknowledging.ticks() > 0 {
            self.press = now.past.acknowledging.ticks();
        }
        self.latched = latched;
        self.sounding = sounding;
        if !now.frame.powered {
            return Finding::Idle;
        }
        let pressed = now.past.unacknowledged.ticks() <= REACTION;
        let cleared = pressed && self.press >= CLEARING_HOLD;
        if !before.latched.is_subset(latched) && !cleared {
            return Finding::broken("a latched fault vanished without a held acknowledge");
        }
        if !sounding.is_subset(latched) {
            return Finding::broken("an alert sounded for a fault that is not shown");
        }
        let must_sound = (latched - before.latched) | (before.sounding & latched);
        if !must_sound.is_subset(sounding) && !pressed {
            return Finding::broken("an alert fell silent without an acknowledge");
        }
        Finding::held_if(!latched.is_empty())
    }
}

/// Heat must be warned of within this, ticks: 2 s.
const HEAT_TIME: u32 = 2 * SECOND;
/// The test must sound within this, ticks: 500 ms.
const TEST_TIME: u32 = SECOND / 2;

/// SR-22. Met while a detector feels heat or the test is pressed, powered or not.
#[derive(Clone, Copy, Debug)]
pub(super) struct HeatWarning {
    heat: Run,
    test: Run,
}

impl Default for HeatWarning {
    fn default() -> Self {
        Self {
            heat: Run::NEVER,
            test: Run::NEVER,
        }
    }
}

impl Rule for HeatWarning {
    const ID: &'static str = "SR-22";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let truth = &now.frame.truth;
        let hottest = truth.bay_heat.into_iter().fold(f64::MIN, f64::max);
        let heat = self.heat.feed(hottest > now.limits.bay_heat);
        let test = self.test.feed(now.frame.controls.heat_test);
        if heat > HEAT_TIME && !now.frame.heat_warning {
            return Finding::measured("heat in the bay sounded no warning", hottest, "deg C");
        }
        if test > TEST_TIME && !now.frame.heat_warning {
            return Finding::broken("the heat detector test sounded no warning");
        }
        Finding::held_if(heat > 0 || test > 0)
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::Fault;

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, holds, stowed, with};

    fn shown(latched: Faults, sounding: Faults) -> Frame {
        with(&stowed(), |f| {
            f.outputs.indications.faults = latched;
            f.outputs.indications.sounding = sounding;
        })
    }

    fn pressed(frame: &Frame) -> Frame {
        with(frame, |f| f.controls.acknowledge = true)
    }

    fn one() -> Faults {
        Fault::MotorHot.into()
    }

    #[test]
    fn a_fault_that_vanishes_by_itself_is_caught() {
        let (fault, none) = (shown(one(), one()), stowed());
        assert!(breaks("SR-20", &[(99, &none), (9, &fault), (1, &none)]));
        let (heard, cleared) = (pressed(&shown(one(), Faults::empty())), pressed(&none));
        assert!(
            breaks(
                "SR-20",
                &[(99, &none), (9, &fault), (9, &heard), (1, &cleared)]
            ),
            "a short press clears nothing"
        );
        assert!(holds(
            "SR-20",
            &[
                (99, &none),
                (9, &fault),
                (200, &heard),
                (1, &cleared),
                (9, &none)
            ]
        ));
    }

    #[test]
    fn an_alert_that_falls_silent_by_itself_is_caught() {
        let none = stowed();
        let (fault, silent) = (shown(one(), one()), shown(one(), Faults::empty()));
        assert!(breaks("SR-20", &[(99, &none), (9, &fault), (1, &silent)]));
        assert!(
            breaks("SR-20", &[(99, &none), (1, &silent)]),
            "never sounded"
        );
        assert!(holds(
            "SR-20",
            &[
                (99, &none),
                (9, &fault),
                (9, &pressed(&silent)),
                (99, &silent)
            ]
        ));
    }

    #[test]
    fn what_sounds_must_be_shown() {
        assert!(breaks("SR-20", &[(1, &shown(Faults::empty(), one()))]));
    }

    #[test]
    fn a_power_loss_starts_anew() {
        let fault = shown(one(), one());
        let dark = with(&stowed(), |f| f.powered = false);
        assert!(holds("SR-20", &[(9, &fault), (9, &dark), (9, &stowed())]));
    }

    #[test]
    fn heat_at_one_detector_must_warn_even_without_power() {
        let hot = with(&stowed(), |f| {
            f.powered = false;
            f.truth.bay_heat[2] = 120.0;
        });
        let warned = with(&hot, |f| f.heat_warning = true);
        assert!(holds("SR-22", &[(200, &hot), (99, &warned)]));
        assert!(breaks("SR-22", &[(201, &hot)]));
    }

    #[test]
    fn the_detector_test_must_sound() {
        let test = with(&stowed(), |f| f.controls.heat_test = true);
        let sounds = with(&test, |f| f.heat_warning = true);
        assert!(holds("SR-22", &[(50, &test), (99, &sounds)]));
        assert!(breaks("SR-22", &[(51, &test)]));
    }
}
