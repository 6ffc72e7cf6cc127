//! The high-voltage bus: HZ-4, HZ-7, SR-04, SR-18, SR-21.

use mastwright_core::{Fault, Faults};

use super::Rule;
use super::limits::{REACTION, SECOND};
use super::moment::{Moment, Run};
use super::verdict::Finding;

/// HZ-4. Met while current flows into the capacitor.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Inrush;

impl Rule for Inrush {
    const ID: &'static str = "HZ-4";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let inrush = now.frame.truth.bus.inrush.abs();
        if inrush > now.limits.inrush {
            return Finding::measured("the surge into the bus capacitor", inrush, "A");
        }
        // 1 A: pre-charge, not the trickle of a bus at rest.
        Finding::held_if(inrush > 1.0)
    }
}

/// HZ-7. Met while the bus is shown dead.
#[derive(Clone, Copy, Debug)]
pub(super) struct ShownDead {
    live_and_shown_dead: Run,
}

impl Default for ShownDead {
    fn default() -> Self {
        Self {
            live_and_shown_dead: Run::NEVER,
        }
    }
}

impl Rule for ShownDead {
    const ID: &'static str = "HZ-7";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let shown_dead = now.frame.outputs.indications.bus_dead;
        let voltage = now.frame.truth.bus.voltage;
        let wrong = shown_dead && voltage > now.limits.high_voltage;
        if self.live_and_shown_dead.feed(wrong) > REACTION {
            return Finding::measured("the bus was live and shown dead", voltage, "V");
        }
        Finding::held_if(shown_dead)
    }
}

/// SR-04. Met when the main contactor or the pre-charge relay is commanded to close.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct ClosingInOrder {
    main: bool,
    precharge: bool,
}

impl Rule for ClosingInOrder {
    const ID: &'static str = "SR-04";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let drive = &now.frame.outputs.drives.bus;
        let main = drive.main && !self.main;
        let precharge = drive.precharge && !self.precharge;
        self.main = drive.main;
        self.precharge = drive.precharge;
        if !main && !precharge {
            return Finding::Idle;
        }
        let bus = &now.frame.truth.bus;
        if now.past.insulation_low.ticks() > REACTION {
            return Finding::measured(
                "the bus was closed on low insulation",
                bus.insulation / 1000.0,
                "kohm",
            );
        }
        if main && (bus.source <= 0.0 || bus.voltage < now.limits.precharge_share * bus.source) {
            return Finding::measured(
                "the main contactor was closed on a bus not pre-charged",
                bus.voltage,
                "V",
            );
        }
        Finding::Held
    }
}

/// Time to fall below the high-voltage limit, ticks: 3.5 s, inside the 5 s in use in
/// road-vehicle practice (from memory).
const DISCHARGE: u32 = 35 * SECOND / 10;

/// Faults that tell the crew that the bus may still be live.
fn told_live() -> Faults {
    Fault::DischargeFailed | Fault::MainWelded
}

/// SR-18. Met while the contactors are commanded open on a bus that is live. A
/// controller without power can tell nothing; its time runs from its power-up.
#[derive(Clone, Copy, Debug)]
pub(super) struct Discharge {
    open_and_live: Run,
    shown: ShownDead,
}

impl Default for Discharge {
    fn default() -> Self {
        Self {
            open_and_live: Run::NEVER,
            shown: ShownDead::default(),
        }
    }
}

impl Rule for Discharge {
    const ID: &'static str = "SR-18";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let drive = &now.frame.outputs.drives.bus;
        let voltage = now.frame.truth.bus.voltage;
        let shown = self.shown.judge(now);
        let waits = now.frame.powered
            && !drive.main
            && !drive.precharge
            && voltage > now.limits.high_voltage;
        if self.open_and_live.feed(waits) > DISCHARGE
            && now
                .frame
                .outputs
                .indications
                .faults
                .is_disjoint(told_live())
        {
            return Finding::measured(
                "the bus stayed live after opening, and no alert said so",
                voltage,
                "V",
            );
        }
        match shown {
            Finding::Broken(..) => shown,
            Finding::Held | Finding::Idle => Finding::held_if(waits),
        }
    }
}

/// Contacts that touch this long after they are commanded open have welded, ticks:
/// 500 ms, many times the opening time of a contactor (common practice, no source).
const WELDED: u32 = SECOND / 2;
/// No pre-charge takes longer, ticks: 6 s, many time constants of any resistor fit for it.
const PRECHARGE: u32 = 6 * SECOND;

/// Faults that forbid closing.
fn forbids_closing() -> Faults {
    Fault::MainWelded | Fault::PrechargeFailed | Fault::DischargeFailed
}

/// SR-21. Met at every closing, and while contacts are welded.
#[derive(Clone, Copy, Debug)]
pub(super) struct FaultBeforeClosing {
    closed_unasked: Run,
    undrained: Run,
    precharging: Run,
    main: bool,
    precharge: bool,
}

impl Default for FaultBeforeClosing {
    fn default() -> Self {
        Self {
            closed_unasked: Run::NEVER,
            undrained: Run::NEVER,
            precharging: Run::NEVER,
            main: false,
            precharge: false,
        }
    }
}

