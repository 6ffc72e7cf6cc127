//! Each proof up to its limit, each stage up to its time, and what each stage asks for.

use super::*;

/// What one set of readings proves in the stage a new bus begins in.
fn proven(sensors: &BusSensors) -> Conditions {
    let config = Config::default();
    let shown = packs::Shown {
        candidates: [true, true],
        any_joined: true,
        reference: Some(PACK),
        joined: None,
    };
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    Bus::unknown(&config).observe(sensors, shown, &config, &mut proven, &mut active);
    proven
}

fn at_rest() -> BusSensors {
    BusSensors {
        voltage: Signal::fresh(Millivolts::new(200_000)),
        current: Signal::fresh(Milliamps::new(5_000)),
        insulation: Signal::fresh(KiloOhms::new(100)),
        main_feedback: Signal::fresh(false).invalidated(),
    }
}

#[test]
fn each_reading_proves_its_own_condition_up_to_its_limit() {
    assert_eq!(proven(&at_rest()), Conditions::empty());
    let volts = |millivolts| {
        proven(&BusSensors {
            voltage: Signal::fresh(Millivolts::new(millivolts)),
            ..at_rest()
        })
    };
    assert_eq!(volts(59_999), Conditions::only(Condition::BusDead));
    assert_eq!(volts(60_000), Conditions::empty());
    assert_eq!(volts(379_999), Conditions::empty());
    assert_eq!(volts(380_000), Conditions::only(Condition::Precharged));

    let amps = |milliamps| {
        proven(&BusSensors {
            current: Signal::fresh(Milliamps::new(milliamps)),
            ..at_rest()
        })
    };
    let faded = Conditions::only(Condition::InrushFaded);
    assert_eq!((amps(700), amps(701)), (faded, Conditions::empty()));
    assert_eq!((amps(-700), amps(-701)), (faded, Conditions::empty()));

    let kiloohms = |value| {
        proven(&BusSensors {
            insulation: Signal::fresh(KiloOhms::new(value)),
            ..at_rest()
        })
    };
    assert_eq!(kiloohms(200), Conditions::only(Condition::InsulationOk));
    assert_eq!(kiloohms(199), Conditions::empty());

    let contact = |closed| {
        proven(&BusSensors {
            main_feedback: Signal::fresh(closed),
            ..at_rest()
        })
    };
    assert_eq!(contact(false), Conditions::only(Condition::MainOpen));
    assert_eq!(contact(true), Conditions::only(Condition::MainClosed));
}

/// True when a bus in use, a pack joined, is proven live by these readings.
fn is_live(voltage: Option<i32>, contact: Option<bool>, reference: Option<Millivolts>) -> bool {
    is_live_from(true, voltage, contact, reference)
}

fn is_live_from(
    any_joined: bool,
    voltage: Option<i32>,
    contact: Option<bool>,
    reference: Option<Millivolts>,
) -> bool {
    let config = Config::default();
    let mut rig = Rig::live();
    let sensors = BusSensors {
        voltage: voltage.map_or_else(Signal::never, |v| Signal::fresh(Millivolts::new(v))),
        main_feedback: contact.map_or_else(Signal::never, Signal::fresh),
        ..at_rest()
    };
    let shown = packs::Shown {
        candidates: [true, true],
        any_joined,
        reference,
        joined: reference,
    };
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    rig.bus
        .observe(&sensors, shown, &config, &mut proven, &mut active);
    proven.contains(Condition::BusLive)
}

#[test]
fn a_bus_in_use_is_live_by_a_voltage_in_range_or_by_two_other_witnesses() {
    assert!(is_live(Some(280_000), None, None) && !is_live(Some(279_999), None, None));
    assert!(is_live(Some(470_000), None, None) && !is_live(Some(470_001), None, None));
    assert!(is_live(None, Some(true), Some(PACK)));
    assert!(!is_live(None, Some(false), Some(PACK)));
    assert!(!is_live(None, None, Some(PACK)));
    assert!(!is_live(None, Some(true), None));
}

