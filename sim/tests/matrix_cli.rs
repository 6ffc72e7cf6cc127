//! `mastwright matrix` as it is typed.

use std::path::PathBuf;
use std::process::{Command, Output};

fn matrix(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .arg("matrix")
        .args(arguments)
        .output()
        .expect("the program starts")
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Text on one line, as wide as it comes: without line breaks and their marks.
fn unwrapped(bytes: &[u8]) -> String {
    let text = said(bytes).replace('│', " ");
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ")
}

fn file(name: &str) -> PathBuf {
    let name = format!("mastwright-matrix-{}-{name}", std::process::id());
    std::env::temp_dir().join(name)
}

#[test]
fn a_harmless_part_ends_well_and_a_summary_fits_80_columns() {
    let done = matrix(&["--only", "sensor.auxiliary/dropout"]);
    let text = said(&done.stdout);
    assert_eq!(done.status.code(), Some(0), "{text}{}", said(&done.stderr));
    assert!(
        text.contains("Harm that is not accepted: 0 cells"),
        "{text}"
    );
    assert!(text.contains("no rates"), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn a_cell_is_told_and_its_scenario_runs() {
    let cell = "ground-cycle@600/mechanics.mast-jam/acts";
    let told = matrix(&["--cell", cell]);
    let text = unwrapped(&told.stdout);
    assert!(text.contains("mast-jam"), "{text}");
    assert!(text.contains("frozen_harm_after"), "{text}");

    let path = file("cell.toml");
    std::fs::write(&path, matrix(&["--cell", cell, "--scenario"]).stdout).expect("written");
    let run = Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(["run", &path.to_string_lossy()])
        .output()
        .expect("the program starts");
    assert_eq!(
        run.status.code(),
        told.status.code(),
        "{}",
        said(&run.stderr)
    );
    std::fs::remove_file(path).expect("removed");
}

#[test]
fn a_table_there_already_is_not_overwritten_and_resumes_to_the_same_bytes() {
    let path = file("table.csv");
    let name = path.to_string_lossy();
    let part = ["--only", "door-jam/acts", "--out", &name];
    matrix(&part);
    let bytes = std::fs::read(&path).expect("written");
    let again = matrix(&part);
    assert_eq!(again.status.code(), Some(2));
    assert!(
        said(&again.stderr).contains("--resume"),
        "{}",
        said(&again.stderr)
    );
    std::fs::write(&path, &bytes[..bytes.len() / 2]).expect("written");
    matrix(&[&part[..], &["--resume"]].concat());
    assert!(std::fs::read(&path).expect("written") == bytes);
    std::fs::remove_file(&path).expect("removed");
}

#[test]
fn bad_input_is_refused_with_a_remedy() {
    for (arguments, remedy) in [
        (
            &["--cell", "nowhere@1/link/dropout"][..],
            "there are ground-cycle",
        ),
        (
            &["--cell", "ground-cycle@999999/link/dropout"],
            "give ticks of 10 ms below",
        ),
        (&["--only", "no-such-thing"], "mastwright list faults"),
        (&["--shard", "3/2", "--out", "x.csv"], "K from 1 to N"),
        (&["--scenario"], "give --cell CELL"),
        (&["merge", "no-such-file.csv"], "no-such-file.csv"),
        (&["merge", env!("CARGO_MANIFEST_PATH")], "no table"),
    ] {
        let refused = matrix(arguments);
        assert_eq!(refused.status.code(), Some(2), "{arguments:?}");
        let text = unwrapped(&refused.stderr);
        assert!(text.contains(remedy), "{arguments:?}: {text}");
    }
}

#[test]
fn a_swarm_run_comes_again_by_its_number() {
    let first = matrix(&["--swarm", "1", "--seed", "5", "--scenario"]);
    let again = matrix(&["--swarm", "1", "--seed", "5", "--scenario"]);
    assert!(!first.stdout.is_empty() && first.stdout == again.stdout);
    let done = matrix(&["--swarm", "3", "--seed", "5"]);
    assert!(
        said(&done.stdout).starts_with("3 swarm runs end"),
        "{}",
        said(&done.stdout)
    );
}
