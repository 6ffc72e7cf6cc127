//! The debrief of a flight: what happened, and what held.

use crate::cockpit::desk::Desk;
use crate::flight::{Outcome, Row};
use crate::report::CAUTION;

/// Most lines a text is scrolled by.
pub(super) const MOST_LINES: usize = 10_000;
/// Most entries of the tape on the page.
const ENTRIES: usize = 500;

/// The pages of the debrief up to the tick shown: what is to be said of the lesson, if
/// one is flown, then the verdict.
pub(super) fn debrief(desk: &Desk) -> Vec<String> {
    let mut pages = Vec::new();
    if let Some(debrief) = desk.debrief() {
        let mut text = Vec::new();
        if debrief.text(&mut text).is_ok() {
            pages.push(String::from_utf8_lossy(&text).into_owned());
        }
    }
    pages.extend(verdict(desk));
    pages
}

fn verdict(desk: &Desk) -> Vec<String> {
    let verdict = desk.verdict();
    let mut first = format!(
        "# {}\nseen up to {:.2} s; seed {}\n\n# Hazards, judged in plant truth\n",
        desk.scenario().title,
        desk.frame().seconds(),
        desk.seed(),
    );
    verdict.hazards.iter().for_each(|row| first += &line(row));
    let mut second = "# Safety requirements\n".to_owned();
    verdict
        .requirements
        .iter()
        .for_each(|row| second += &line(row));
    let mut third = "# What was done and what came of it\n".to_owned();
    for entry in desk.entries(ENTRIES) {
        third += &format!("{:>8.2} s  {}\n", entry.time, entry.text);
    }
    for page in [&mut first, &mut second, &mut third] {
        *page += &format!("\n{CAUTION}\n");
    }
    vec![first, second, third]
}

fn line(row: &Row) -> String {
    match &row.outcome {
        Outcome::Held => format!("yes {} {}: held\n", row.id, row.title),
        Outcome::Broken { at, why } => {
            format!("NO {} {}: broken at {at:.2} s, {why}\n", row.id, row.title)
        }
        Outcome::NotExercised => format!("{} {}: not exercised\n", row.id, row.title),
        Outcome::JudgedElsewhere { .. } => {
            format!("{} {}: does not show in a flight\n", row.id, row.title)
        }
    }
}
