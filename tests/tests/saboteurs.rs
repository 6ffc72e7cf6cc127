//! Every saboteur is caught, and the honest one passes the same trial.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use mastwright_sim::oracle::REQUIREMENTS;
use mastwright_tests::saboteurs::{Caught, Saboteur, all};

/// Where the table of what was found stands.
const DOCUMENT: &str = "docs/saboteurs.md";
/// Set to write the table anew instead of comparing it.
const RENEW: &str = "MASTWRIGHT_RENEW";
const BEGIN: &str = "<!-- table: written by tests/tests/saboteurs.rs -->\n";

#[test]
fn every_saboteur_is_caught_and_the_honest_one_passes_the_same_trial() {
    let mut caught = Vec::new();
    let mut failures = String::new();
    for saboteur in all() {
        let Saboteur { name, breaks, .. } = saboteur;
        match saboteur.catch() {
            Ok(found) => {
                println!("{breaks} {name} ({}): {}", saboteur.tried(), found.breach);
                caught.push((saboteur, found));
            }
            Err(why) => {
                let _ = writeln!(failures, "{breaks} {name} ({}): {why}", saboteur.tried());
            }
        }
    }
    assert!(failures.is_empty(), "\n{failures}");
    compare_with_document(&table(&caught));
}

/// It drives the mast at 2.5 s; a confirmation is only given at 5 s, and lapses later.
#[test]
fn restraint_taken_for_granted_is_caught_though_acknowledge_was_held_to_enter_bench() {
    let saboteur = all()
        .find(|saboteur| saboteur.name == "takes-restraint-for-granted")
        .expect("the table has it");
    let caught = saboteur.catch().expect("it is caught");
    assert!(
        caught.breach.contains("restraint not confirmed"),
        "{}",
        caught.breach
    );
    assert!(caught.breach.contains("at 2."), "{}", caught.breach);
}

#[test]
fn every_requirement_has_a_saboteur() {
    let broken: BTreeSet<&str> = all().map(|saboteur| saboteur.breaks).collect();
    for requirement in REQUIREMENTS {
        assert!(broken.contains(requirement.id), "{}", requirement.id);
    }
}

#[test]
fn the_document_of_requirements_names_every_saboteur_where_it_belongs() {
    let text = read("docs/safety-requirements.md");
    for saboteur in all().filter(|saboteur| saboteur.breaks.starts_with("SR")) {
        let section = text
            .split("\n## ")
            .find(|section| section.starts_with(saboteur.breaks))
            .expect("every requirement has its section");
        let mut words = section.split(|c: char| !c.is_alphanumeric() && c != '-');
        assert!(
            words.any(|word| word == saboteur.name),
            "{} is not named under {}",
            saboteur.name,
            saboteur.breaks
        );
    }
}

#[test]
fn no_two_entries_are_the_same() {
    let entries: BTreeSet<_> = all()
        .map(|saboteur| (saboteur.name, saboteur.breaks, saboteur.tried()))
        .collect();
    assert_eq!(entries.len(), all().count());
}

/// The table of the document, sorted by what is broken: requirements, then hazards.
fn table(caught: &[(&Saboteur, Caught)]) -> String {
    let mut rows: Vec<_> = caught.iter().collect();
    rows.sort_by_key(|(saboteur, _)| (saboteur.breaks.starts_with("HZ"), saboteur.breaks));
    let mut table = String::from(
        "| breaks | saboteur | what it does | caught in | breaks besides |\n|---|---|---|---|---|\n",
    );
    for (saboteur, found) in rows {
        let _ = writeln!(
            table,
            "| {} | {} | {} | {} | {} |",
            saboteur.breaks,
            saboteur.name,
            saboteur.does,
            saboteur.tried(),
            found.besides.join(", "),
        );
    }
    table
}

fn compare_with_document(table: &str) {
    let text = read(DOCUMENT);
    let (head, written) = text
        .split_once(BEGIN)
        .expect("the document marks its table");
    if std::env::var_os(RENEW).is_some() {
        std::fs::write(place(DOCUMENT), format!("{head}{BEGIN}{table}"))
            .expect("the document can be written");
        return;
    }
    assert!(
        written == table,
        "{DOCUMENT} shows another table; look at the difference, then write it anew with\n    \
         {RENEW}=1 cargo test -p mastwright-tests --test saboteurs\n{table}"
    );
}

fn read(file: &str) -> String {
    std::fs::read_to_string(place(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
}

fn place(file: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(file)
}
