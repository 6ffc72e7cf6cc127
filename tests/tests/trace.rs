//! A trace gives back what was recorded, and a build reads what another one wrote.

use mastwright_sim::flight::Flight;
use mastwright_sim::join::take_off;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::{self, Shipped};
use mastwright_sim::trace::{Damage, Header, Mark, Recorded, Trace, Unreadable, replay};
use mastwright_tests::recording::{assert_same, record, short, trace, with_header};

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

#[test]
fn every_shipped_scenario_comes_back_from_its_trace_and_replays_identically() {
    for shipped in shipped::all() {
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
        let (frames, bytes) = record(&scenario, scenario.ticks);
        let trace = trace(&bytes);
        assert_eq!(trace.damage(), [], "{}", shipped.name);
        assert_eq!(trace.len(), scenario.ticks);
        assert_eq!(trace.header().scenario.text, shipped.text);
        let mut compared = 0;
        for (tick, flown) in trace.ticks().zip(&frames) {
            assert_same(&tick.expect("whole").frame, flown);
            compared += 1;
        }
        assert_eq!(compared, scenario.ticks, "{}", shipped.name);
        let replayed = replay(&trace).expect("it begins");
        assert!(replayed.is_identical(), "{}: {replayed:?}", shipped.name);
        assert!(!replayed.other_form);
        assert_eq!(replayed.ticks, scenario.ticks, "{}", shipped.name);
    }
}

#[test]
fn the_same_flight_gives_the_same_bytes() {
    assert!(short().1 == short().1);
}

#[test]
fn any_tick_is_read_by_its_number() {
    let (frames, bytes) = short();
    let trace = trace(&bytes);
    for tick in [0, 1, 511, 512, 513, 1023, 1024, 1599] {
        let read = trace.at(tick).expect("it is there");
        assert_same(&read.frame, &frames[usize::try_from(tick).expect("small")]);
    }
    let beyond = trace.at(1600).expect_err("there is no such tick");
    assert!(matches!(beyond, Unreadable::Beyond { ticks: 1600, .. }));
    let tail: Vec<u64> = trace
        .ticks_from(1598)
        .map(|tick| tick.expect("whole").frame.tick)
        .collect();
    assert_eq!(tail, [1598, 1599]);
}

#[test]
fn what_begins_and_ends_is_marked_in_its_tick() {
    let scenario = scenario("pack-drops-out");
    let (_, bytes) = record(&scenario, scenario.ticks);
    let trace = trace(&bytes);
    let mut world = mastwright_sim::world::World::new(&scenario, scenario.seed);
    let mut began = 0;
    for tick in trace.ticks() {
        let tick = tick.expect("whole");
        world.step();
        assert_eq!(tick.begun.actions, world.started_actions());
        assert_eq!(tick.begun.faults, world.started_faults());
        for mark in &tick.marks {
            if let Mark::FaultBegan(number) = mark {
                began += 1;
                let fault = trace.fault(*number).expect("the scenario orders it");
                assert_eq!(world.fault(*number as usize), Some(&fault));
            }
        }
    }
    assert!(began > 0, "the scenario has a fault that begins");
}

#[test]
fn a_recording_that_is_given_up_stays_a_part_and_replaces_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("flight.mwt");
    let scenario = scenario("door-jams");
    let header = Header::new(&scenario, 1, "a test");
    let mut flight = Recorded::new(take_off(&scenario, 1), &path, &header).expect("a new file");
    (0..600).for_each(|_| flight.step());
    drop(flight);
    // The thread that writes ends by itself; until then the file grows.
    let part = folder.path().join("flight.mwt.part");
    // Ticks are handed over 128 at a time.
    let handed = 512_u32;
    let whole = || Trace::open(&part).is_ok_and(|trace| trace.len() == u64::from(handed));
    let tries = (0..1000).find(|_| {
        std::thread::sleep(std::time::Duration::from_millis(10));
        whole()
    });
    assert!(
        tries.is_some(),
        "all but what was not handed over is written"
    );
    let read = Trace::open(&part).expect("readable");
    assert_eq!(read.damage(), [Damage::NoEnd { ticks: handed }]);
    assert!(!path.exists(), "it never came to its end");
}

#[test]
fn something_else_and_a_later_version_are_refused_with_a_remedy() {
    let (_, bytes) = short();
    let refused = |bytes: &[u8]| {
        let why = Trace::from_bytes("x", bytes.to_vec()).expect_err("refused");
        assert!(!why.remedy().is_empty());
        why
    };
    for foreign in [
        &b""[..],
        b"title = \"t\"",
        b"mastwright trace x\n",
        b"\xff\xfe",
    ] {
        assert!(matches!(refused(foreign), Unreadable::Foreign { .. }));
    }
    let mut later = bytes;
    let digit = "mastwright trace ".len();
    later[digit] = b'2';
    assert!(matches!(
        refused(&later),
        Unreadable::Newer { version: 2, .. }
    ));
}

