//! What is done with traces and records: compared, flown again, shrunk, read back.

use mastwright_core::journal::{Damage, SLOT_BYTES, SlotState};
use mastwright_sim::cockpit::timeline::{Order, Timeline};
use mastwright_sim::controls::Push;
use mastwright_sim::faults::Fault;
use mastwright_sim::flight::Flight;
use mastwright_sim::join::take_off;
use mastwright_sim::journal::{self, skeleton::skeleton};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::deed::Deed;
use mastwright_sim::scenario::shipped::{self, Shipped};
use mastwright_sim::shrink::edit::{Cue, count, places, remove};
use mastwright_sim::shrink::{NothingToShrink, failures, shrink};
use mastwright_sim::trace::{Header, Recorder, Regard, Trace, compare, rebuild, replay};
use mastwright_tests::recording::{record, trace};

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

fn parsed(text: &str) -> Scenario {
    Scenario::parse("a-test.toml", text).unwrap_or_else(|why| panic!("{why:?}\n{text}"))
}

#[test]
fn two_records_of_one_flight_are_alike() {
    let scenario = scenario("mast-jams");
    let (_, bytes) = record(&scenario, 6000);
    let compared = compare(&trace(&bytes), &trace(&bytes)).expect("comparable");
    assert!(compared.is_equal(), "{compared:?}");
    assert_eq!(compared.ticks, 6000);
    assert_eq!(compared.parted(), None);
    assert!(compared.rows.len() > 20);
}

#[test]
fn a_flight_with_a_fault_parts_from_one_without_in_the_tick_of_the_fault() {
    let jams = scenario("mast-jams");
    let clean = parsed(&jams.text.replace("strength = 500", "strength = 0"));
    let (frames, with) = record(&jams, 6000);
    let (_, without) = record(&clean, 6000);
    let compared = compare(&trace(&with), &trace(&without)).expect("comparable");
    assert!(!compared.is_equal());
    let regards: Vec<Regard> = compared
        .first
        .iter()
        .map(|parting| parting.regard)
        .collect();
    assert!(regards.contains(&Regard::Readings) && regards.contains(&Regard::Outputs));
    let place = |regard| Regard::ALL.iter().position(|other| *other == regard);
    assert!(
        compared
            .first
            .is_sorted_by_key(|parting| (parting.tick, place(parting.regard))),
        "{:?}",
        compared.first
    );
    let readings = compared
        .first
        .iter()
        .find(|parting| parting.regard == Regard::Readings);
    let first = readings.expect("just seen").tick;
    // The mast cannot pass half its travel in one of them.
    let there = &frames[usize::try_from(first).expect("small")].truth.mast;
    assert!((there.position - 0.5).abs() < 0.02, "{there:?}");
    let parted = compared.parted().expect("they part");
    let row = &compared.rows[parted];
    assert!(
        row.text.starts_with("mechanics.mast-jam"),
        "the fault parts them: {row:?}"
    );
    assert!(row.times[0].or(row.times[1]) < Some(readings.expect("just seen").time));
}

#[test]
fn the_same_event_stands_in_one_row_though_it_came_later() {
    let one = scenario("emergency-stow");
    let later = parsed(&one.text.replacen("at = 1.0", "at = 3.0", 1));
    let (_, a) = record(&one, 3000);
    let (_, b) = record(&later, 3000);
    let compared = compare(&trace(&a), &trace(&b)).expect("comparable");
    let asked = compared.rows.iter().find(|row| row.text == "Deploy");
    let Some([Some(early), Some(late)]) = asked.map(|row| row.times) else {
        panic!("one row for one event: {:?}", compared.rows);
    };
    assert!((late - early - 2.0).abs() < 1e-9, "{early} {late}");
}

