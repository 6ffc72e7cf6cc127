//! The pictures in the documents are what the program shows.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// How to renew them.
const RENEW: &str = "renew it: MASTWRIGHT_RENEW=1 cargo test -p mastwright-sim --test pictures";
/// Largest picture, bytes: a page with a few of them must open at once.
const LARGEST: usize = 200_000;

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A directory of the test's own, with room for pictures.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::create_dir_all(folder.join("docs/pictures")).expect("the test's own directory");
    folder
}

fn mastwright(folder: &Path, arguments: &[String]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_mastwright"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program runs")
}

fn words(line: &str) -> Vec<String> {
    let quoted = line.split('"').enumerate();
    quoted
        .flat_map(|(index, part)| match index % 2 {
            0 => part.split_whitespace().map(str::to_owned).collect(),
            _ => vec![part.to_owned()],
        })
        .collect()
}

/// The commands that stand in the page of pictures, without the program's name.
fn commands() -> Vec<Vec<String>> {
    let page = fs::read_to_string(top().join("docs/pictures/README.md")).expect("the page");
    page.lines()
        .filter_map(|line| line.strip_prefix("mastwright "))
        .map(words)
        .collect()
}

#[test]
fn every_picture_is_what_its_command_makes() {
    let renewed = std::env::var_os("MASTWRIGHT_RENEW").is_some();
    let folder = if renewed { top() } else { folder("renewed") };
    let mut made = Vec::new();
    for command in commands() {
        let output = mastwright(&folder, &command);
        let told = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{command:?}: {told}");
        let name = command.get(2).expect("a file");
        let now = fs::read_to_string(folder.join(name)).expect("it was made");
        let kept = fs::read_to_string(top().join(name));
        let kept = kept.unwrap_or_else(|error| panic!("{name}: {error}; {RENEW}"));
        assert!(now == kept, "{name} is no longer what is shown; {RENEW}");
        assert!(now.len() < LARGEST, "{name} has {} bytes", now.len());
        made.push(name.clone());
    }
    let kept = fs::read_dir(top().join("docs/pictures")).expect("the pictures");
    for entry in kept {
        let name = entry.expect("an entry").file_name();
        let name = format!("docs/pictures/{}", name.display());
        assert!(
            !name.ends_with(".svg") || made.contains(&name),
            "{name}: no command makes it"
        );
    }
    assert!(made.len() >= 4, "only {made:?}");
}

#[test]
fn the_pictures_show_what_they_are_for() {
    for (name, shown) in [
        ("flight", &[">Thrust<", "May: propel?"][..]),
        ("stow", &[">StowMast<", "coming down", "proven parked"]),
        (
            "denied",
            &["will not stow: propeller not proven parked", "Halted"],
        ),
        ("belief", &["Told and true", "1 differ", "11.2 °"]),
        ("faults", &["Fault desk", "of 531 faults"]),
        ("debrief", &["4 of 4 actions in time"]),
    ] {
        let path = top().join(format!("docs/pictures/{name}.svg"));
        let picture = fs::read_to_string(&path).expect("a picture");
        for words in shown {
            assert!(picture.contains(words), "{name} does not show {words:?}");
        }
    }
}

#[test]
fn what_cannot_be_used_ends_with_two_a_remedy_and_no_file() {
    let folder = folder("refused");
    fs::write(folder.join("notes.svg"), "<svg>somebody's own</svg>").expect("written");
    for (line, remedy) in [
        ("picture emergncy-stow a.svg", "emergency-stow"),
        (
            "picture emergency-stow none/a.svg",
            "a folder that is there",
        ),
        ("picture emergency-stow notes.svg", "is there already"),
        ("picture emergency-stow a.svg --at 900", "earlier moment"),
        ("picture emergency-stow a.svg --at never", "--at"),
        ("picture emergency-stow a.svg --at inf", "seconds"),
        ("picture emergency-stow a.svg --size 8x8", "80x24"),
        ("picture emergency-stow a.svg --press Entr", "Enter"),
        (
            "picture emergency-stow a.svg --press \"@2 Space @3\"",
            "Space",
        ),
    ] {
        let output = mastwright(&folder, &words(line));
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{line}: {told}");
        assert!(told.contains(remedy), "{line}: {told}");
        assert!(!folder.join("a.svg").exists(), "{line}");
    }
    let notes = fs::read_to_string(folder.join("notes.svg")).expect("still there");
    assert_eq!(notes, "<svg>somebody's own</svg>");
}
