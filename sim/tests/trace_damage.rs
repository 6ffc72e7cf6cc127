//! What is damaged in a trace is told by every command that reads one.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Every command that reads a trace and tells of its flight, with what it is asked; the trace
/// stands behind its name.
const READERS: &[(&str, &[&str])] = &[
    ("replay", &[]),
    ("report", &["-o", "page.html"]),
    (
        "export",
        &["--to", "csv", "--signals", "world.powered", "-o", "out.csv"],
    ),
    ("compare", &["whole.mwt"]),
    ("journal", &[]),
    ("explain", &["--why", "halted"]),
];

struct Folder(tempfile::TempDir);

impl Folder {
    /// A folder with a flight of some blocks in it, `whole.mwt`.
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().expect("a folder"));
        let words = [
            "run",
            "parking-sensor-fails",
            "--quiet",
            "--record",
            "whole.mwt",
        ];
        let (code, _, error) = folder.run(&words);
        assert_eq!(code, Some(0), "{error}");
        folder
    }

    fn run(&self, arguments: &[&str]) -> (Option<i32>, String, String) {
        let output = Command::new(env!("CARGO_BIN_EXE_mastwright"))
            .args(arguments)
            .env("NO_COLOR", "1")
            .current_dir(self.0.path())
            .output()
            .expect("the program runs");
        let words = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let (out, error) = (words(&output.stdout), words(&output.stderr));
        (output.status.code(), out, error)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).expect("it was written")
    }

    /// The first line of the flight, and its blocks.
    fn blocks(&self) -> (Vec<u8>, Vec<Vec<u8>>) {
        blocks(&self.path("whole.mwt"))
    }

    fn write(&self, name: &str, line: &[u8], blocks: &[Vec<u8>]) {
        let bytes = [line, &blocks.concat()].concat();
        std::fs::write(self.path(name), bytes).expect("written");
    }

    /// What each reader of the trace of this name tells; all of them end with 1.
    fn told_by_all(&self, name: &str) -> Vec<(&'static str, String)> {
        let readers = READERS.iter().map(|(command, asked)| {
            let (code, out, error) = self.run(&[&[*command, name], *asked].concat());
            assert_eq!(code, Some(1), "{command} {name}: {out}{error}");
            (*command, out)
        });
        readers.collect()
    }
}

/// A trace's first line and its blocks, as `docs/trace-format.md` says.
fn blocks(path: &Path) -> (Vec<u8>, Vec<Vec<u8>>) {
    let bytes = std::fs::read(path).expect("kept");
    let line = bytes
        .iter()
        .position(|byte| *byte == b'\n')
        .expect("a line")
        + 1;
    let (line, mut rest) = bytes.split_at(line);
    let mut blocks = Vec::new();
    while let Some(length) = rest.get(16..20) {
        let length = u32::from_le_bytes(length.try_into().expect("four bytes"));
        let (block, behind) = rest.split_at(24 + length as usize);
        blocks.push(block.to_vec());
        rest = behind;
    }
    (line.to_vec(), blocks)
}