impl Rule for FaultBeforeClosing {
    const ID: &'static str = "SR-21";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let drive = &now.frame.outputs.drives.bus;
        let bus = &now.frame.truth.bus;
        let welded = self.closed_unasked.ticks() > WELDED && bus.main_closed;
        let undrained = self.undrained.ticks() > DISCHARGE && bus.voltage > now.limits.high_voltage;
        let closes = (drive.main && !self.main) || (drive.precharge && !self.precharge);
        let open = !drive.main && !drive.precharge;
        self.closed_unasked.feed(!drive.main && bus.main_closed);
        self.undrained
            .feed(open && now.frame.powered && bus.voltage > now.limits.high_voltage);
        let precharging = self.precharging.feed(drive.precharge);
        self.main = drive.main;
        self.precharge = drive.precharge;
        if closes && welded {
            return Finding::broken("the bus was closed although the main contactor is welded");
        }
        if closes && undrained {
            return Finding::measured(
                "the bus was closed although its discharge had failed",
                bus.voltage,
                "V",
            );
        }
        if closes
            && !now
                .frame
                .outputs
                .indications
                .faults
                .is_disjoint(forbids_closing())
        {
            return Finding::broken("the bus was closed on a latched bus fault");
        }
        if precharging > PRECHARGE {
            return Finding::measured("a pre-charge did not end", bus.voltage, "V");
        }
        Finding::held_if(closes || welded || undrained)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, holds, judge, stowed, with};
    use crate::oracle::verdict::Outcome;

    fn at(voltage: f64) -> Frame {
        with(&stowed(), |f| {
            f.truth.bus.voltage = voltage;
            f.truth.bus.source = 400.0;
        })
    }

    fn closing(frame: &Frame) -> Frame {
        with(frame, |f| f.outputs.drives.bus.main = true)
    }

    fn precharging(frame: &Frame) -> Frame {
        with(frame, |f| f.outputs.drives.bus.precharge = true)
    }

    #[test]
    fn a_surge_over_the_limit_is_a_hazard() {
        let surge = |amps| with(&at(0.0), |f| f.truth.bus.inrush = amps);
        assert!(breaks("HZ-4", &[(1, &surge(2000.0))]));
        assert!(holds("HZ-4", &[(1, &surge(8.0))]));
    }

    #[test]
    fn a_live_bus_shown_dead_is_a_hazard_after_the_age_of_a_sample() {
        let shown = |volts| with(&at(volts), |f| f.outputs.indications.bus_dead = true);
        assert!(holds("HZ-7", &[(100, &shown(59.0)), (15, &shown(70.0))]));
        assert!(breaks("HZ-7", &[(100, &shown(59.0)), (16, &shown(70.0))]));
        assert_eq!(judge("HZ-7", &[(100, &at(400.0))]), Outcome::NotExercised);
    }

    #[test]
    fn closing_needs_pre_charge_and_a_source() {
        assert!(breaks(
            "SR-04",
            &[(9, &at(355.0)), (1, &closing(&at(355.0)))]
        ));
        assert!(holds(
            "SR-04",
            &[(9, &at(380.0)), (1, &closing(&at(380.0)))]
        ));
        let sourceless = with(&at(0.0), |f| f.truth.bus.source = 0.0);
        assert!(breaks("SR-04", &[(1, &closing(&sourceless))]));
    }

    #[test]
    fn closing_and_pre_charge_need_insulation() {
        let leaking = |volts| with(&at(volts), |f| f.truth.bus.insulation = 100e3);
        assert!(breaks("SR-04", &[(1, &closing(&leaking(390.0)))]));
        assert!(breaks("SR-04", &[(1, &precharging(&leaking(0.0)))]));
        let sound = at(390.0);
        assert!(holds(
            "SR-04",
            &[
                (9, &sound),
                (14, &leaking(390.0)),
                (1, &closing(&leaking(390.0)))
            ]
        ));
    }

    #[test]
    fn a_bus_that_stays_live_after_opening_needs_an_alert() {
        let live = at(300.0);
        assert!(holds("SR-18", &[(350, &live)]));
        assert!(breaks("SR-18", &[(351, &live)]));
        let told = with(&live, |f| {
            f.outputs.indications.faults = Fault::DischargeFailed.into();
        });
        assert!(holds("SR-18", &[(300, &live), (500, &told)]));
        let dark = with(&live, |f| f.powered = false);
        assert!(!breaks("SR-18", &[(1000, &dark), (340, &live)]));
        assert!(!breaks("SR-18", &[(300, &live), (100, &at(50.0))]));
        let shown = with(&live, |f| f.outputs.indications.bus_dead = true);
        assert!(breaks("SR-18", &[(16, &shown)]));
    }

    #[test]
    fn a_welded_contactor_must_be_found_before_the_next_closing() {
        let welded = with(&at(20.0), |f| f.truth.bus.main_closed = true);
        assert!(holds("SR-21", &[(500, &welded)]));
        assert!(breaks(
            "SR-21",
            &[(51, &welded), (1, &precharging(&welded))]
        ));
        assert!(!breaks(
            "SR-21",
            &[(5, &welded), (9, &at(20.0)), (1, &precharging(&at(20.0)))]
        ));
    }

    #[test]
    fn nothing_closes_after_a_failed_discharge_or_on_a_latched_bus_fault() {
        let live = at(300.0);
        assert!(breaks("SR-21", &[(351, &live), (1, &precharging(&live))]));
        assert!(holds("SR-21", &[(340, &live), (1, &precharging(&live))]));
        let latched = with(&at(0.0), |f| {
            f.outputs.indications.faults = Fault::PrechargeFailed.into();
        });
        assert!(breaks(
            "SR-21",
            &[(9, &latched), (1, &precharging(&latched))]
        ));
    }

    #[test]
    fn a_pre_charge_without_end_is_caught() {
        let endless = precharging(&at(100.0));
        assert!(holds("SR-21", &[(9, &at(0.0)), (600, &endless)]));
        assert!(breaks("SR-21", &[(9, &at(0.0)), (601, &endless)]));
    }
}
