//! Tests of the module above, by itself.

use super::*;

const LIMITS: Limits = Limits {
    hot: DeciCelsius::new(750),
    derate: DeciCelsius::new(780),
    stop: DeciCelsius::new(950),
    fault: Fault::ControllerHot,
};

#[test]
fn thrust_falls_from_whole_to_none_between_derating_and_stop() {
    let allowed_at = |deci| allowed(DeciCelsius::new(deci), &LIMITS).get();
    assert_eq!(allowed_at(779), 1000);
    assert_eq!(allowed_at(865), 500);
    assert_eq!(allowed_at(950), 0);
    assert_eq!(allowed_at(i16::MAX), 0);
    assert_eq!(allowed_at(i16::MIN), 1000);
}

fn faults_after_heating_by(deci_per_second: i16) -> Faults {
    let config = Config::default();
    let mut thermal = Thermal::default();
    let mut seen = Faults::empty();
    for tick in 0..1200_i16 {
        let mut inputs = Inputs::default();
        let temperature = 400 + tick / 10 * deci_per_second / 10;
        inputs.thermal.controller = Signal::fresh(DeciCelsius::new(temperature));
        inputs.thermal.fans_turning = Signal::fresh(true);
        let mut proven = Conditions::empty();
        thermal.observe(&inputs, &config, &mut proven, &mut seen);
    }
    seen
}

#[test]
fn heating_that_working_fans_cannot_explain_is_told_before_it_is_hot() {
    let seen = faults_after_heating_by(12);
    assert!(seen.contains(Fault::HeatingTooFast));
    assert!(!seen.contains(Fault::ControllerHot));
}

#[test]
fn heating_that_working_fans_explain_is_not_told() {
    assert!(!faults_after_heating_by(5).contains(Fault::HeatingTooFast));
}

#[test]
fn an_unknown_temperature_limits_thrust_and_runs_the_fans() {
    let config = Config::default();
    let mut thermal = Thermal::default();
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    let limit = thermal.observe(&Inputs::default(), &config, &mut proven, &mut active);
    assert_eq!(limit, config.unknown_temperature_limit);
    assert_eq!(thermal.fans(), Fans::On);
}

/// Everything cool and turning; tests change what they are about.
fn cool() -> Inputs {
    let mut inputs = Inputs::default();
    inputs.thermal.motor = Signal::fresh(DeciCelsius::new(200));
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(200));
    inputs.thermal.fans_turning = Signal::fresh(true);
    for pack in &mut inputs.packs {
        pack.temperature = Signal::fresh(DeciCelsius::new(200));
    }
    inputs
}

/// Observes the same inputs for some ticks; limit, proofs and faults of the last.
fn observed(thermal: &mut Thermal, inputs: &Inputs, ticks: u32) -> (i16, Conditions, Faults) {
    let mut last = (0, Conditions::empty(), Faults::empty());
    for _ in 0..ticks {
        let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
        let limit = thermal.observe(inputs, &Config::default(), &mut proven, &mut active);
        last = (limit.get(), proven, active);
    }
    last
}

#[test]
fn each_temperature_alerts_from_its_own_limit_on() {
    type Set = fn(&mut Inputs, i16);
    let sources: [(Set, i16, Fault); 4] = [
        (
            |i, t| i.thermal.motor = Signal::fresh(DeciCelsius::new(t)),
            1_100,
            Fault::MotorHot,
        ),
        (
            |i, t| i.thermal.controller = Signal::fresh(DeciCelsius::new(t)),
            750,
            Fault::ControllerHot,
        ),
        (
            |i, t| i.packs[0].temperature = Signal::fresh(DeciCelsius::new(t)),
            500,
            Fault::PackHot,
        ),
        (
            |i, t| i.packs[1].temperature = Signal::fresh(DeciCelsius::new(t)),
            500,
            Fault::PackHot,
        ),
    ];
    for (set, hot, fault) in sources {
        let mut inputs = cool();
        set(&mut inputs, hot - 1);
        let (limit, proven, active) = observed(&mut Thermal::default(), &inputs, 1);
        assert_eq!((limit, active), (1000, Faults::empty()), "{fault:?}");
        assert!(proven.contains(Condition::CoolEnough));
        set(&mut inputs, hot);
        let (_, _, active) = observed(&mut Thermal::default(), &inputs, 1);
        assert_eq!(active, Faults::only(fault));
    }
}

