//! `mastwright permits` as it is typed.

use std::process::{Command, Output};

fn permits(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .arg("permits")
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

#[test]
fn every_permission_is_told_within_80_columns_and_nothing_is_wrong() {
    let done = permits(&[]);
    let text = said(&done.stdout);
    assert_eq!(done.status.code(), Some(0), "{text}{}", said(&done.stderr));
    for heading in ["propel: ", "extend: ", "close-main: ", "aux-charge: "] {
        assert!(text.contains(&format!("\n{heading}")) || text.starts_with(heading));
    }
    assert!(text.contains("Nothing is wrong"), "{text}");
    assert!(text.contains("not certified"), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn one_permission_shows_conditions_clauses_rows_and_pairs() {
    let done = permits(&["retract"]);
    let text = unwrapped(&done.stdout);
    assert_eq!(done.status.code(), Some(0), "{text}");
    for part in [
        "retract: Lower the mast.",
        "Serves SR-02",
        "Restrained The crew has confirmed",
        "11 conditions, 2048 rows: 5 permitted, 2043 denied.",
        "denied: doors not proven open",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(!text.contains("extend:"), "{text}");
}

#[test]
fn a_name_that_is_not_known_is_refused_with_the_nearest() {
    let refused = permits(&["open-dors"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(refused.stdout.is_empty());
    let text = unwrapped(&refused.stderr);
    assert!(
        text.contains("no permission is called `open-dors`"),
        "{text}"
    );
    assert!(text.contains("did you mean `open-doors`?"), "{text}");
    for both in [&["--json", "--csv"][..], &["retract", "--page"]] {
        assert_eq!(permits(both).status.code(), Some(2), "{both:?}");
    }
}

#[test]
fn the_whole_table_has_a_row_for_every_set_of_conditions() {
    let text = said(&permits(&["retract", "--full"]).stdout);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 1 + (1 << 11));
    let permitted = lines
        .iter()
        .filter(|line| line.split(',').nth(2) == Some("yes"));
    assert_eq!(permitted.count(), 5);
    let shown = said(&permits(&["retract", "--csv"]).stdout);
    assert!(shown.lines().count() < 20, "{shown}");
    for line in shown.lines().skip(1) {
        assert!(lines.contains(&line), "{line}");
    }
}

#[test]
fn one_document_of_json_names_every_permission_and_its_pairs() {
    let text = said(&permits(&["--json"]).stdout);
    let all: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let all = all.as_array().expect("a list");
    assert_eq!(all.len(), 11);
    for one in all {
        let conditions = one["conditions"].as_array().expect("conditions");
        assert!(
            conditions.iter().all(|each| each["denied_in"].is_u64()),
            "{one}"
        );
        assert_eq!(one["findings"].as_array().map(Vec::len), Some(0), "{one}");
    }
}
