//! The command as its users meet it.

use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

fn mastwright(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(arguments)
        .output()
        .expect("the program runs")
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn file(name: &str, text: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::File::create(&path)
        .and_then(|mut file| file.write_all(text.as_bytes()))
        .expect("the test's own directory can be written");
    path
}

#[test]
fn help_says_what_the_tool_is_and_what_it_is_not() {
    for arguments in [&["--help"][..], &["run", "--help"], &["list", "--help"]] {
        let output = mastwright(arguments);
        let text = out(&output);
        assert!(output.status.success());
        for part in [
            "not certified",
            "flight",
            "Keep clear of propellers",
            "2 bad input",
        ] {
            assert!(text.contains(part), "{arguments:?} lacks {part:?}\n{text}");
        }
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
    }
}

#[test]
fn an_unknown_scenario_ends_with_two_and_offers_the_one_meant() {
    let output = mastwright(&["run", "emergncy-stow"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("emergency-stow"), "{}", err(&output));
    assert!(out(&output).is_empty());
}

#[test]
fn a_wrong_scenario_file_ends_with_two_and_shows_file_line_and_column() {
    let path = file(
        "misspelt.toml",
        "title = \"t\"\nbriefing = \"Invented.\"\nlenght = 60\n",
    );
    let output = mastwright(&["run", path.to_str().expect("a plain path")]);
    let text = err(&output);
    assert_eq!(output.status.code(), Some(2));
    assert!(text.contains("misspelt.toml:3:1"), "{text}");
    assert!(text.contains("did you mean `length`"), "{text}");
    assert!(text.contains("lenght = 60"), "{text}");
    assert!(out(&output).is_empty());
}

#[test]
fn a_file_that_is_no_text_ends_with_two() {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("bytes.toml");
    std::fs::write(&path, [0xff, 0xfe, 0x00]).expect("the test's own directory");
    let output = mastwright(&["run", path.to_str().expect("a plain path")]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("cannot be read"), "{}", err(&output));
}

#[test]
fn unknown_arguments_end_with_two() {
    for arguments in [
        &["fly"][..],
        &["run"],
        &["run", "x", "--seed", "-1"],
        &["list", "all"],
    ] {
        let output = mastwright(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!err(&output).is_empty(), "{arguments:?}");
    }
}

#[test]
fn the_lists_name_what_there_is() {
    for (what, row) in [
        ("scenarios", "brown-out-mid-move"),
        ("requirements", "SR-06"),
        ("states", "StowMast"),
        ("settings", "precharge_share"),
    ] {
        let output = mastwright(&["list", what]);
        assert!(output.status.success());
        assert!(out(&output).contains(row), "{what}");
    }
}

#[test]
fn a_reader_that_leaves_early_causes_no_panic() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(["list", "settings"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("the program ends");
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(err(&output).is_empty(), "{}", err(&output));
}
