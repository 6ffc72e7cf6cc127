//! The heat warning by itself: no sequencer takes part (SR-22).
#![allow(clippy::expect_used)]

use mastwright_core::fault::Class;
use mastwright_core::heat_warning::{
    DETECTORS, Detector, Detectors, HeatInputs, HeatLimits, HeatOutputs, HeatSettings, HeatWarning,
    Test,
};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{DeciCelsius, Millis};

const COOL: i16 = 200;
const HOT: i16 = 950;
const TESTED: i16 = 1300;

fn at(temperatures: [i16; DETECTORS]) -> HeatInputs {
    HeatInputs {
        detectors: temperatures.map(|t| Signal::fresh(DeciCelsius::new(t))),
        test: Signal::fresh(false),
    }
}

fn pressed(temperatures: [i16; DETECTORS]) -> HeatInputs {
    HeatInputs {
        test: Signal::fresh(true),
        ..at(temperatures)
    }
}

fn silent(mut inputs: HeatInputs, detector: usize) -> HeatInputs {
    if let Some(signal) = inputs.detectors.get_mut(detector) {
        *signal = Signal::never();
    }
    inputs
}

/// Steps `ticks` times and returns what is said last.
fn run(unit: &mut HeatWarning, inputs: &HeatInputs, ticks: u16) -> HeatOutputs {
    let limits = HeatLimits::default();
    (0..ticks).fold(HeatOutputs::default(), |_, _| unit.step(inputs, &limits))
}

#[test]
fn the_defaults_validate() {
    assert_eq!(
        HeatLimits::new(HeatSettings::default()),
        Ok(HeatLimits::default())
    );
}

#[test]
fn limits_that_could_hide_heat_are_refused_with_the_rule() {
    for (settings, word) in [
        (
            HeatSettings {
                test_answer: DeciCelsius::new(600),
                ..HeatSettings::default()
            },
            "test_answer",
        ),
        (
            HeatSettings {
                cool: DeciCelsius::new(900),
                ..HeatSettings::default()
            },
            "must rise",
        ),
        (
            HeatSettings {
                confirm: Millis::new(100),
                ..HeatSettings::default()
            },
            "stale_after",
        ),
        (
            HeatSettings {
                confirm: Millis::new(2010),
                ..HeatSettings::default()
            },
            "2000 ms",
        ),
        (
            HeatSettings {
                confirm: Millis::new(505),
                ..HeatSettings::default()
            },
            "multiples of 10 ms",
        ),
        (
            HeatSettings {
                test_time: Millis::new(1001),
                ..HeatSettings::default()
            },
            "multiples of 10 ms",
        ),
    ] {
        let refusal = HeatLimits::new(settings).expect_err(word);
        assert!(format!("{refusal}").contains(word), "{refusal}");
    }
}

#[test]
fn one_hot_detector_of_four_warns_after_its_confirmation_time_and_not_before() {
    for hot in 0..DETECTORS {
        let temperatures: [i16; DETECTORS] =
            std::array::from_fn(|i| if i == hot { HOT } else { COOL });
        let mut unit = HeatWarning::default();
        let before = run(&mut unit, &at(temperatures), 49);
        assert!(!before.sounding && before.hot.is_empty());
        let after = run(&mut unit, &at(temperatures), 1);
        assert!(after.sounding);
        assert_eq!(
            after.hot,
            Detectors::only(*Detector::ALL.get(hot).expect("four detectors"))
        );
        assert_eq!(
            (after.class(), after.words()),
            (Some(Class::Warning), "heat")
        );
    }
}

#[test]
fn four_cool_detectors_never_sound() {
    let mut unit = HeatWarning::default();
    let out = run(&mut unit, &at([COOL; 4]), 1000);
    assert_eq!(out, HeatOutputs::default());
    assert_eq!(out.class(), None);
}

#[test]
fn a_detector_destroyed_while_it_warns_goes_on_warning() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([COOL, HOT, COOL, COOL]), 60);
    let out = run(&mut unit, &silent(at([COOL; 4]), 1), 1000);
    assert!(out.sounding);
    assert_eq!(out.hot, Detectors::only(Detector::Two));
    assert_eq!(out.lost, Detectors::only(Detector::Two));
}

#[test]
fn a_detector_destroyed_before_it_is_confirmed_still_warns() {
    let mut unit = HeatWarning::default();
    assert!(!run(&mut unit, &at([COOL, HOT, COOL, COOL]), 3).sounding);
    assert!(run(&mut unit, &silent(at([COOL; 4]), 1), 60).sounding);
}

#[test]
fn the_warning_ends_only_by_a_proven_cool_reading_that_lasts() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([HOT, COOL, COOL, COOL]), 60);
    let between = run(&mut unit, &at([850, COOL, COOL, COOL]), 1000);
    assert!(between.sounding, "neither hot nor cool ends nothing");
    assert!(run(&mut unit, &at([COOL; 4]), 49).sounding);
    assert!(!run(&mut unit, &at([COOL; 4]), 1).sounding);
}

#[test]
fn a_reading_that_flickers_about_the_limit_still_warns() {
    let mut unit = HeatWarning::default();
    let mut sounding = false;
    for temperature in [HOT, 850].into_iter().cycle().take(200) {
        sounding |= run(&mut unit, &at([temperature, COOL, COOL, COOL]), 1).sounding;
    }
    assert!(sounding);
}