/// A flight in which a person takes the controls, breaks something, mends it and stows.
fn flown_by_hand(folder: &std::path::Path) -> (Trace, u64) {
    let scenario = scenario("normal-flight");
    let mut flown = Timeline::new(&scenario, scenario.seed);
    let mut fly = |ticks: u64, orders: &[Order]| {
        for _ in 0..ticks {
            flown.step();
        }
        for order in orders {
            flown.give(order.clone());
        }
    };
    let fault = |target: &str, kind: &str| {
        let (target, kind) = (target.parse().expect("known"), kind.parse().expect("known"));
        Order::Inject(Fault::new(target, kind, None, None).expect("it can fail so"))
    };
    fly(500, &[fault("sensor.propeller.angle-b", "dropout")]);
    let deploy = Deed::Select {
        push: Push::Deploy,
        lasting: 50,
    };
    fly(300, &[Order::Do(deploy), Order::ClearAll]);
    fly(700, &[fault("sensor.airspeed", "dropout")]);
    fly(200, &[Order::Clear(1), Order::Do(Deed::Stop(true))]);
    fly(600, &[]);
    let end = flown.end() + 1;
    let path = folder.join("hand.mwt");
    let header = Header::new(&scenario, scenario.seed, "a hand");
    let mut recorder = Recorder::create(&path, &header).expect("a new file");
    flown.record(&mut recorder);
    recorder.finish().expect("kept");
    (Trace::open(&path).expect("a trace"), end)
}

#[test]
fn what_hands_flew_in_the_cockpit_is_recorded_replayed_and_flown_again_as_a_scenario() {
    let folder = tempfile::tempdir().expect("a folder");
    let (trace, end) = flown_by_hand(folder.path());
    assert_eq!(trace.len(), end);
    assert_eq!(trace.damage(), []);
    assert!(replay(&trace).expect("it begins").is_identical());
    let again = parsed(&rebuild(&trace).expect("the text is TOML"));
    let mut flight = take_off(&again, again.seed);
    for tick in trace.ticks() {
        let tick = tick.expect("whole");
        flight.step();
        let frame = flight.frame();
        assert_eq!(frame.inputs, tick.frame.inputs, "tick {}", frame.tick);
        assert_eq!(frame.outputs, tick.frame.outputs, "tick {}", frame.tick);
    }
}

/// A run that breaks a hazard by a gust, with much beside it that matters nothing.
const BROKEN: &str = r#"
title = "A gust among other things"
briefing = """
Invented; for a test.

It has more in it than it needs.
"""
length = 60
seed = 3

[start]
mast = "deployed"
height = 400
airspeed = 27
charge = [80, 79]

[settings]
precharge_share = 960

[[action]]
at = 1.0
do = "select deploy"

[[action]]
when = "state is Armed"
do = "throttle to 60 % over 2 s"

[[action]]
when = "action 1 is done"
after = 1.0
do = "heat test for 1 s"

[[action]]
when = "state is Thrust for 5 s"
do = "stop on"

[[action]]
when = "action 4 is done"
do = "acknowledge"

[[fault]]
at = 4.0
target = "sensor.thermal.motor"
kind = "noise"
duration = 3.0

[[fault]]
when = "state is StowProve"
target = "mechanics.fans-seized"

[[fault]]
when = "mast passes 60 % while stowing"
target = "mechanics.gust"
strength = 25
"#;

