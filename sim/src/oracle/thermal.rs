//! Heat of motor, motor controller and packs: HZ-5, SR-10.

use mastwright_core::outputs::{Fans, Motor};
use mastwright_core::signal::Age;
use mastwright_core::{Fault, Faults, Inputs, Outputs};

use super::Rule;
use super::limits::{Heat, Limits, REACTION, SECOND};
use super::moment::{Moment, Run};
use super::verdict::Finding;
use crate::plant::truth::Truth;

/// Each heated part's temperature, limits, and the alerts that warn of it.
#[inline]
fn parts<'a>(truth: &Truth, limits: &'a Limits) -> [(f64, &'a Heat, Fault); 3] {
    let pack = truth.packs[0].temperature.max(truth.packs[1].temperature);
    [
        (truth.motor_temperature, &limits.motor, Fault::MotorHot),
        (
            truth.controller_temperature,
            &limits.controller,
            Fault::ControllerHot,
        ),
        (pack, &limits.pack, Fault::PackHot),
    ]
}

/// HZ-5. Met while a part is hotter than its alert limit.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Damage;

impl Rule for Damage {
    const ID: &'static str = "HZ-5";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let mut hot = false;
        for (temperature, heat, _) in parts(&now.frame.truth, now.limits) {
            if temperature > heat.damage {
                return Finding::measured(
                    "a part was hotter than its damage limit",
                    temperature,
                    "deg C",
                );
            }
            hot |= temperature > heat.alert;
        }
        Finding::held_if(hot)
    }
}

/// Window over which the rise of the heat sink is judged, ticks: 10 s, early enough to
/// abandon a take-off.
const WINDOW: u32 = 10 * SECOND;
/// Fans switched on turn within this time, ticks: 11 s.
const SPIN_UP: u32 = 11 * SECOND;

/// A sample no older than this is heard: 100 ms.
const HEARD: Age = Age::new(10);

/// Alerts that tell the crew that cooling is not what it should be.
fn cooling_alerts() -> Faults {
    Fault::HeatingTooFast | Fault::FansFailed | Fault::TemperatureUnknown
}

/// True when thrust is commanded that is not noticeably reduced: above 900 permille.
fn full_thrust(outputs: &Outputs) -> bool {
    matches!(outputs.drives.motor, Motor::Thrust(share) if share.get() > 900)
}

/// True when the controller is told that the fans stand still.
fn told_still(inputs: &Inputs) -> bool {
    inputs
        .thermal
        .fans_turning
        .proves(HEARD, |turning| !turning)
}

/// SR-10. Met while a part is hotter than its alert limit, while fans switched on are told
/// to stand still (standing fans harm by heat alone, which the two other parts judge in
/// truth), and when the heat sink has risen faster than cooling explains.
#[derive(Clone, Copy, Debug)]
pub(super) struct HeatAlert {
    hot: [Run; 3],
    too_hot: Run,
    not_reduced: Run,
    fans_still: Run,
    window: u32,
    window_start: f64,
}

impl Default for HeatAlert {
    fn default() -> Self {
        Self {
            hot: [Run::NEVER; 3],
            too_hot: Run::NEVER,
            not_reduced: Run::NEVER,
            fans_still: Run::NEVER,
            window: 0,
            window_start: f64::INFINITY,
        }
    }
}

impl HeatAlert {
    /// True when the window that ends now shows a rise no working cooling explains.
    #[inline]
    fn rose(&mut self, now: &Moment<'_>) -> bool {
        if self.window > 0 {
            self.window -= 1;
            return false;
        }
        let temperature = now.frame.truth.controller_temperature;
        let rise = temperature - self.window_start;
        self.window = WINDOW - 1;
        self.window_start = temperature;
        rise > now.limits.heating
    }
}