#[test]
fn a_lost_detector_is_an_advisory_and_makes_no_noise() {
    let mut unit = HeatWarning::default();
    let out = run(&mut unit, &silent(at([COOL; 4]), 3), 100);
    assert_eq!(out.lost, Detectors::only(Detector::Four));
    assert_eq!(out.class(), Some(Class::Advisory));
    assert!(!out.sounding);
}

#[test]
fn a_reading_too_cold_to_be_true_is_a_lost_detector_not_a_cool_one() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([COOL, COOL, HOT, COOL]), 60);
    let out = run(&mut unit, &at([COOL, COOL, -2000, COOL]), 1000);
    assert_eq!(out.lost, Detectors::only(Detector::Three));
    assert!(out.sounding, "a broken wire must not end a warning");
}

#[test]
fn a_stale_or_invalid_reading_starts_no_warning() {
    let mut unit = HeatWarning::default();
    let mut inputs = at([COOL; 4]);
    inputs.detectors = [
        Signal::aged(DeciCelsius::new(HOT), Age::new(11)),
        Signal::fresh(DeciCelsius::new(HOT)).invalidated(),
        Signal::never(),
        Signal::fresh(DeciCelsius::new(COOL)),
    ];
    let out = run(&mut unit, &inputs, 1000);
    assert!(!out.sounding);
    assert_eq!(out.lost, Detector::One | Detector::Two | Detector::Three);
}

#[test]
fn the_horn_sounds_from_the_first_tick_of_a_test_to_the_last() {
    let mut unit = HeatWarning::default();
    assert!(run(&mut unit, &pressed([TESTED; 4]), 1).sounding);
    assert!(run(&mut unit, &pressed([TESTED; 4]), 500).sounding);
    let out = run(&mut unit, &at([COOL; 4]), 1);
    assert!(!out.sounding && out.hot.is_empty());
    assert_eq!(
        out.tested,
        Test::Done {
            answered: Detectors::all()
        }
    );
    assert_eq!(out.class(), None);
}

#[test]
fn a_test_tells_which_detector_is_dead_though_its_reading_looks_healthy() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([TESTED, TESTED, COOL, TESTED]), 150);
    let out = run(&mut unit, &at([COOL; 4]), 1);
    assert_eq!(out.lost, Detectors::empty());
    assert_eq!(out.tested.dead(), Detectors::only(Detector::Three));
    assert_eq!(out.class(), Some(Class::Advisory));
}

#[test]
fn detectors_that_answer_one_after_another_have_all_answered() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([TESTED, TESTED, COOL, COOL]), 75);
    run(&mut unit, &pressed([COOL, COOL, TESTED, COOL]), 75);
    let out = run(&mut unit, &at([COOL; 4]), 1);
    assert_eq!(out.tested.dead(), Detectors::only(Detector::Four));
}

#[test]
fn a_detector_that_is_merely_hot_does_not_answer_the_test() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([HOT, TESTED, TESTED, TESTED]), 150);
    let out = run(&mut unit, &at([HOT, COOL, COOL, COOL]), 60);
    assert_eq!(out.hot, Detectors::only(Detector::One));
    assert_eq!(out.tested.dead(), Detectors::only(Detector::One));
    assert!(out.sounding);
}

#[test]
fn a_test_let_go_too_early_says_nothing() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([TESTED; 4]), 99);
    let out = run(&mut unit, &at([COOL; 4]), 1);
    assert_eq!(
        (out.tested, out.tested.dead()),
        (Test::TooShort, Detectors::empty())
    );
}

#[test]
fn a_reading_left_over_from_the_test_raises_no_alarm() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([TESTED; 4]), 150);
    let mut inputs = at([TESTED; 4]);
    for age in 1..=10 {
        inputs.detectors = inputs.detectors.map(|signal| signal.older());
        assert!(!run(&mut unit, &inputs, 1).sounding, "age {age}");
    }
    assert!(!run(&mut unit, &at([COOL; 4]), 100).sounding);
}

#[test]
fn a_test_neither_ends_nor_hides_a_warning() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([COOL, HOT, COOL, COOL]), 60);
    let during = run(&mut unit, &pressed([TESTED; 4]), 150);
    assert_eq!(during.hot, Detectors::only(Detector::Two));
    let after = run(&mut unit, &at([COOL, HOT, COOL, COOL]), 1);
    assert!(after.sounding);
    assert_eq!(after.hot, Detectors::only(Detector::Two));
}

#[test]
fn a_detector_lost_before_its_cool_reading_has_lasted_goes_on_warning() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([COOL, HOT, COOL, COOL]), 60);
    run(&mut unit, &at([COOL; 4]), 49);
    assert!(run(&mut unit, &silent(at([COOL; 4]), 1), 1000).sounding);
}

#[test]
fn a_test_adds_nothing_to_the_time_a_detector_must_be_cool() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &at([COOL, HOT, COOL, COOL]), 60);
    run(&mut unit, &at([COOL; 4]), 49);
    run(&mut unit, &pressed([TESTED; 4]), 1);
    assert!(run(&mut unit, &at([COOL; 4]), 49).sounding);
    assert!(!run(&mut unit, &at([COOL; 4]), 1).sounding);
}

#[test]
fn a_short_test_after_a_long_one_is_short_all_the_same() {
    let mut unit = HeatWarning::default();
    run(&mut unit, &pressed([TESTED; 4]), 150);
    run(&mut unit, &at([COOL; 4]), 1);
    run(&mut unit, &pressed([TESTED; 4]), 10);
    assert_eq!(run(&mut unit, &at([COOL; 4]), 1).tested, Test::TooShort);
}