#[test]
fn the_hottest_part_decides_the_limit_and_the_stop_temperature_ends_thrust() {
    let mut inputs = cool();
    inputs.thermal.motor = Signal::fresh(DeciCelsius::new(1_225));
    assert_eq!(observed(&mut Thermal::default(), &inputs, 1).0, 500);
    inputs.packs[1].temperature = Signal::fresh(DeciCelsius::new(580));
    assert_eq!(observed(&mut Thermal::default(), &inputs, 1).0, 250);
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(950));
    let (limit, proven, _) = observed(&mut Thermal::default(), &inputs, 1);
    assert_eq!(limit, 0);
    assert!(!proven.contains(Condition::CoolEnough));
}

#[test]
fn a_temperature_that_is_lost_is_told_after_a_while() {
    let mut inputs = cool();
    inputs.packs[0].temperature = inputs.packs[0].temperature.invalidated();
    let (limit, _, active) = observed(&mut Thermal::default(), &inputs, 9);
    assert_eq!((limit, active), (500, Faults::empty()));
    let (_, _, active) = observed(&mut Thermal::default(), &inputs, 10);
    assert_eq!(active, Faults::only(Fault::TemperatureUnknown));
}

#[test]
fn the_fans_start_at_one_temperature_and_stop_at_a_lower_one() {
    let mut thermal = Thermal::default();
    let mut at = |deci: i16| {
        let mut inputs = cool();
        inputs.thermal.controller = Signal::fresh(DeciCelsius::new(deci));
        observed(&mut thermal, &inputs, 1);
        thermal.fans()
    };
    assert_eq!(at(350), Fans::Off);
    assert_eq!(at(399), Fans::Off);
    assert_eq!(at(400), Fans::On);
    assert_eq!(at(399), Fans::On);
    assert_eq!(at(351), Fans::On);
    assert_eq!(at(350), Fans::Off);
}

#[test]
fn fans_that_do_not_turn_are_told_once_they_had_time_to_spin_up_and_resting_ones_never() {
    let mut inputs = cool();
    inputs.thermal.fans_turning = Signal::fresh(false);
    let (_, _, active) = observed(&mut Thermal::default(), &inputs, 500);
    assert_eq!(active, Faults::empty(), "they rest");
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(450));
    let (_, _, active) = observed(&mut Thermal::default(), &inputs, 199);
    assert_eq!(active, Faults::empty());
    let (_, _, active) = observed(&mut Thermal::default(), &inputs, 200);
    assert_eq!(active, Faults::only(Fault::FansFailed));
    inputs.thermal.fans_turning = Signal::fresh(true);
    let (_, _, active) = observed(&mut Thermal::default(), &inputs, 500);
    assert_eq!(active, Faults::empty());
}

/// Faults of the tick in which a window of heating is judged, `rise` after it began.
fn after_a_window(from: i16, rise: i16) -> Faults {
    let mut thermal = Thermal::default();
    let mut inputs = cool();
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(from));
    observed(&mut thermal, &inputs, 1);
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(from + rise));
    let (_, _, early) = observed(&mut thermal, &inputs, 499);
    assert_eq!(early, Faults::empty(), "before the window is over");
    observed(&mut thermal, &inputs, 1).2
}

#[test]
fn heating_is_judged_over_a_whole_window_and_only_where_the_fans_run() {
    let too_fast = Faults::only(Fault::HeatingTooFast);
    assert_eq!(after_a_window(400, 40), too_fast);
    assert_eq!(after_a_window(400, 39), Faults::empty());
    assert_eq!(
        after_a_window(402, 38),
        too_fast,
        "the reference is on its grid"
    );
    assert_eq!(
        after_a_window(399, 60),
        Faults::empty(),
        "fans off at first"
    );
}
