//! The table refuses what it must, and says why.

use super::*;
use crate::units::{CentiDegrees, Permille};

#[test]
fn the_defaults_validate() {
    assert_eq!(
        Config::new(Settings::default()),
        Ok(Config::default()),
        "a default outside its own range"
    );
}

#[test]
fn a_value_out_of_range_is_refused_by_name_with_its_range() {
    let settings = Settings {
        precharge_share: Permille::new(700),
        ..Settings::default()
    };
    let refusal = Config::new(settings).expect_err("700 permille must be refused");
    assert_eq!(
        std::format!("{refusal}"),
        "setting precharge_share is 700 permille: allowed are 900 to 990 permille"
    );
}

#[test]
fn values_that_contradict_each_other_are_refused_with_the_rule() {
    let settings = Settings {
        park_window: CentiDegrees::new(800),
        hold_capture: CentiDegrees::new(700),
        ..Settings::default()
    };
    assert_eq!(
        Config::new(settings),
        Err(Refusal::Contradiction {
            rule: "park_window must not exceed hold_capture"
        })
    );
}

#[test]
fn every_setting_has_a_meaning_and_a_default_in_its_range() {
    assert_eq!(
        Settings::FIELDS.len(),
        Settings::default().numbers().count()
    );
    for field in Settings::FIELDS {
        assert!(!field.meaning.trim().is_empty(), "{}", field.name);
        assert!(
            field.min <= field.default && field.default <= field.max,
            "{}",
            field.name
        );
    }
}

#[test]
fn every_setting_is_refused_by_name_just_outside_its_range_and_not_for_its_range_at_its_ends() {
    for field in Settings::FIELDS {
        let name = field.name;
        let given = |value| Settings::default().with(name, value).map(Config::new);
        for value in [field.min - 1, field.max + 1] {
            match given(value) {
                Some(answer) => assert_eq!(
                    answer,
                    Err(Refusal::OutOfRange { field, value }),
                    "{name} {value}"
                ),
                // Below zero, or beyond what its unit can hold.
                None => assert!(value < 0 || value > i32::from(u8::MAX), "{name} {value}"),
            }
        }
        for value in [field.min, field.max] {
            let answer = given(value).expect("the ends of a range can be said");
            assert!(
                !matches!(answer, Err(Refusal::OutOfRange { .. })),
                "{name} {value}"
            );
        }
    }
}

#[test]
fn every_time_must_be_a_whole_number_of_ticks() {
    let times = Settings::FIELDS.iter().filter(|field| field.unit == "ms");
    let mut tried = 0;
    for field in times {
        for value in [field.min + 1, field.max - 1] {
            let settings = Settings::default().with(field.name, value);
            let refused = Config::new(settings.expect("a setting and its value"));
            assert_eq!(refused, Err(Refusal::NotWholeTicks { field, value }));
        }
        tried += 1;
    }
    assert_ne!(tried, 0);
}

#[test]
fn every_rule_between_settings_can_be_broken_by_values_that_are_each_allowed() {
    let broken = |changes: &[(&str, i32)]| {
        let settings = changes
            .iter()
            .fold(Settings::default(), |settings, &(name, value)| {
                settings.with(name, value).expect("a setting and its value")
            });
        match Config::new(settings) {
            Err(Refusal::Contradiction { rule }) => rule,
            other => panic!("{changes:?}: {other:?}"),
        }
    };
    for (changes, rule) in [
        (
            &[("park_window", 800), ("hold_capture", 799)][..],
            "park_window must not",
        ),
        (
            &[("shaft_still", 10), ("creep_speed", 10)],
            "creep_speed must",
        ),
        (&[("shaft_slow", 15)], "shaft_slow must"),
        (
            &[("mast_clear_min", 950), ("mast_deployed_min", 950)],
            "mast_clear_min must",
        ),
        (&[("mast_stage_time", 15_990)], "mast_time must"),
        (&[("door_stage_time", 5_990)], "door_time must"),
        (&[("deployed_airspeed_max", 299)], "mast_airspeed_max must"),
        (&[("fans_off", 400)], "fans_off must"),
        (&[("motor_hot", 1_151)], "motor_hot, motor_derate"),
        (&[("motor_stop", 1_150)], "motor_hot, motor_derate"),
        (
            &[("controller_hot", 781)],
            "controller_hot, controller_derate",
        ),
        (
            &[("controller_stop", 780)],
            "controller_hot, controller_derate",
        ),
        (&[("pack_hot", 521)], "pack_hot, pack_derate"),
        (&[("pack_stop", 520)], "pack_hot, pack_derate"),
        (&[("aux_resume", 11_500)], "aux_low, aux_resume"),
        (
            &[("aux_resume", 13_800), ("aux_full", 13_800)],
            "aux_low, aux_resume",
        ),
        (
            &[("door_press", 200), ("overload_after", 200)],
            "door_press must",
        ),
        (
            &[("lock_proof", 200), ("overload_after", 200)],
            "lock_proof must",
        ),
        (
            &[("main_close_min", 50), ("main_close_time", 50)],
            "main_close_min must",
        ),
        (&[("discharge_time", 1_200)], "drain_min must"),
        (
            &[("charge_reserve", 50), ("charge_empty", 50)],
            "charge_empty must",
        ),
        (&[("bus_min", 290_001)], "pack_min..pack_max must"),
        (&[("bus_max", 464_999)], "pack_min..pack_max must"),
    ] {
        let told = broken(changes);
        assert!(told.starts_with(rule), "{changes:?}: {told}");
    }
}

#[test]
fn values_that_meet_a_rule_exactly_are_accepted() {
    for changes in [
        &[("park_window", 800), ("hold_capture", 800)][..],
        &[("mast_stage_time", 16_000)],
        &[("door_stage_time", 6_000)],
        &[("deployed_airspeed_max", 300)],
        &[("motor_hot", 1_150)],
        &[("controller_hot", 780)],
        &[("pack_hot", 520)],
        &[("bus_min", 290_000), ("bus_max", 465_000)],
    ] {
        let settings = changes
            .iter()
            .fold(Settings::default(), |settings, &(name, value)| {
                settings.with(name, value).expect("a setting and its value")
            });
        assert_eq!(Config::new(settings).map(|c| c.settings()), Ok(settings));
    }
}

#[test]
fn the_bound_of_a_stow_is_the_sum_of_its_stages() {
    // 8 s of power, 10 of braking, 10 of parking, 1 of standing, 22 of mast, 8 of doors.
    assert_eq!(Config::default().stow_bound(), 59_000);
}