#[test]
fn a_bus_that_no_pack_is_joined_to_is_not_proven_live_whatever_its_voltage() {
    let full = Some(PACK.get());
    assert!(is_live_from(true, full, Some(true), Some(PACK)));
    assert!(!is_live_from(false, full, Some(true), Some(PACK)));
    assert!(!is_live_from(false, None, Some(true), Some(PACK)));
}

#[test]
fn a_bus_that_is_not_in_use_is_never_live_whatever_its_voltage() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Closing);
    let live = proven(&BusSensors {
        voltage: Signal::fresh(PACK),
        main_feedback: Signal::fresh(true),
        ..at_rest()
    });
    assert!(!live.contains(Condition::BusLive));
}

#[test]
fn only_current_out_of_the_packs_counts_as_drawn() {
    let drawn = |milliamps| {
        let sensors = BusSensors {
            current: Signal::fresh(Milliamps::new(milliamps)),
            ..at_rest()
        };
        let shown = packs::Shown {
            candidates: [true, true],
            any_joined: false,
            reference: Some(PACK),
            joined: None,
        };
        Reading::of(&sensors, shown, &Config::default()).draws_more_than(Milliamps::new(15_000))
    };
    assert!(drawn(15_001) && !drawn(15_000) && !drawn(-20_000));
}

#[test]
fn while_it_waits_the_bus_asks_for_what_it_waits_for() {
    let mut rig = Rig::new();
    rig.tick(false);
    assert_eq!((rig.bus.stage(), rig.asked), (Stage::Draining, None));
    rig.tick(true);
    assert_eq!(rig.asked, Some(Permission::Precharge));
    rig.until(true, Stage::Checking);
    rig.tick(true);
    assert_eq!(rig.asked, Some(Permission::Precharge));
    rig.until(true, Stage::Precharging);
    rig.charges = false;
    for _ in 0..149 {
        rig.tick(true);
        assert_eq!(rig.asked, None, "a pre-charge takes its time");
    }
    rig.tick(true);
    assert_eq!(rig.asked, Some(Permission::CloseMain));
    assert_eq!(rig.bus.stage(), Stage::Draining);
    assert_eq!(rig.seen, Faults::only(Fault::PrechargeFailed));

    let mut rig = Rig::live();
    rig.tick(true);
    assert_eq!(rig.asked, None);
}

#[test]
fn a_dead_bus_waits_until_it_is_wanted_and_drains_when_it_is_no_longer_dead() {
    let mut rig = Rig::new();
    rig.until(false, Stage::Dead);
    rig.run(false, 50);
    rig.tick_towards(None);
    assert_eq!(rig.bus.stage(), Stage::Dead);
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Checking);

    let mut rig = Rig::new();
    rig.until(false, Stage::Dead);
    rig.volts = 100;
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Draining);
    assert!(rig.drive.discharge);
}

#[test]
fn a_closing_that_has_begun_is_given_up_when_nobody_wants_it_any_more() {
    for stage in [Stage::Checking, Stage::Precharging] {
        for wanted in [Some(false), None] {
            let mut rig = Rig::new();
            rig.until(true, stage);
            rig.tick_towards(wanted);
            assert_eq!(rig.bus.stage(), Stage::Draining, "{stage:?} {wanted:?}");
            assert!(!rig.drive.bus_is_fed(), "{stage:?} {wanted:?}");
        }
    }
}

#[test]
fn a_bus_that_proves_not_dead_while_it_is_checked_is_drained() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Checking);
    rig.volts = 60;
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Draining);
}

#[test]
fn the_check_lasts_its_whole_time() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Checking);
    rig.run(true, 19);
    assert_eq!(rig.bus.stage(), Stage::Checking);
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Precharging);
    assert!(rig.drive.bus_is_fed() && rig.drive.precharge && !rig.drive.main);
}

