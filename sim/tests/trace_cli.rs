//! Recording and what is done with it, as its users meet it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn mastwright(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(arguments)
        .env("NO_COLOR", "1")
        .output()
        .expect("the program runs")
}

fn ended(output: &Output) -> (Option<i32>, String, String) {
    let words = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        output.status.code(),
        words(&output.stdout),
        words(&output.stderr),
    )
}

fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    ended(&mastwright(arguments))
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("a folder"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn name(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    /// Records a shipped scenario.
    fn record(&self, scenario: &str, name: &str) -> String {
        let trace = self.name(name);
        let (code, text, error) = run(&["run", scenario, "--quiet", "--record", &trace]);
        assert_eq!(code, Some(0), "{error}");
        assert!(text.contains(&format!("Recorded: {trace}")), "{text}");
        assert!(!Path::new(&format!("{trace}.part")).exists());
        trace
    }
}

#[test]
fn a_recorded_run_replays_identically() {
    let folder = Folder::new();
    let trace = folder.record("door-jams", "a.mwt");
    let (code, text, _) = run(&["replay", &trace]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("identical, "), "{text}");
    assert!(text.contains("Keep clear of"), "{text}");
    let (code, text, _) = run(&["replay", &trace, "--json"]);
    assert_eq!(code, Some(0));
    let document: serde_json::Value = serde_json::from_str(&text).expect("one document");
    assert_eq!(document["identical"], true);
    assert_eq!(document["recorded"]["scenario"], "door-jams");
}

#[test]
fn a_part_of_a_trace_is_replayed_to_its_break_and_said_to_be_one() {
    let folder = Folder::new();
    let trace = folder.record("door-jams", "a.mwt");
    let bytes = std::fs::read(&trace).expect("kept");
    let part = folder.name("a.mwt.part");
    std::fs::write(&part, &bytes[..bytes.len() / 2]).expect("written");
    let (code, text, _) = run(&["replay", &part]);
    assert_eq!(code, Some(1), "{text}");
    assert!(
        text.contains("DAMAGED: cut off in the block at byte"),
        "{text}"
    );
    assert!(text.contains("identical, "), "{text}");
    // The same name is recorded again over the part.
    folder.record("door-jams", "a.mwt");
}

#[test]
fn what_is_no_trace_ends_with_two_and_a_remedy() {
    let folder = Folder::new();
    let other = folder.name("other.toml");
    std::fs::write(&other, "title = \"t\"\n").expect("written");
    for command in ["replay", "compare"] {
        let mut arguments = vec![command, other.as_str()];
        if command == "compare" {
            arguments.push(&other);
        }
        let (code, out, error) = run(&arguments);
        assert_eq!(code, Some(2), "{command}");
        assert!(out.is_empty());
        assert!(
            error.contains("no trace") && error.contains("--record"),
            "{error}"
        );
    }
    let (code, _, error) = run(&["replay", &folder.name("none.mwt")]);
    assert_eq!(code, Some(2));
    assert!(error.contains("none.mwt"), "{error}");
}

#[test]
fn nothing_but_a_trace_is_written_over() {
    let folder = Folder::new();
    let other = folder.name("notes.txt");
    std::fs::write(&other, "mine").expect("written");
    let (code, _, error) = run(&["run", "door-jams", "--record", &other]);
    assert_eq!(code, Some(2), "{error}");
    assert!(error.contains("is no trace"), "{error}");
    let (code, _, error) = run(&["run", "door-jams", "--quiet", "--journal-out", &other]);
    assert_eq!(code, Some(2), "{error}");
    let (code, _, error) = run(&["cockpit", "--plain", "--record", &other]);
    assert_eq!(code, Some(2), "{error}");
    assert_eq!(std::fs::read_to_string(&other).expect("kept"), "mine");
}

#[test]
fn a_memory_is_kept_over_a_memory_only_and_its_place_is_looked_at_before_the_flight() {
    let folder = Folder::new();
    let keep = |path: &str| run(&["run", "door-jams", "--quiet", "--journal-out", path]);
    let foreign = folder.name("foreign.bin");
    std::fs::write(&foreign, [0x41; 440]).expect("written");
    let nowhere = folder.name("none/memory.bin");
    for path in [&foreign, &nowhere] {
        let (code, out, error) = keep(path);
        assert_eq!(code, Some(2), "{error}");
        assert!(out.is_empty(), "it was not flown: {out}");
        assert!(error.contains("`--journal-out`"), "{error}");
    }
    assert!(keep(&nowhere).2.contains("none: "), "the folder is named");
    assert_eq!(std::fs::read(&foreign).expect("kept"), [0x41; 440]);
    let memory = folder.name("memory.bin");
    assert_eq!(keep(&memory).0, Some(0), "a new one");
    let mut torn = std::fs::read(&memory).expect("kept");
    torn[100] ^= 1;
    torn[320] ^= 1;
    for there in [torn, vec![0xff; 440]] {
        std::fs::write(&memory, there).expect("written");
        let (code, _, error) = keep(&memory);
        assert_eq!(code, Some(0), "{error}");
    }
    // As other files: who may read it is for the user to say.
    let trace = folder.record("door-jams", "a.mwt");
    let rights = |path: &str| std::fs::metadata(path).expect("kept").permissions();
    assert_eq!(rights(&memory), rights(&trace));
    let both = [
        "run",
        "door-jams",
        "--record",
        &memory,
        "--journal-out",
        &memory,
    ];
    let (code, _, error) = run(&both);
    assert_eq!(code, Some(2), "{error}");
}

#[test]
fn two_flights_are_compared_by_tick_and_by_event() {
    let folder = Folder::new();
    let a = folder.record("emergency-stow", "a.mwt");
    let b = folder.record("parking-sensor-fails", "b.mwt");
    let (code, text, _) = run(&["compare", &a, &a]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("alike, "), "{text}");
    let (code, text, _) = run(&["compare", &a, &b]);
    assert_eq!(code, Some(1), "{text}");
    for part in [
        "Where they first part",
        "What happened, aligned by event",
        "FAULT",
    ] {
        assert!(text.contains(part), "{part}:\n{text}");
    }
    assert!(
        text.lines().all(|line| line.chars().count() <= 100),
        "{text}"
    );
    let (code, text, _) = run(&["compare", &a, &b, "--json"]);
    assert_eq!(code, Some(1));
    let document: serde_json::Value = serde_json::from_str(&text).expect("one document");
    assert_eq!(document["equal"], false);
    assert!(
        document["comparison"]["first"][0]["tick"].is_u64(),
        "{text}"
    );
}

#[test]
fn what_parts_two_flights_is_told_in_plain_words_from_its_first_row_on() {
    let folder = Folder::new();
    let a = folder.record("emergency-stow", "a.mwt");
    let b = folder.record("parking-sensor-fails", "b.mwt");
    let (_, text, _) = run(&["compare", &a, &b]);
    for part in [
        "stop-and-stow switch: A off; B on",
        "    14.42 s      12.42 s  pilot     stop on",
        "A motor brakes at 2376 rpm; B motor brakes\n",
    ] {
        assert!(text.contains(part), "{part}:\n{text}");
    }
    // Nothing is told as this program's source would write it.
    for part in ["{", "EnumSet", "Permille", "Some("] {
        assert!(!text.contains(part), "{part}:\n{text}");
    }
    let mut lines = text.lines().filter(|line| !line.contains(".mwt"));
    assert_eq!(lines.find(|line| line.chars().count() > 80), None);
    let (_, text, _) = run(&["compare", &a, &b, "--json"]);
    let document: serde_json::Value = serde_json::from_str(&text).expect("one document");
    let first = document["comparison"]["first"].as_array().expect("a list");
    let ticks: Vec<u64> = first
        .iter()
        .map(|parting| parting["tick"].as_u64().expect("a tick"))
        .collect();
    assert!(ticks.len() > 3 && ticks.is_sorted(), "{ticks:?}");
}

#[test]
fn of_what_cannot_be_read_nothing_is_said_to_have_been_missing() {
    let folder = Folder::new();
    let whole = folder.record("parking-sensor-fails", "a.mwt");
    let bytes = std::fs::read(&whole).expect("kept");
    let cut = folder.name("cut.mwt");
    let compared = |length: usize| {
        std::fs::write(&cut, &bytes[..length]).expect("written");
        run(&["compare", &whole, &cut])
    };
    // Cut before the halt; cut behind the header, before the first tick is whole.
    let mut lengths = (1..).map(|kib| kib * 1024);
    let short = lengths.find(|length| compared(*length).0 != Some(2));
    for length in [bytes.len() * 2 / 5, short.expect("the header ends")] {
        let (code, text, _) = compared(length);
        assert_eq!(code, Some(1), "{text}");
        assert!(text.contains("Compared up to "), "{text}");
        assert!(text.contains("  ?  PHASE     Halted"), "{text}");
        assert!(!text.contains("  -  "), "{text}");
        assert!(!text.contains("\nalike, "), "{text}");
        let (_, text, _) = run(&["compare", &cut, &whole, "--json"]);
        let document: serde_json::Value = serde_json::from_str(&text).expect("one document");
        let rows = document["comparison"]["rows"].as_array().expect("rows");
        let last = rows.last().expect("a row");
        assert_eq!(last["untold"], true, "{last}");
        let read = &document["comparison"]["read"];
        assert_eq!(Some(length) == short, read[0] == 0, "{read}");
        assert_eq!(document["comparison"]["ticks"], read[0], "{read}");
    }
}

#[test]
fn the_controllers_record_is_kept_read_and_made_a_scenario_of() {
    let folder = Folder::new();
    let memory = folder.name("memory.bin");
    let arguments = [
        "run",
        "parking-sensor-fails",
        "--quiet",
        "--journal-out",
        &memory,
    ];
    assert_eq!(run(&arguments).0, Some(0));
    assert_eq!(std::fs::metadata(&memory).expect("kept").len(), 440);
    let skeleton = folder.name("skeleton.toml");
    let (code, text, error) = run(&["journal", &memory, "-o", &skeleton]);
    assert_eq!(code, Some(0), "{error}");
    for part in [
        "slot A",
        "slot B",
        "stale",
        "the newest",
        "BladeSensorLost",
        "Written: ",
    ] {
        assert!(text.contains(part), "{part}:\n{text}");
    }
    let (code, text, error) = run(&["run", &skeleton, "--quiet"]);
    assert_eq!(code, Some(0), "{text}{error}");
    let trace = folder.record("parking-sensor-fails", "a.mwt");
    let (_, of_trace, _) = run(&["journal", &trace, "--json"]);
    let (_, of_memory, _) = run(&["journal", &memory, "--json"]);
    let slots = |text: &str| -> serde_json::Value {
        let document: serde_json::Value = serde_json::from_str(text).expect("one document");
        document["slots"].clone()
    };
    assert_eq!(slots(&of_trace), slots(&of_memory));
}

#[test]
fn slots_are_found_in_a_longer_dump_and_a_wrong_length_is_refused() {
    let folder = Folder::new();
    let memory = folder.name("memory.bin");
    run(&["run", "door-jams", "--quiet", "--journal-out", &memory]);
    let bytes = std::fs::read(&memory).expect("kept");
    let dump = folder.name("dump.bin");
    let long = [&[0xff; 64][..], &bytes[..220], &[0xff; 100], &bytes[220..]].concat();
    std::fs::write(&dump, long).expect("written");
    let (code, _, error) = run(&["journal", &dump]);
    assert_eq!(code, Some(2));
    assert!(error.contains("--at A,B"), "{error}");
    let (code, text, _) = run(&["journal", &dump, "--at", "64,384"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("the newest"), "{text}");
    for places in ["100,100", "64,283"] {
        let (code, _, error) = run(&["journal", &dump, "--at", places]);
        assert_eq!(code, Some(2), "{places}");
        assert!(error.contains("overlap"), "{error}");
    }
    let blank = folder.name("blank.bin");
    std::fs::write(&blank, [0xff; 440]).expect("written");
    let (code, text, _) = run(&["journal", &blank]);
    assert_eq!(code, Some(1));
    assert!(text.contains("never written"), "{text}");
}

#[test]
fn a_failing_run_is_shrunk_to_a_scenario_that_fails_the_same_way() {
    let folder = Folder::new();
    let failing = folder.name("failing.toml");
    let shipped = include_str!("../../docs/scenarios/door-jams.toml");
    let at = shipped.find("[expect]").expect("it expects something");
    let text = format!("{}[expect]\nvisits = [\"Thrust\"]\n", &shipped[..at]);
    std::fs::write(&failing, text).expect("written");
    let trace = folder.name("failing.mwt");
    let (code, ..) = run(&["run", &failing, "--quiet", "--record", &trace]);
    assert_eq!(code, Some(1));
    for from in [&failing, &trace] {
        let least = folder.name("least.toml");
        let (code, text, error) = run(&["shrink", from, "-o", &least]);
        assert_eq!(code, Some(0), "{error}");
        assert!(
            text.contains("Still fails: passes through Thrust"),
            "{text}"
        );
        let made = std::fs::read_to_string(&least).expect("written");
        // Paths are as long as they are.
        let lines = text.lines().filter(|line| !line.contains(&least));
        let comments = made.lines().take_while(|line| line.starts_with('#'));
        assert!(made.starts_with("# Made by mastwright: it still fails: "));
        for line in lines.chain(comments) {
            assert!(line.chars().count() <= 80, "{line}");
        }
        let (code, text, _) = run(&["run", &least, "--quiet"]);
        assert_eq!(code, Some(1), "{text}");
        // Shrunk again, it says once where it comes from.
        let again = folder.name("again.toml");
        assert_eq!(run(&["shrink", &least, "-o", &again]).0, Some(0));
        let again = std::fs::read_to_string(&again).expect("written");
        let comments = |text: &str| text.lines().filter(|line| line.starts_with('#')).count();
        assert_eq!(comments(&again), comments(&made), "{again}");
    }
    let none = folder.name("none.mwt");
    std::fs::write(&none, "mine").expect("written");
    let (code, _, error) = run(&["shrink", &none]);
    assert_eq!(code, Some(2));
    assert!(error.contains("is no trace"), "{error}");
    let (code, _, error) = run(&["shrink", "normal-flight"]);
    assert_eq!(code, Some(2));
    assert!(error.contains("it does not fail"), "{error}");
}

#[test]
fn a_cockpit_session_and_a_matrix_cell_are_recorded() {
    let folder = Folder::new();
    let session = folder.name("session.mwt");
    let (code, text, error) = run(&[
        "cockpit",
        "door-jams",
        "--plain",
        "--at-once",
        "--record",
        &session,
    ]);
    assert_eq!(code, Some(0), "{text}{error}");
    assert_eq!(run(&["replay", &session]).0, Some(0));
    let (code, _, error) = run(&["replay", &session, "--cockpit"]);
    assert_eq!(code, Some(2), "there is no terminal here: {error}");
    assert!(error.contains("replay it without `--cockpit`"), "{error}");
    let cell = folder.name("cell.mwt");
    let (_, text, error) = run(&[
        "matrix",
        "--cell",
        "stop-in-flight@900/mechanics.mast-jam/acts",
        "--record",
        &cell,
    ]);
    assert!(text.contains("Recorded: "), "{text}{error}");
    assert_eq!(run(&["replay", &cell]).0, Some(0));
}

#[test]
fn the_flight_of_a_story_of_the_exploration_is_recorded() {
    let folder = Folder::new();
    let stories = folder.name("stories");
    let (code, text, error) = run(&[
        "explore", "--faults", "1", "--only", "airspeed", "--check", "SR-23", "--write", &stories,
    ]);
    assert_eq!(
        code,
        Some(1),
        "one source of airspeed is believed: {text}{error}"
    );
    let written = std::fs::read_dir(&stories).expect("the folder of stories");
    let traces: Vec<String> = written
        .map(|entry| entry.expect("a readable folder").path())
        .filter(|path| path.extension().is_some_and(|end| end == "mwt"))
        .map(|path| path.display().to_string())
        .collect();
    assert_eq!(traces.len(), 1, "{text}");
    let (code, text, error) = run(&["replay", &traces[0]]);
    assert_eq!(code, Some(0), "{text}{error}");
    assert!(text.contains("identical"), "{text}");
}

#[test]
fn a_report_is_told_within_eighty_columns() {
    let folder = Folder::new();
    let trace = folder.record("parking-sensor-fails", "a.mwt");
    let (code, text, error) = run(&["report", &trace, "-o", &folder.name("page.html")]);
    assert_eq!(code, Some(0), "{error}");
    assert!(text.contains("explained: "), "{text}");
    // Paths are as long as they are.
    let mut lines = text.lines().filter(|line| !line.contains("page.html"));
    assert_eq!(lines.find(|line| line.chars().count() > 80), None);
}

#[test]
fn a_flight_without_breach_or_halt_is_said_to_need_no_explanation() {
    let folder = Folder::new();
    let trace = folder.record("normal-flight", "a.mwt");
    let (code, text, error) = run(&["report", &trace, "-o", &folder.name("page.html")]);
    assert_eq!(code, Some(0), "{error}");
    assert!(text.contains("nothing needs explaining"), "{text}");
    assert!(!text.contains("explained: "), "{text}");
}

#[test]
fn a_blade_strike_is_explained_by_what_let_the_mast_move() {
    let folder = Folder::new();
    let page = folder.name("page.html");
    let trace = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../docs/incidents/gust-on-the-way-down.mwt"
    );
    let (code, text, error) = run(&["report", trace, "-o", &page]);
    assert_eq!(code, Some(1), "{error}");
    assert!(text.contains("explained: mast retracts at 60 %"), "{text}");
    let page = std::fs::read_to_string(page).expect("written");
    assert!(
        page.contains("--why &#39;mast moved&#39; --at "),
        "the command"
    );
    assert!(page.contains("For the mast drive to be off, it was enough that"));
}

#[test]
fn help_fits_eighty_columns_and_cautions() {
    for command in ["replay", "compare", "journal", "shrink"] {
        let (code, text, _) = run(&[command, "--help"]);
        assert_eq!(code, Some(0));
        assert!(text.contains("Keep clear of propellers"), "{text}");
        let wide = text.lines().find(|line| line.chars().count() > 80);
        assert_eq!(wide, None);
    }
}
