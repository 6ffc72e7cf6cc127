//! A trace in open formats, as their own readers see it, and the page about them.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use mastwright_core::outputs::Motor;
use mastwright_sim::trace::export::{self, Format, Kind};
use mastwright_sim::trace::{Tick, Trace};
use serde_json::{Value, json};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn mastwright(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program runs")
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A folder with a trace in it in which the controller loses its supply on the way.
fn recorded() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let words = [
        "run",
        "brown-out-mid-move",
        "--quiet",
        "--record",
        "flight.mwt",
    ];
    let flown = mastwright(folder.path(), &words);
    assert!(flown.status.success(), "{}", err(&flown));
    folder
}

fn exported(folder: &Path, format: Format) -> Vec<u8> {
    let output = mastwright(
        folder,
        &["export", "flight.mwt", "--to", format.extension()],
    );
    assert!(output.status.success(), "{}", err(&output));
    let file = format!("flight.{}", format.extension());
    let told = out(&output);
    assert!(
        told.contains(&file) && told.contains("not certified"),
        "{told}"
    );
    std::fs::read(folder.join(file)).expect("exported")
}

#[test]
fn the_page_lists_every_signal_as_the_table_does() {
    let path = top().join("docs/trace-export.md");
    let text = std::fs::read_to_string(&path).expect("the page");
    let (begin, end) = ("<!-- signals -->\n", "<!-- end of signals -->");
    let (before, rest) = text.split_once(begin).expect("where the table begins");
    let (listed, after) = rest.split_once(end).expect("where it ends");
    let table = format!("\n{}", export::page());
    if std::env::var_os("MASTWRIGHT_RENEW").is_some() {
        let renewed = format!("{before}{begin}{table}{end}{after}");
        std::fs::write(&path, renewed).expect("it can be written");
        return;
    }
    assert!(
        listed == table,
        "renew it: MASTWRIGHT_RENEW=1 cargo test -p mastwright-sim --test trace_export"
    );
}

#[test]
fn the_same_trace_gives_the_same_bytes_each_time() {
    let folder = recorded();
    for format in Format::ALL {
        let first = exported(folder.path(), format);
        assert!(first.starts_with(format.beginning()), "{format:?}");
        assert_eq!(first, exported(folder.path(), format), "{format:?}");
    }
    let left = std::fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(left, 5, "the trace and four exports, nothing half written");
}

#[test]
fn only_what_is_asked_for_is_written_and_a_name_that_is_none_is_refused() {
    let folder = recorded();
    let folder = folder.path();
    let asked = ["export", "flight.mwt", "--to", "csv", "--signals"];
    let output = mastwright(
        folder,
        &[&asked[..], &["truth.mast,outputs.told.state"]].concat(),
    );
    assert!(output.status.success(), "{}", err(&output));
    let text = std::fs::read_to_string(folder.join("flight.csv")).expect("exported");
    assert_eq!(
        text.lines().next(),
        Some(
            "world.tick,world.time_s,truth.mast.position_pct,truth.mast.speed_pct_s,\
             truth.mast.drive_current_A,truth.mast.locked,outputs.told.state"
        )
    );
    let output = mastwright(folder, &[&asked[..], &["truth.mats"]].concat());
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("did you mean `truth.ma"),
        "{}",
        err(&output)
    );
}

#[test]
fn a_file_of_another_kind_is_left_alone() {
    let folder = recorded();
    let folder = folder.path();
    std::fs::write(folder.join("notes.csv"), "mine").expect("written");
    let words = ["export", "flight.mwt", "--to", "csv", "-o", "notes.csv"];
    let output = mastwright(folder, &words);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("is no CSV of mastwright"),
        "{}",
        err(&output)
    );
    let kept = std::fs::read_to_string(folder.join("notes.csv")).expect("there");
    assert_eq!(kept, "mine");
}

#[test]
fn what_another_program_wrote_in_the_same_format_is_left_alone() {
    let folder = recorded();
    let folder = folder.path();
    for format in [Format::Mcap, Format::Parquet] {
        let mut bytes = exported(folder, format);
        // The program that the file names; the same length, so that all else fits.
        while let Some(at) = bytes.windows(11).position(|part| part == b"mastwright ") {
            bytes[at..at + 10].copy_from_slice(b"otherwrite");
        }
        let name = format!("flight.{}", format.extension());
        std::fs::write(folder.join(&name), &bytes).expect("written");
        let words = ["export", "flight.mwt", "--to", format.extension()];
        let output = mastwright(folder, &words);
        assert_eq!(output.status.code(), Some(2), "{format:?}");
        assert!(err(&output).contains("of mastwright"), "{}", err(&output));
        let kept = std::fs::read(folder.join(&name)).expect("there");
        assert!(kept == bytes, "{format:?}");
        // What only begins so is not ours either.
        std::fs::write(folder.join(&name), format.beginning()).expect("written");
        assert_eq!(mastwright(folder, &words).status.code(), Some(2));
    }
}

