//! The saboteurs through the exploration: how many transitions the shortest counterexample
//! to each takes.

use mastwright_tests::methods::{Document, EXPLORATION};
use mastwright_tests::saboteurs::all;
use mastwright_tests::saboteurs::explored::{Seen, look};

/// Set to the name of a saboteur to explore that alone and see what comes of it.
const ONLY: &str = "MASTWRIGHT_ONLY";

/// How many transitions, in words.
fn transitions(depth: u32) -> String {
    let many = if depth == 1 { "" } else { "s" };
    format!("{depth} transition{many}")
}

#[test]
#[ignore = "explores some sixty spaces: minutes"]
fn the_document_tells_the_shortest_counterexample_to_each_saboteur() {
    let mut found: Vec<(&str, String)> = Vec::new();
    let only = std::env::var(ONLY).ok();
    for (which, saboteur) in (0..).zip(all()) {
        if only.as_ref().is_some_and(|only| only != saboteur.name) {
            continue;
        }
        let seen = match look(which, saboteur) {
            Seen::In(depth, None) => transitions(depth),
            Seen::In(depth, Some(trouble)) => {
                format!("{}, with `{trouble}`", transitions(depth))
            }
            Seen::Not(why) => format!("not by this method: {why}"),
            Seen::Missed => "not caught".to_owned(),
        };
        let told = format!("{}: {seen}", saboteur.breaks);
        println!("{} {told}", saboteur.name);
        let known = found.iter_mut().find(|(name, _)| *name == saboteur.name);
        match known {
            // Two scenes may try the same.
            Some((_, before)) if before.split("; ").any(|one| one == told) => {}
            Some((_, before)) => *before = format!("{before}; {told}"),
            None => found.push((saboteur.name, told)),
        }
    }
    if only.is_some() {
        return;
    }
    let document = Document::read();
    let of = |name: &str| {
        let row = found.iter().find(|(known, _)| *known == name);
        row.map(|(_, told)| told.clone()).unwrap_or_default()
    };
    let rows = document.with_column(EXPLORATION, of);
    document.hold(
        &rows,
        document.below(),
        "exploration_saboteurs -- --ignored",
    );
}