#[test]
fn each_stage_switches_what_it_is_there_for_and_nothing_else() {
    let packs = [true; 2];
    let mut rig = Rig::new();
    rig.tick(true);
    let draining = BusDrive {
        discharge: true,
        ..BusDrive::default()
    };
    assert_eq!(rig.drive, draining);
    rig.until(true, Stage::Checking);
    assert_eq!(rig.drive, BusDrive::default());
    rig.until(true, Stage::Closing);
    rig.feedback = Some(false);
    rig.tick(true);
    let closing = BusDrive {
        packs,
        precharge: true,
        main: true,
        discharge: false,
    };
    assert_eq!(rig.drive, closing);
    rig.feedback = None;
    rig.until(true, Stage::Live);
    let live = BusDrive {
        packs,
        main: true,
        ..BusDrive::default()
    };
    assert_eq!(rig.drive, live);
    rig.load = 50_000;
    rig.tick(false);
    assert_eq!((rig.bus.stage(), rig.drive), (Stage::Opening, live));
}

#[test]
fn an_opening_waits_for_the_current_to_fade_and_no_longer_than_its_time() {
    let mut rig = Rig::live();
    rig.load = 5_001;
    rig.tick(false);
    for _ in 0..29 {
        rig.tick(false);
        assert_eq!(rig.bus.stage(), Stage::Opening);
    }
    rig.tick(false);
    assert_eq!(rig.bus.stage(), Stage::Draining);

    let mut rig = Rig::live();
    rig.load = 5_000;
    rig.run(false, 2);
    assert_eq!(rig.bus.stage(), Stage::Draining, "faded at once");
}

#[test]
fn a_live_bus_stays_live_for_whoever_asks_neither_way() {
    let mut rig = Rig::live();
    for _ in 0..50 {
        rig.tick_towards(None);
    }
    assert_eq!(rig.bus.stage(), Stage::Live);
}

#[test]
fn a_live_bus_whose_voltage_leaves_its_range_is_lost_after_a_moment() {
    let mut rig = Rig::live();
    rig.drive.main = false;
    rig.volts = 200;
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Live, "one sample");
    rig.drive.main = false;
    rig.volts = 200;
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Draining);
    assert_eq!(rig.seen, Faults::only(Fault::BusLost));
}

#[test]
fn a_live_bus_that_no_pack_feeds_is_lost() {
    let mut rig = Rig::live();
    rig.packs.join([false; PACKS]);
    rig.tick(true);
    rig.packs.join([false; PACKS]);
    rig.tick(true);
    assert!(rig.seen.contains(Fault::BusLost));
}

#[test]
fn a_live_bus_that_its_pack_has_left_behind_is_lost_after_a_while() {
    let mut rig = Rig::live();
    for tick in 1..=10 {
        rig.drive.main = false;
        rig.volts = 379;
        rig.tick(true);
        let left = rig.bus.stage() == Stage::Draining;
        assert_eq!(left, tick == 10, "tick {tick}");
    }
    assert_eq!(rig.seen, Faults::only(Fault::BusLost));
}

#[test]
fn a_contactor_is_believed_closed_only_by_its_contact_and_its_voltage_together() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Closing);
    rig.feedback = Some(true);
    rig.drive.main = false;
    rig.drive.precharge = false;
    rig.volts = 100;
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Closing);

    let mut rig = Rig::new();
    rig.until(true, Stage::Closing);
    rig.feedback = Some(false);
    for _ in 0..14 {
        rig.tick(true);
        assert_eq!(rig.bus.stage(), Stage::Closing);
    }
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Draining);
    assert!(rig.seen.contains(Fault::MainStuckOpen));
}

#[test]
fn a_contact_that_shows_before_the_contactor_had_the_time_to_close_ends_no_precharge() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Closing);
    rig.feedback = Some(true);
    for tick in 1..=5 {
        rig.tick(true);
        assert_eq!(rig.bus.stage(), Stage::Closing, "tick {tick}");
        assert!(rig.drive.precharge && rig.drive.main, "tick {tick}");
    }
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Live);
    assert!(!rig.drive.precharge && rig.drive.main);
}