#[test]
fn what_a_damaged_trace_lost_is_told_and_what_comes_after_is_exported() {
    let folder = recorded();
    let path = folder.path().join("flight.mwt");
    let mut bytes = std::fs::read(&path).expect("there");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x55;
    std::fs::write(&path, bytes).expect("written");
    let whole = Trace::open(&path).expect("its header is whole").len();
    let words = [
        "export",
        "flight.mwt",
        "--to",
        "csv",
        "--signals",
        "world.powered",
    ];
    let output = mastwright(folder.path(), &words);
    assert_eq!(output.status.code(), Some(1));
    assert!(out(&output).contains("MISSING: "), "{}", out(&output));
    let text = std::fs::read_to_string(folder.path().join("flight.csv")).expect("exported");
    let ticks: Vec<u64> = text
        .lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .next()
                .and_then(|tick| tick.parse().ok())
                .expect("a tick")
        })
        .collect();
    let jumps = ticks
        .windows(2)
        .filter(|pair| pair[1] != pair[0] + 1)
        .count();
    assert_eq!((jumps, ticks.last()), (1, Some(&(whole - 1))));
}

/// A signal by its name, read here by hand.
type Picked = (&'static str, fn(&Tick) -> Value);

/// Signals read apart from the table: what a reader must find.
const PICKED: &[Picked] = &[
    ("world.tick", |t| json!(t.frame.tick)),
    ("world.powered", |t| json!(u8::from(t.frame.powered))),
    ("world.state_print", |t| json!(t.state)),
    ("hands.throttle_pct", |t| {
        json!(t.frame.controls.throttle * 100.0)
    }),
    ("inputs.mast.position_pct", |t| {
        json!(f64::from(t.frame.inputs.mast.position.raw().get()) / 10.0)
    }),
    ("inputs.mast.position_age_ms", |t| {
        let position = t.frame.inputs.mast.position;
        json!(
            position
                .is_valid()
                .then(|| 10 * u32::from(position.age().ticks()))
        )
    }),
    ("inputs.propeller.angle_b_deg", |t| {
        json!(f64::from(t.frame.inputs.propeller.angle_b.raw().get()) / 100.0)
    }),
    ("inputs.pack_2.temperature_degC", |t| {
        json!(f64::from(t.frame.inputs.packs[1].temperature.raw().get()) / 10.0)
    }),
    ("inputs.doors.shut", |t| {
        json!(u8::from(t.frame.inputs.doors.shut.raw()))
    }),
    ("truth.mast.position_pct", |t| {
        json!(t.frame.truth.mast.position * 100.0)
    }),
    ("truth.bus.voltage_V", |t| json!(t.frame.truth.bus.voltage)),
    ("truth.pack_1.connected", |t| {
        json!(u8::from(t.frame.truth.packs[0].connected))
    }),
    ("truth.aircraft.climb_m_s", |t| {
        json!(t.frame.truth.aircraft.climb)
    }),
    ("outputs.drive.motor", |t| {
        let motor = format!("{:?}", t.frame.outputs.drives.motor);
        json!(motor.split('(').next())
    }),
    ("outputs.drive.motor_share_pct", |t| {
        match t.frame.outputs.drives.motor {
            Motor::Thrust(much) | Motor::Brake(much) | Motor::Hold(much) => {
                json!(f64::from(much.get()) / 10.0)
            }
            Motor::Free | Motor::Short | Motor::Creep(_) => json!(0.0),
        }
    }),
    ("outputs.told.state", |t| {
        json!(format!("{:?}", t.frame.outputs.indications.state))
    }),
    ("outputs.proven.DoorsOpen", |t| {
        let open = mastwright_core::interlock::Condition::DoorsOpen;
        json!(u8::from(t.frame.outputs.proven.contains(open)))
    }),
];

/// What is to be found of one signal.
#[derive(Debug, Default)]
struct Expected {
    count: u64,
    first: Value,
    last: Value,
    sum: f64,
    unlike: std::collections::BTreeSet<String>,
}

impl Expected {
    fn add(&mut self, value: Value) {
        if value.is_null() {
            return;
        }
        if self.count == 0 {
            self.first = value.clone();
        }
        self.count += 1;
        match value.as_str() {
            Some(text) => {
                self.unlike.insert(text.to_owned());
                self.sum = f64::from(u32::try_from(self.unlike.len()).expect("few"));
            }
            None => self.sum += value.as_f64().expect("a number"),
        }
        self.last = value;
    }
}

fn expected(trace: &Trace) -> BTreeMap<&'static str, Expected> {
    let mut expected: BTreeMap<&str, Expected> = BTreeMap::new();
    for tick in trace.ticks() {
        let tick = tick.expect("a whole trace");
        for (name, read) in PICKED {
            expected.entry(name).or_default().add(read(&tick));
        }
    }
    expected
}

fn near(found: &Value, wanted: &Value, within: f64) -> bool {
    match (found.as_f64(), wanted.as_f64()) {
        (Some(found), Some(wanted)) => (found - wanted).abs() <= within,
        _ => found == wanted,
    }
}

