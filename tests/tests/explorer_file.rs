//! The file of an exploration: interrupted, resumed, cut short, damaged, mistaken.

use std::fs;
use std::path::{Path, PathBuf};

use mastwright_sim::explore::engine::{
    Ended, Found, Limits, Options, Save, Store, Unusable, explore, shortest,
};
use mastwright_tests::spaces::drawn::Drawn;

/// A few thousand states in a few dozen levels, with a check broken early and one late.
fn space() -> Drawn {
    let edges = (0..8000_u32).flat_map(|from| {
        [3, 5].map(|factor| {
            let to = (from * factor + 1) % 8000;
            (
                (from, to),
                (0, u64::from(to == 16) | u64::from(to == 4321) << 1),
            )
        })
    });
    Drawn {
        edges: edges.collect(),
    }
}

/// An empty place for the file of one test.
fn file(name: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("explorer-{name}.levels"));
    if path.exists() {
        fs::remove_file(&path).expect("an old file can be removed");
    }
    path
}

fn saving(path: &Path, resume: bool, depth: Option<u32>) -> Options<'static> {
    Options {
        threads: 2,
        limits: Limits {
            depth,
            ..Limits::default()
        },
        save: Some(Save {
            path: path.to_owned(),
            fingerprint: "a test of the file".to_owned(),
            resume,
        }),
        ..Options::default()
    }
}

fn run(options: &Options<'_>) -> Result<Found<Drawn>, Unusable> {
    explore(&space(), options, &mut |_| ())
}

fn refusal(options: &Options<'_>) -> String {
    run(options).expect_err("it cannot be used").to_string()
}

fn assert_same(found: &Found<Drawn>, whole: &Found<Drawn>) {
    assert_eq!((found.ended, whole.ended), (Ended::Whole, Ended::Whole));
    assert_eq!(found.levels, whole.levels);
    assert_eq!(found.transitions, whole.transitions);
    assert_eq!(found.broken, whole.broken);
    assert_eq!(found.tally, whole.tally);
    assert_eq!(found.broken.checks(), 0b11);
    for check in [0, 1] {
        let path = shortest(&space(), whole, check, 2);
        assert!(path.is_some() && shortest(&space(), found, check, 2) == path);
    }
}

#[test]
fn a_resumed_exploration_finds_and_writes_what_an_uninterrupted_one_does() {
    let (whole_file, file) = (file("whole"), file("resumed"));
    let whole = run(&saving(&whole_file, false, None)).expect("it can be written");
    let begun = run(&saving(&file, false, Some(6))).expect("it can be written");
    assert_eq!((begun.ended, begun.levels.len()), (Ended::DepthLimit, 7));
    let found = run(&saving(&file, true, None)).expect("it can be resumed");
    let resumed = found.resumed.expect("it was");
    assert_eq!((resumed.levels, resumed.dropped), (7, 0));
    assert_eq!(resumed.states, begun.states());
    assert_same(&found, &whole);
    assert!(fs::read(&file).ok() == fs::read(&whole_file).ok());
}

#[test]
fn a_complete_file_answers_again() {
    let file = file("complete");
    let whole = run(&saving(&file, false, None)).expect("it can be written");
    let again = run(&saving(&file, true, None)).expect("it can be resumed");
    assert_same(&again, &whole);
}

#[test]
fn whatever_is_not_whole_at_its_end_is_explored_again() {
    let file = file("cut");
    let whole = run(&saving(&file, false, None)).expect("it can be written");
    let bytes = fs::read(&file).expect("it was written");
    for cut in [1, 9, 100, bytes.len() / 2] {
        fs::write(&file, &bytes[..bytes.len() - cut]).expect("it can be written");
        let found = run(&saving(&file, true, None)).expect("it can be resumed");
        assert!(found.resumed.is_some_and(|resumed| resumed.dropped > 0));
        assert_same(&found, &whole);
        assert!(fs::read(&file).is_ok_and(|again| again == bytes));
    }
}

#[test]
fn a_damaged_level_and_all_after_it_are_explored_again() {
    let file = file("damaged");
    let whole = run(&saving(&file, false, None)).expect("it can be written");
    let mut bytes = fs::read(&file).expect("it was written");
    let middle = bytes.len() / 2;
    for at in [middle, middle + 3, bytes.len() - 1] {
        bytes[at] ^= 0x10;
        fs::write(&file, &bytes).expect("it can be written");
        let found = run(&saving(&file, true, None)).expect("it can be resumed");
        assert!(found.resumed.is_some_and(|resumed| resumed.dropped > 0));
        assert_same(&found, &whole);
        bytes[at] ^= 0x10;
    }
}

#[test]
fn hashes_resume_as_whole_states_do() {
    let file = file("hashes");
    let store = Store::Compact { bits: 64, seed: 7 };
    let with = |resume, depth| Options {
        store,
        ..saving(&file, resume, depth)
    };
    run(&with(false, Some(5))).expect("it can be written");
    let found = run(&with(true, None)).expect("it can be resumed");
    let whole = run(&Options::default()).expect("no file is in use");
    assert_eq!((found.ended, found.levels), (Ended::Whole, whole.levels));
    assert_eq!(found.transitions, whole.transitions);
    // Whole states cannot go on from what hashes may have missed.
    assert!(refusal(&saving(&file, true, None)).contains("of another exploration"));
}

#[test]
fn a_file_of_another_build_is_refused_and_kept() {
    let file = file("build");
    run(&saving(&file, false, Some(2))).expect("it can be written");
    let before = fs::read(&file).ok();
    let mut other = saving(&file, true, None);
    other.save = other.save.map(|save| Save {
        fingerprint: "another build".to_owned(),
        ..save
    });
    let refusal = refusal(&other);
    assert!(refusal.contains("a test of the file") && refusal.contains("another build"));
    assert!(before.is_some() && fs::read(&file).ok() == before);
}

#[test]
fn a_file_of_another_version_is_refused_and_kept() {
    let file = file("version");
    run(&saving(&file, false, Some(2))).expect("it can be written");
    let mut bytes = fs::read(&file).expect("it was written");
    assert_eq!(bytes[7], 2, "the version stands here");
    bytes[7] = 1;
    fs::write(&file, &bytes).expect("it can be written");
    assert!(refusal(&saving(&file, true, None)).contains("no exploration that this version"));
    assert!(fs::read(&file).is_ok_and(|kept| kept == bytes));
}

#[test]
fn a_file_that_is_there_is_not_overwritten() {
    let file = file("there");
    fs::write(&file, "dear diary").expect("it can be written");
    assert!(refusal(&saving(&file, false, None)).contains("--resume"));
    assert!(refusal(&saving(&file, true, None)).contains("no exploration"));
    assert!(fs::read(&file).is_ok_and(|text| text == b"dear diary"));
}

#[test]
fn a_file_that_is_not_there_cannot_be_resumed() {
    let file = file("absent");
    assert!(refusal(&saving(&file, true, None)).contains("absent"));
    assert!(!file.exists());
}