/// The words, whatever the lines.
fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn whatever_is_damaged_every_reader_tells_it_and_ends_with_one() {
    let folder = Folder::new();
    let (line, whole) = folder.blocks();
    let changed = |change: &dyn Fn(&mut Vec<Vec<u8>>)| {
        let mut blocks = whole.clone();
        change(&mut blocks);
        blocks
    };
    let cases = [
        (
            "missing.mwt",
            changed(&|blocks| drop(blocks.remove(1))),
            "DAMAGED: blocks are missing before byte",
        ),
        (
            "swapped.mwt",
            changed(&|blocks| blocks.swap(1, 2)),
            "the block of ticks 0 to 511 (0.00 to 5.11 s); it is read in its turn, no tick is lost",
        ),
        (
            "doubled.mwt",
            changed(&|blocks| blocks.insert(2, blocks[1].clone())),
            "DAMAGED: a second copy of ticks 0 to 511 (0.00 to 5.11 s) at byte",
        ),
        (
            "stray.mwt",
            changed(&|blocks| blocks.push(b"fourteen bytes".to_vec())),
            "DAMAGED: 14 bytes at byte",
        ),
        (
            "cut.mwt",
            changed(&|blocks| blocks.truncate(7)),
            "DAMAGED: without its end",
        ),
        (
            "flipped.mwt",
            changed(&|blocks| blocks[4][30] ^= 0x10),
            "ticks 1536 to 2047 (15.36 to 20.47 s) are lost",
        ),
    ];
    for (name, blocks, damage) in cases {
        folder.write(name, &line, &blocks);
        for (command, out) in folder.told_by_all(name) {
            assert!(unwrapped(&out).contains(damage), "{command} {name}: {out}");
            // What follows it is a file's text, which is copied.
            let prose = out.split("\nThe likeliest scenario").next();
            let mut lines = prose.unwrap_or_default().lines();
            let wide = lines.find(|line| line.chars().count() > 80);
            assert_eq!(wide, None, "{command} {name}");
        }
        for command in ["replay", "journal", "explain", "compare"] {
            let mut words = vec![command, name, "--json"];
            let asked = READERS.iter().find(|(reader, _)| *reader == command);
            words.extend(asked.map_or(&[][..], |(_, asked)| asked));
            let (code, out, _) = folder.run(&words);
            assert_eq!(code, Some(1), "{command} {name}");
            let document: serde_json::Value = serde_json::from_str(&out).expect("one document");
            let told = match command {
                "replay" => &document["recorded"]["damage"],
                "compare" => &document["a"]["damage"],
                _ => &document["damage"],
            };
            assert_eq!(
                told.as_array().map(Vec::len),
                Some(1),
                "{command} {name}: {out}"
            );
        }
    }
    let mut readers = READERS.iter();
    readers.by_ref().for_each(|(command, asked)| {
        let (code, out, error) = folder.run(&[&[*command, "whole.mwt"], *asked].concat());
        assert_eq!(code, Some(0), "{command}: {out}{error}");
        assert!(!out.contains("DAMAGED"), "{command}: {out}");
    });
}

#[test]
fn what_is_shrunk_from_a_damaged_trace_says_so_beside_the_scenario() {
    let folder = Folder(tempfile::tempdir().expect("a folder"));
    let incidents = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/incidents");
    let (line, mut blocks) = blocks(&incidents.join("gust-on-the-way-down.mwt"));
    blocks[2][30] ^= 0x10;
    folder.write("flipped.mwt", &line, &blocks);
    let lost = "are lost";
    let (code, out, error) = folder.run(&["shrink", "flipped.mwt"]);
    assert_eq!(code, Some(1), "{error}");
    assert!(out.starts_with("# Made by mastwright"), "{out}");
    let told = unwrapped(&error);
    assert!(told.contains("DAMAGED") && told.contains(lost), "{error}");
    let (code, out, _) = folder.run(&["shrink", "flipped.mwt", "--json"]);
    assert_eq!(code, Some(1));
    let document: serde_json::Value = serde_json::from_str(&out).expect("one document");
    let damage = document["damage"][0].as_str().unwrap_or_default();
    assert!(damage.contains(lost), "{out}");
    let (code, out, _) = folder.run(&["shrink", "flipped.mwt", "-o", "least.toml"]);
    assert_eq!(code, Some(1));
    assert!(unwrapped(&out).contains(lost), "{out}");
    let comment = folder.read("least.toml").replace("\n#", "");
    assert!(
        unwrapped(&comment).contains("of a damaged trace"),
        "{comment}"
    );
}

#[test]
fn what_is_told_of_a_lost_part_names_the_ticks_lost_and_no_others() {
    let folder = Folder::new();
    let (line, mut blocks) = folder.blocks();
    blocks[4][30] ^= 0x10;
    folder.write("flipped.mwt", &line, &blocks);
    assert_eq!(folder.run(&["report", "flipped.mwt"]).0, Some(1));
    let page = folder.read("flipped.html");
    for part in [
        "Judged up to 15.36 s only: ticks 1536 to 2047 (15.36 to 20.47 s) are lost",
        "answers 1536 ticks as recorded; then ticks 1536 to 2047 (15.36 to 20.47 s) are lost",
    ] {
        assert!(page.contains(part), "{part}");
    }
    let (code, _, error) = folder.run(&["explain", "flipped.mwt", "--at", "16"]);
    assert_eq!(code, Some(2));
    assert!(unwrapped(&error).contains("ticks 1536 to 2047"), "{error}");
    let (_, out, _) = folder.run(&["explain", "flipped.mwt", "--why", "halted"]);
    assert!(
        out.contains("the last such moment in what can be read"),
        "{out}"
    );
    let (_, out, _) = folder.run(&["journal", "flipped.mwt"]);
    let led = "The controller was led through 1536 ticks (15.36 s); then ticks 1536 to 2047";
    assert!(unwrapped(&out).contains(led), "{out}");
    let (_, out, _) = folder.run(&["replay", "flipped.mwt", "--cockpit"]);
    let flown = "8488 ticks as recorded; 512 ticks of the trace cannot be read";
    assert!(unwrapped(&out).contains(flown), "{out}");
    // Judged from the first tick on, or not at all.
    blocks[4][30] ^= 0x10;
    blocks.remove(1);
    folder.write("headless.mwt", &line, &blocks);
    assert_eq!(folder.run(&["report", "headless.mwt"]).0, Some(1));
    let page = folder.read("headless.html");
    assert!(
        page.contains("Judged up to 0.00 s only: ticks 0 to 511"),
        "{page}"
    );
}

