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