#[test]
fn what_is_shrunk_fails_the_same_way_and_can_lose_no_line() {
    let scenario = parsed(BROKEN);
    let mut steps = 0;
    let shrunk = shrink(&scenario, None, &mut |_| steps += 1).expect("it fails");
    assert!(
        shrunk.failure.what.starts_with("HZ-"),
        "{:?}",
        shrunk.failure
    );
    assert!(steps > 5);
    assert!(
        shrunk.size.actions < 5 && shrunk.size.faults < 3,
        "{}",
        shrunk.text
    );
    let still = |text: &str| {
        Scenario::parse("shrunk.toml", text).is_ok_and(|scenario| {
            let fails = failures(&scenario);
            fails.iter().any(|failure| failure.is_like(&shrunk.failure))
        })
    };
    assert!(still(&shrunk.text), "{}", shrunk.text);
    let lines: Vec<&str> = shrunk.text.lines().collect();
    for (number, line) in lines.iter().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let mut fewer = lines.clone();
        fewer.remove(number);
        assert!(
            !still(&fewer.join("\n")),
            "{line:?} is not needed in\n{}",
            shrunk.text
        );
    }
    let document: toml_edit::DocumentMut = shrunk.text.parse().expect("TOML");
    for cue in Cue::BOTH {
        for index in 0..count(&document, cue) {
            let mut fewer = document.clone();
            remove(&mut fewer, cue, index);
            assert!(
                !still(&fewer.to_string()),
                "{cue:?} {index}\n{}",
                shrunk.text
            );
        }
    }
    for place in places(&document) {
        let mut fewer = document.clone();
        place.cut(&mut fewer);
        assert!(!still(&fewer.to_string()), "{place}\n{}", shrunk.text);
    }
    let shorter = shrunk.size.ticks - 1;
    let mut fewer = document;
    fewer["length"] = toml_edit::value(shorter as f64 / 100.0);
    assert!(!still(&fewer.to_string()), "one tick less\n{}", shrunk.text);
    let again = shrink(&scenario, None, &mut |_| {}).expect("it fails");
    assert_eq!(again, shrunk, "the same text gives the same result");
}

#[test]
fn an_expectation_that_is_not_met_is_a_failure_too() {
    let text = scenario("mast-jams")
        .text
        .replace("\"Armed\"", "\"Stowed\"");
    let shrunk = shrink(&parsed(&text), Some("ends in"), &mut |_| {}).expect("it fails");
    assert_eq!(shrunk.failure.what, "ends in Stowed");
    assert!(shrunk.size.actions <= 3, "{}", shrunk.text);
    let fails = failures(&parsed(&shrunk.text));
    assert!(fails.iter().any(|failure| failure.is_like(&shrunk.failure)));
}

#[test]
fn where_something_was_not_reached_no_time_is_taken_and_the_cause_stays() {
    let shipped = scenario("mast-jams").text;
    let flown = &shipped[..shipped.find("[expect]").expect("it expects something")];
    let before = parsed(&format!(
        "{flown}[expect]\nvisits = [\"StowMast\", \"StowDoors\"]\n"
    ));
    let jam = "target = \"mechanics.mast-jam\"";
    let shrunk = shrink(&before, None, &mut |_| {}).expect("it fails");
    assert_eq!(shrunk.failure.how, "StowDoors was not reached in its turn");
    assert_eq!(shrunk.size.ticks, before.ticks);
    assert!(shrunk.text.contains(jam), "{}", shrunk.text);
    // It is the jam that keeps the mast from there.
    let mut without: toml_edit::DocumentMut = shrunk.text.parse().expect("TOML");
    without.remove("fault");
    let without = failures(&parsed(&without.to_string()));
    assert!(
        without
            .iter()
            .all(|failure| !failure.is_like(&shrunk.failure)),
        "without the jam it fails otherwise: {without:?}"
    );
}

#[test]
fn what_is_shrunk_again_keeps_the_name_of_its_origin() {
    let once = shrink(&parsed(BROKEN), None, &mut |_| {}).expect("it fails");
    let origin = "briefing = \"Invented; shrunk from a-test.\"";
    assert!(once.text.contains(origin), "{}", once.text);
    let other = Scenario::parse("other.toml", &once.text).expect("it parses");
    let again = shrink(&other, None, &mut |_| {}).expect("it fails");
    assert_eq!(again.text, once.text);
}

#[test]
fn a_good_run_and_another_failure_are_nothing_to_shrink() {
    let good = shrink(&scenario("normal-flight"), None, &mut |_| {});
    assert_eq!(good, Err(NothingToShrink::Good));
    let other = shrink(&parsed(BROKEN), Some("SR-15"), &mut |_| {});
    let Err(NothingToShrink::Otherwise { fails, .. }) = other else {
        panic!("{other:?}");
    };
    assert!(fails.contains("HZ-"), "{fails}");
}