/// Runs one of the readers; what it tells.
fn told(python: &str, reader: &str, arguments: &[&str]) -> Value {
    let output = Command::new(python)
        // Leaves nothing beside the readers.
        .arg("-B")
        .arg(top().join("tests/readers").join(reader))
        .args(arguments)
        .output()
        .expect("Python runs");
    assert!(output.status.success(), "{reader}: {}", err(&output));
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn word(kind: Kind) -> &'static str {
    match kind {
        Kind::Flag => "flag",
        Kind::Whole => "whole",
        Kind::Real => "real",
        Kind::Text => "text",
    }
}

#[test]
#[ignore = "needs Python with tests/readers/requirements.txt, as MASTWRIGHT_PYTHON; .ci/run runs it"]
fn four_independent_readers_find_in_the_files_what_is_in_the_trace() {
    let python = std::env::var("MASTWRIGHT_PYTHON").expect("MASTWRIGHT_PYTHON names a Python");
    let folder = recorded();
    let path = |name: &str| folder.path().join(name).display().to_string();
    for format in Format::ALL {
        exported(folder.path(), format);
    }
    let kinds: BTreeMap<String, &str> = export::signals()
        .iter()
        .map(|signal| (signal.name().to_owned(), word(signal.kind())))
        .collect();
    let types = json!(kinds).to_string();
    let csv = told(&python, "read_csv.py", &[&path("flight.csv"), &types]);
    let parquet = told(&python, "read_parquet.py", &[&path("flight.parquet")]);
    let mcap = told(&python, "read_mcap.py", &[&path("flight.mcap")]);
    let vcd = told(&python, "read_vcd.py", &[&path("flight.vcd")]);

    let trace = Trace::open(path("flight.mwt").as_ref()).expect("recorded");
    let expected = expected(&trace);
    for (reader, told) in [
        ("csv", &csv),
        ("parquet", &parquet),
        ("mcap", &mcap),
        ("vcd", &vcd),
    ] {
        let signals = told["signals"].as_object().expect("signals");
        assert_eq!(signals.len(), kinds.len(), "{reader}");
        for (name, summary) in signals {
            assert!(kinds.contains_key(name), "{reader}: {name}");
            assert_eq!(summary["rows"], json!(trace.len()), "{reader}: {name}");
            // All four tell the same of every signal; a float's sum depends on nothing
            // but the order, which is one.
            assert_eq!(summary, &csv["signals"][name], "{reader}: {name}");
        }
        for (name, wanted) in &expected {
            let found = &signals[*name];
            let place = format!("{reader}: {name}: {found} {wanted:?}");
            assert_eq!(found["count"], json!(wanted.count), "{place}");
            // Six decimals are kept.
            assert!(near(&found["first"], &wanted.first, 1e-6), "{place}");
            assert!(near(&found["last"], &wanted.last, 1e-6), "{place}");
            let within = 1e-6 * f64::from(u32::try_from(wanted.count).expect("few")) + 1e-6;
            assert!(near(&found["sum"], &json!(wanted.sum), within), "{place}");
        }
    }
    types_and_times_are_those_of_the_format(&trace, &parquet, &mcap, &vcd);
    events_are_all_there(&trace, &mcap);
}

fn types_and_times_are_those_of_the_format(
    trace: &Trace,
    parquet: &Value,
    mcap: &Value,
    vcd: &Value,
) {
    for signal in export::signals() {
        let (arrow, wire) = match signal.kind() {
            Kind::Flag => ("bool", "wire"),
            Kind::Whole => ("int64", "integer"),
            Kind::Real => ("double", "real"),
            Kind::Text => ("string", "string"),
        };
        assert_eq!(parquet["types"][signal.name()], arrow, "{signal:?}");
        assert_eq!(vcd["types"][signal.name()], wire, "{signal:?}");
    }
    assert_eq!(vcd["timescale"], "1 ms");
    assert_eq!(vcd["end"], json!(trace.len() * 10));
    let last = json!((trace.len() - 1) * 10_000_000);
    for topic in ["/world", "/hands", "/inputs", "/truth", "/outputs"] {
        assert_eq!(mcap["first_time"][topic], 0, "{topic}");
        assert_eq!(mcap["last_time"][topic], last, "{topic}");
    }
    for about in [&parquet["about"], &mcap["about"]] {
        assert_eq!(about["scenario"], "brown-out-mid-move");
        assert!(
            about["caution"]
                .as_str()
                .is_some_and(|text| text.contains("not certified"))
        );
    }
    assert!(vcd["comments"].to_string().contains("not certified"));
}

fn events_are_all_there(trace: &Trace, mcap: &Value) {
    let count = |tick: Tick| tick.marks.len() + tick.frame.outputs.events.len();
    let all: usize = trace.ticks().flatten().map(count).sum();
    let events = mcap["events"].as_array().expect("events");
    assert_eq!(events.len(), all);
    assert!(all > 10, "{all} events are too few to show much");
    let messages = 5 * trace.len() + all as u64;
    assert_eq!(mcap["messages"], json!(messages));
    let supply_lost = events
        .iter()
        .any(|event| event[1] == "went" && event[2] == "Waking>Resting");
    assert!(supply_lost, "it woke again: {events:?}");
}