#[test]
fn a_page_of_what_today_answers_otherwise_says_so_and_in_which_tick() {
    let folder = Folder::new();
    let kept = include_bytes!("../../tests/tests/traces/version-1.mwt");
    std::fs::write(folder.path("kept.mwt"), kept).expect("written");
    let (code, out, _) = folder.run(&["replay", "kept.mwt", "--json"]);
    let replayed: serde_json::Value = serde_json::from_str(&out).expect("one document");
    let (reported, ..) = folder.run(&["report", "kept.mwt"]);
    let page = folder.read("kept.html");
    let said = match replayed["difference"]["tick"].as_u64() {
        Some(tick) => {
            assert_eq!((code, reported), (Some(1), Some(0)));
            format!("answers OTHERWISE than recorded: {tick} ticks are the same, tick {tick} ")
        }
        None => "ticks as recorded.".to_owned(),
    };
    assert!(page.contains(&said), "{said}");
}

#[test]
fn names_and_settings_of_a_header_are_shown_and_said() {
    let folder = Folder::new();
    let (line, mut blocks) = folder.blocks();
    let mut header: serde_json::Value = serde_json::from_slice(&blocks[0][24..]).expect("JSON");
    header["scenario"]["name"] = "a\u{1b}[31mred".into();
    let settings = header["settings"].as_object_mut().expect("settings");
    assert!(settings.remove("brake_time").is_some());
    settings.insert("brake_tixe".to_owned(), 1.into());
    let payload = header.to_string().into_bytes();
    let mut block = blocks[0][..20].to_vec();
    block[16..].copy_from_slice(&u32::try_from(payload.len()).expect("short").to_le_bytes());
    let sum = crc(&[&block[..], &payload].concat());
    block.extend_from_slice(&sum.to_le_bytes());
    block.extend_from_slice(&payload);
    blocks[0] = block;
    folder.write("named.mwt", &line, &blocks);
    let (code, out, error) = folder.run(&["replay", "named.mwt"]);
    assert_eq!(code, Some(0), "{out}{error}");
    for part in [
        "scenario a\\u{1b}[31mred, seed 1",
        "Settings the controller does not have any more: brake_tixe",
        "Settings that the trace does not have, taken as they are today: brake_time",
    ] {
        assert!(unwrapped(&out).contains(part), "{part}: {out}");
    }
    for (command, asked) in READERS {
        let (_, out, error) = folder.run(&[&[*command, "named.mwt"], *asked].concat());
        assert!(
            !out.contains('\u{1b}') && !error.contains('\u{1b}'),
            "{command}"
        );
    }
    let page = folder.read("page.html");
    assert!(page.contains("does not have these settings, which are as today: brake_time."));
}

/// CRC-32/ISO-HDLC, bit by bit.
fn crc(bytes: &[u8]) -> u32 {
    let step = |sum: u32, byte: &u8| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
            (sum >> 1) ^ (0xedb8_8320 & (sum & 1).wrapping_neg())
        })
    };
    !bytes.iter().fold(!0, step)
}

#[test]
fn a_question_is_asked_for_by_both_its_names_and_times_are_told_in_hundredths() {
    let folder = Folder::new();
    let (code, _, error) = folder.run(&["explain", "whole.mwt"]);
    assert_eq!(code, Some(2));
    assert!(error.contains("<--at <T>|--why <WHAT>>"), "{error}");
    let (code, out, _) = folder.run(&["explain", "whole.mwt", "--why", "halted", "--json"]);
    assert_eq!(code, Some(0));
    let times = ["\"time\":", "\"since\":", "\"began\":", "\"ended\":"];
    let mut told = 0;
    for row in out.lines().map(|row| row.trim().trim_end_matches(',')) {
        let Some(time) = times.iter().find_map(|name| row.strip_prefix(name)) else {
            continue;
        };
        let decimals = time.split_once('.').map_or("", |(_, decimals)| decimals);
        assert!(decimals.len() <= 2, "{row}");
        told += 1;
    }
    assert!(told > 5, "{out}");
}