impl Rule for HeatAlert {
    const ID: &'static str = "SR-10";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let faults = now.frame.outputs.indications.faults;
        let awake = now.awake();
        let mut met = false;
        let mut too_hot = false;
        let mut rather_hot = false;
        for ((temperature, heat, own), run) in parts(&now.frame.truth, now.limits)
            .into_iter()
            .zip(&mut self.hot)
        {
            let hot = awake && temperature > heat.alert;
            met |= hot;
            too_hot |= temperature > heat.stop;
            rather_hot |= temperature > 0.5 * (heat.alert + heat.stop);
            if run.feed(hot) > REACTION && faults.is_disjoint(cooling_alerts() | own) {
                return Finding::measured(
                    "a part was hot and no alert said so",
                    temperature,
                    "deg C",
                );
            }
        }
        if self.too_hot.feed(too_hot && now.thrust) > REACTION {
            return Finding::broken("thrust went on although a part was too hot for it");
        }
        if self
            .not_reduced
            .feed(rather_hot && full_thrust(&now.frame.outputs))
            > REACTION
        {
            return Finding::broken("thrust was not reduced although a part was hot");
        }
        let fans_still = awake
            && matches!(now.frame.outputs.drives.fans, Fans::On)
            && told_still(&now.frame.inputs);
        if self.fans_still.feed(fans_still) > SPIN_UP && faults.is_disjoint(cooling_alerts()) {
            return Finding::broken("the fans did not turn and no alert said so");
        }
        let rose = self.rose(now) && awake;
        if rose && faults.is_disjoint(cooling_alerts() | Fault::ControllerHot) {
            return Finding::broken("the heat sink rose faster than cooling explains, unalerted");
        }
        Finding::held_if(met || fans_still || rose)
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::signal::Signal;
    use mastwright_core::units::Permille;

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, holds, locked, stowed, thrusting, with};

    fn controller(temperature: f64) -> Frame {
        with(&stowed(), |f| f.truth.controller_temperature = temperature)
    }

    fn told(frame: &Frame, fault: Fault) -> Frame {
        with(frame, |f| f.outputs.indications.faults = fault.into())
    }

    #[test]
    fn each_part_over_its_damage_limit_is_a_hazard() {
        let motor = |t| with(&stowed(), |f| f.truth.motor_temperature = t);
        let pack = |t| with(&stowed(), |f| f.truth.packs[1].temperature = t);
        assert!(breaks("HZ-5", &[(1, &motor(151.0))]));
        assert!(breaks("HZ-5", &[(1, &controller(111.0))]));
        assert!(breaks("HZ-5", &[(1, &pack(66.0))]));
        for hot in [motor(149.0), controller(109.0), pack(64.0)] {
            assert!(holds("HZ-5", &[(1, &hot)]));
        }
    }

    #[test]
    fn a_hot_part_needs_an_alert_of_its_own_or_of_its_cooling() {
        let hot = controller(85.0);
        assert!(breaks("SR-10", &[(200, &hot)]));
        assert!(holds("SR-10", &[(200, &told(&hot, Fault::ControllerHot))]));
        assert!(holds("SR-10", &[(200, &told(&hot, Fault::FansFailed))]));
        assert!(breaks("SR-10", &[(200, &told(&hot, Fault::PackHot))]));
    }

    #[test]
    fn thrust_ends_before_a_part_is_damaged() {
        let hot = |t| {
            let mut frame = with(&locked(), |f| f.truth.controller_temperature = t);
            frame.outputs.drives.motor = Motor::Thrust(Permille::new(100));
            told(&frame, Fault::ControllerHot)
        };
        assert!(holds("SR-10", &[(200, &hot(99.0))]));
        assert!(holds("SR-10", &[(150, &hot(99.0)), (15, &hot(101.0))]));
        assert!(breaks("SR-10", &[(150, &hot(99.0)), (16, &hot(101.0))]));
    }

    #[test]
    fn thrust_is_reduced_half_way_from_the_alert_to_the_stop() {
        let hot = |t| {
            let frame = with(&locked(), |f| f.truth.motor_temperature = t);
            told(&thrusting(frame), Fault::MotorHot)
        };
        assert!(holds("SR-10", &[(500, &hot(124.0))]));
        assert!(holds("SR-10", &[(150, &hot(124.0)), (15, &hot(126.0))]));
        assert!(breaks("SR-10", &[(150, &hot(124.0)), (16, &hot(126.0))]));
    }

    #[test]
    fn fans_that_are_on_and_still_need_an_alert() {
        let still = with(&stowed(), |f| {
            f.inputs.thermal.fans_turning = Signal::fresh(false);
        });
        assert!(holds("SR-10", &[(1200, &still)]));
        assert!(breaks("SR-10", &[(1210, &still)]));
        assert!(holds("SR-10", &[(1210, &told(&still, Fault::FansFailed))]));
    }

    #[test]
    fn a_rise_no_cooling_explains_needs_an_alert() {
        let before = controller(30.0);
        let after = controller(50.0);
        assert!(breaks("SR-10", &[(500, &before), (501, &after)]));
        assert!(holds(
            "SR-10",
            &[(500, &before), (501, &told(&after, Fault::HeatingTooFast))]
        ));
        let slower = controller(40.0);
        assert!(!breaks("SR-10", &[(500, &before), (501, &slower)]));
    }
}
