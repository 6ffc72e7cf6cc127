//! The saboteurs through the exploration: how many transitions the shortest counterexample
//! to each takes.

use mastwright_tests::methods::{Document, EXPLORATION};
use mastwright_tests::saboteurs::all;
use mastwright_tests::saboteurs::explored::{Seen, look};

#[test]
#[ignore = "explores some sixty spaces: minutes"]
fn the_document_tells_the_shortest_counterexample_to_each_saboteur() {
    let mut found: Vec<(&str, String)> = Vec::new();
    for (which, saboteur) in (0..).zip(all()) {
        let seen = match look(which, saboteur) {
            Seen::In(depth, None) => format!("{depth} transitions"),
            Seen::In(depth, Some(trouble)) => format!("{depth} transitions, with `{trouble}`"),
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