/// What the controller's memory holds after a flight.
fn memory(scenario: &Scenario) -> [[u8; SLOT_BYTES]; 2] {
    let mut flight = take_off(scenario, scenario.seed);
    (0..scenario.ticks).for_each(|_| flight.step());
    *flight.world().memory().slots()
}

#[test]
fn both_slots_are_read_the_newest_and_the_stale_one() {
    let found = journal::read(&memory(&scenario("parking-sensor-fails")));
    assert_eq!(found.slots.iter().filter(|held| held.newest).count(), 1);
    let [one, other] = &found.slots;
    let (newest, stale) = if one.newest {
        (one, other)
    } else {
        (other, one)
    };
    let sequence = |state| match state {
        SlotState::Whole { sequence } => sequence,
        SlotState::Blank | SlotState::Damaged(_) | SlotState::Unreadable => panic!("{state:?}"),
    };
    assert_eq!(sequence(newest.state), sequence(stale.state) + 1);
    assert!(stale.words().contains("stale"), "{}", stale.words());
    let (retained, records) = newest.content.as_ref().expect("whole");
    assert_eq!(retained, &found.recovered.retained);
    assert!(records.len() > 10);
    assert!(stale.content.is_some(), "a stale record is read too");
}

#[test]
fn a_slot_torn_at_any_byte_is_told_as_torn_and_the_other_is_believed() {
    let [a, b] = memory(&scenario("parking-sensor-fails"));
    for torn in 1..SLOT_BYTES {
        let mut slot = b;
        slot[..torn].copy_from_slice(&a[..torn]);
        if slot == a || slot == b {
            continue;
        }
        let found = journal::read(&[a, slot]);
        assert_eq!(
            found.slots[1].state,
            SlotState::Damaged(Damage::Checksum),
            "{torn}"
        );
        assert!(found.slots[1].words().starts_with("torn"), "{torn}");
        assert_eq!(found.slots[1].content, None, "{torn}");
        assert!(found.slots[0].newest, "{torn}");
    }
    let blank = journal::read(&[[0xff; SLOT_BYTES]; 2]);
    assert!(
        blank
            .slots
            .iter()
            .all(|held| held.words().starts_with("blank"))
    );
}

#[test]
fn a_skeleton_of_any_record_can_be_flown() {
    for shipped in shipped::all() {
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
        let found = journal::read(&memory(&scenario));
        let text = skeleton(&found.recovered.records, shipped.name);
        let flown = parsed(&text);
        assert!(flown.ticks > 0, "{}", shipped.name);
        // It ends, whatever comes of it.
        let _ = failures(&flown);
    }
}

#[test]
fn the_skeleton_of_a_stow_that_halts_passes_through_what_was_recorded() {
    let recorded = scenario("parking-sensor-fails");
    let found = journal::read(&memory(&recorded));
    let text = skeleton(&found.recovered.records, "a test");
    let fails = failures(&parsed(&text));
    assert_eq!(fails, [], "{text}");
    assert!(
        text.contains("Halted") && text.contains("BladeSensorLost"),
        "{text}"
    );
}

#[test]
fn a_skeleton_whose_demand_has_fallen_out_of_the_record_is_led_to_its_first_state() {
    let found = journal::read(&memory(&scenario("mast-jams")));
    let text = skeleton(&found.recovered.records, "a test");
    assert!(text.contains("the first 1.60 s after power-up"), "{text}");
    let flown = parsed(&text);
    let mut flight = take_off(&flown, flown.seed);
    let mut seen = Vec::new();
    for _ in 0..flown.ticks {
        flight.step();
        let state = flight.frame().outputs.indications.state.name();
        if seen.last() != Some(&state) {
            seen.push(state);
        }
    }
    for state in ["DeployPark", "Deployed", "Thrust", "StowBrake", "StowMast"] {
        assert!(seen.contains(&state), "{state}: {seen:?}\n{text}");
    }
}
