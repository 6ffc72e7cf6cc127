//! The saboteurs through the exploration: how many transitions its shortest counterexample to
//! each takes. The table stands in the document of the exploration.

use std::fmt::Write as _;
use std::path::Path;

use mastwright_tests::saboteurs::all;
use mastwright_tests::saboteurs::explored::{Seen, look};

const DOCUMENT: &str = "docs/exploration.md";
/// Set to write the table anew instead of comparing it.
const RENEW: &str = "MASTWRIGHT_RENEW";
const BEGIN: &str = "<!-- table: written by tests/tests/exploration_saboteurs.rs -->\n";
const END: &str = "<!-- end of table -->\n";

#[test]
#[ignore = "explores some sixty spaces: minutes"]
fn the_document_tells_the_shortest_counterexample_to_each_saboteur() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .join(DOCUMENT);
    let text = std::fs::read_to_string(&path).expect("the document can be read");
    let (before, rest) = text.split_once(BEGIN).expect("the table begins");
    let (table, after) = rest.split_once(END).expect("the table ends");
    let found = found();
    if std::env::var_os(RENEW).is_some() {
        let text = format!("{before}{BEGIN}{found}{END}{after}");
        std::fs::write(&path, text).expect("the document can be written");
        return;
    }
    assert_eq!(
        table, found,
        "{DOCUMENT} is out of date; renew it: \
         {RENEW}=1 cargo test -p mastwright-tests --test exploration_saboteurs -- --ignored"
    );
}

fn found() -> String {
    let mut table = "| saboteur | breaks | counterexample |\n|---|---|---|\n".to_owned();
    for (which, saboteur) in (0..).zip(all()) {
        let seen = match look(which, saboteur) {
            Seen::In(depth, None) => format!("{depth} transitions"),
            Seen::In(depth, Some(trouble)) => format!("{depth} transitions, with `{trouble}`"),
            Seen::Not(why) => format!("none: {why}"),
        };
        let (name, breaks) = (saboteur.name, saboteur.breaks);
        println!("{name} {breaks}: {seen}");
        let _ = writeln!(table, "| {name} | {breaks} | {seen} |");
    }
    table
}