#[test]
fn a_controller_that_answers_otherwise_is_found_in_its_tick() {
    let (frames, bytes) = record(&scenario("parking-sensor-fails"), 3000);
    // As if the limit had been changed after the flight: the halt comes a second earlier.
    let changed = with_header(&bytes, |header| {
        let limit = &mut header["settings"]["park_time"];
        *limit = (limit.as_i64().expect("a number") - 1000).into();
    });
    let replayed = replay(&trace(&changed)).expect("it begins");
    let difference = replayed.difference.expect("the halt comes earlier");
    let state = |outputs: &mastwright_core::Outputs| outputs.indications.state.name();
    let halted = frames
        .iter()
        .position(|frame| state(&frame.outputs) == "Halted");
    let found = usize::try_from(difference.recorded.frame.tick).expect("small");
    assert!(found < halted.expect("it halts"), "found at {found}");
    assert_eq!(replayed.ticks, found as u64);
    assert_eq!(difference.before, Some(frames[found - 1].inputs));
}

#[test]
fn an_earlier_build_that_counted_otherwise_is_read_by_name() {
    let (frames, bytes) = short();
    // The names of the first two states change places.
    let swapped = with_header(&bytes, |header| {
        let states = header["names"]["state"].as_array_mut().expect("a list");
        states.swap(0, 1);
    });
    let read = trace(&swapped).at(0).expect("it is read").frame.outputs;
    let flown = frames[0].outputs.indications.state;
    assert_eq!(flown, mastwright_core::State::Waking);
    assert_eq!(read.indications.state, mastwright_core::State::Resting);
}

#[test]
fn a_name_this_build_does_not_know_is_told_and_not_guessed() {
    let (_, bytes) = short();
    let renamed = with_header(&bytes, |header| {
        header["names"]["state"][0] = "Slumbering".into();
    });
    let why = trace(&renamed).at(0).expect_err("no such state");
    let told = why.to_string();
    assert!(
        told.contains("names the state Slumbering, which this program does not know"),
        "{told}"
    );
}

#[test]
fn a_column_the_trace_does_not_have_is_told_and_reads_as_by_default() {
    let (frames, bytes) = short();
    let without = with_header(&bytes, |header| {
        let columns = header["columns"]["ticks"].as_array_mut().expect("a list");
        let place = columns.iter().position(|column| column == "truth.doors");
        columns[place.expect("there is one")] = "truth.hatches".into();
    });
    let trace = trace(&without);
    assert_eq!(trace.missing_columns(), ["truth.doors"]);
    let read = trace.at(700).expect("it is read").frame;
    assert_eq!(read.truth.doors.to_bits(), 0.0_f64.to_bits());
    assert_eq!(read.inputs, frames[700].inputs);
    assert!(replay(&trace).expect("it begins").is_identical());
}

/// Written once by the first build that kept traces, and never renewed: whatever comes
/// later must read it.
const KEPT: &[u8] = include_bytes!("traces/version-1.mwt");

#[test]
fn the_oldest_trace_is_still_read() {
    let trace = Trace::from_bytes("version-1.mwt", KEPT.to_vec()).expect("readable");
    assert_eq!(trace.damage(), []);
    assert_eq!(trace.header().scenario.name, "kept");
    assert_eq!(trace.header().seed, 5);
    assert_eq!(trace.len(), 700);
    let at = |tick| trace.at(tick).expect("it is there");
    let state = |tick| at(tick).frame.outputs.indications.state.name();
    assert_eq!((state(0), state(48)), ("Waking", "Waking"));
    assert_eq!((state(100), state(699)), ("Resting", "StowMast"));
    assert_eq!(at(100).marks, [Mark::ActionBegan(0)]);
    assert_eq!(at(400).marks, [Mark::FaultBegan(0), Mark::FaultEnded(0)]);
    let frame = at(300).frame;
    assert!((frame.truth.aircraft.airspeed - 27.0).abs() < 0.5);
    assert!((frame.truth.mast.position - 1.0).abs() < 1e-6);
    assert_eq!(frame.inputs.mast.position.raw().get(), 1000);
}

#[test]
fn every_incident_replays_identically_and_is_told() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/incidents");
    let told = std::fs::read_to_string(folder.join("README.md")).expect("the page");
    let mut replayed = 0;
    for entry in std::fs::read_dir(&folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|ending| ending != "mwt") {
            continue;
        }
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let trace = Trace::open(&path).expect("a trace");
        assert_eq!(trace.damage(), [], "{name}");
        let scenario = std::fs::read_to_string(path.with_extension("toml"));
        assert_eq!(
            trace.header().scenario.text,
            scenario.expect("beside it"),
            "{name}"
        );
        assert!(
            told.contains(&format!("[{name}]({name}.toml)")),
            "{name} is not told of"
        );
        let replay = replay(&trace).expect("it begins");
        assert!(
            replay.is_identical(),
            "{name}: replay it with `mastwright replay docs/incidents/{name}.mwt`: {replay:?}"
        );
        replayed += 1;
    }
    assert_eq!(replayed, 4);
}

#[test]
fn the_page_of_the_format_lists_every_column() {
    let page = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/trace-format.md");
    let page = std::fs::read_to_string(page).expect("the page");
    let listed: Vec<&str> = page.split(['\n', ';']).map(str::trim).collect();
    let (_, bytes) = record(&scenario("door-jams"), 1);
    let mut columns = 0;
    let _ = with_header(&bytes, |header| {
        for table in header["columns"].as_object().expect("tables").values() {
            for column in table.as_array().expect("names") {
                let name = column.as_str().expect("a name");
                assert!(
                    listed.contains(&name),
                    "docs/trace-format.md lacks `{name}`"
                );
                columns += 1;
            }
        }
    });
    assert!(columns > 150, "{columns}");
}