#[test]
fn the_time_to_close_begins_anew_when_the_command_was_withdrawn() {
    let mut rig = Rig::new();
    rig.until(true, Stage::Closing);
    rig.feedback = Some(false);
    for _ in 0..5 {
        rig.tick(true);
    }
    rig.drive.main = false;
    rig.drive.precharge = false;
    rig.volts = 350;
    rig.tick(true);
    assert!(!rig.drive.main, "no command onto a bus that sagged");
    rig.volts = 400;
    rig.feedback = Some(true);
    for tick in 1..=6 {
        rig.tick(true);
        assert_eq!(rig.bus.stage(), Stage::Closing, "tick {tick}");
    }
    rig.tick(true);
    assert_eq!(rig.bus.stage(), Stage::Live);
}

#[test]
fn a_closing_whose_packs_were_let_go_has_failed_and_is_not_begun_anew() {
    for stage in [Stage::Precharging, Stage::Closing] {
        let mut rig = Rig::new();
        rig.until(true, stage);
        rig.packs.join([false; PACKS]);
        rig.tick(true);
        assert_eq!(rig.bus.stage(), Stage::Draining, "{stage:?}");
        assert!(!rig.drive.main && !rig.drive.precharge, "{stage:?}");
        assert_eq!(rig.seen, Faults::only(Fault::PrechargeFailed), "{stage:?}");
        rig.run(true, 300);
        assert_eq!(rig.bus.stage(), Stage::Checking, "{stage:?}");
    }
}

#[test]
fn insulation_that_is_low_for_a_while_is_told_in_any_stage() {
    let mut rig = Rig::live();
    rig.kiloohms = 100;
    rig.run(true, 9);
    assert_eq!(rig.seen, Faults::empty());
    rig.run(true, 1);
    assert_eq!(rig.seen, Faults::only(Fault::InsulationLow));
}

#[test]
fn a_contactor_closed_uncommanded_is_welded_after_a_while() {
    let mut rig = Rig::new();
    rig.feedback = Some(true);
    rig.run(false, 29);
    assert_eq!(rig.seen, Faults::empty());
    rig.run(false, 1);
    assert_eq!(rig.seen, Faults::only(Fault::MainWelded));
}

#[test]
fn no_bus_is_dead_whose_contactor_is_not_proven_open() {
    let mut rig = Rig::new();
    rig.feedback = Some(true);
    rig.run(false, 250);
    assert_eq!(rig.bus.stage(), Stage::Draining);
}

#[test]
fn what_still_stands_when_the_discharge_is_due_tells_a_weld_from_a_slow_drain() {
    for (volts, contact, fault) in [
        (280, None, Fault::MainWelded),
        (279, None, Fault::DischargeFailed),
        (100, Some(true), Fault::MainWelded),
        (100, Some(false), Fault::DischargeFailed),
    ] {
        let mut rig = Rig::new();
        rig.drains = false;
        rig.volts = volts;
        rig.tick(false);
        // Only what shows when the time is up is asked about here.
        rig.run(false, 298);
        rig.feedback = contact;
        rig.seen = Faults::empty();
        rig.run(false, 1);
        assert_eq!(rig.seen, Faults::only(fault), "{volts} V {contact:?}");
    }
}

#[test]
fn a_draining_bus_keeps_its_packs_until_it_is_seen_to_fall() {
    let mut rig = Rig::live();
    rig.drains = false;
    rig.run(false, 50);
    assert_eq!(rig.bus.stage(), Stage::Draining);
    assert!(rig.drive.bus_is_fed() && rig.drive.discharge);
    rig.volts = 380;
    rig.tick(false);
    assert!(rig.drive.bus_is_fed(), "not yet below its share");
    rig.volts = 379;
    rig.tick(false);
    assert!(!rig.drive.bus_is_fed());
}
