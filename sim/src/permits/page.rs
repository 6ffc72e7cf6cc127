//! The page `docs/permits.md`.

use std::fmt::Write as _;

use super::rows::truth;
use super::study::{Effect, Study};
use super::text::{coupled, decision, each_of, number, shared, tally};
use super::{all, coupling, letter, name};
use crate::report::layout::wrap;

const HEAD: &str = "\
# Permissions

Bench and training tool; not certified, not airworthy. Local codes, the flight manual and
licensed practice come first. Keep clear of propellers.

Nothing is driven unless a permission allows it. This page is made from the controller's
own table and predicate (`Permission` in `firmware-core/src/interlock.rs`) by
`mastwright permits --page`; a test fails when this file differs.

A *condition* is something proven in this tick; what is unknown is not proven. A
*clause* holds when any one of its conditions is proven. A permission is given when every
clause holds; each clause that does not is a reason for denial, and a denial lists all.
Since what is not proven is absent, every permission serves
[SR-11](safety-requirements.md#sr-11) besides those named with it.

For each condition a pair of rows of the truth table is shown in which only this
condition differs, and with it the decision: its independent effect, as modified
condition/decision coverage asks for (unique-cause form). Source of the criterion:
ECSS-E-ST-40C and NASA/TM-2001-210876, both quoted by a third party, not read. A condition
without such a pair would be redundant. *n* pairs take at least *n* + 1 rows.

The rows shown find a predicate in which a condition is dropped, turned round or added
from outside, or clauses are left out or joined wrongly (`tests/tests/permits.rs`). The
criterion does not promise to find a condition of the permission that is needed, or is
enough, in a clause where it does not belong. Therefore every row of every table, not only
those shown, is held against the clauses too: the decision, and the reasons given; and in
every clause each of its conditions decides alone in some row. `mastwright permits --full`
prints all rows.

";

/// The page of these studies.
#[must_use]
pub fn page(studies: &[Study]) -> String {
    let mut page = String::from(HEAD);
    overview(&mut page, studies);
    for study in studies {
        permission(&mut page, study);
    }
    couplings(&mut page);
    page
}

/// The page of every permission.
#[must_use]
pub fn whole() -> String {
    let studies: Vec<Study> = all().map(Study::of).collect();
    page(&studies)
}

fn overview(page: &mut String, studies: &[Study]) {
    page.push_str("| permission | it allows to | conditions | rows | permitted | shown |\n");
    page.push_str("|---|---|---:|---:|---:|---:|\n");
    for study in studies {
        let name = name(study.permission);
        line(
            page,
            format_args!(
                "| [{name}](#{name}) | {} | {} | {} | {} | {} |",
                study
                    .permission
                    .meaning()
                    .trim_end_matches('.')
                    .to_lowercase(),
                study.rows.conditions().len(),
                study.rows.count(),
                study.permitting(),
                study.cover.rows.len()
            ),
        );
    }
}

fn permission(page: &mut String, study: &Study) {
    let requirements = study.permission.requirements().iter();
    let links: Vec<String> = requirements
        .map(|id| format!("[{id}](safety-requirements.md#{})", id.to_lowercase()))
        .collect();
    line(page, format_args!("\n## {}\n", name(study.permission)));
    let serves = format!(
        "{} Serves {}.",
        study.permission.meaning(),
        links.join(", ")
    );
    paragraph(page, &serves);
    page.push('\n');
    conditions(page, study);
    clauses(page, study);
    rows(page, study);
    remarks(page, study);
    page.push('\n');
    paragraph(page, &tally(study));
    for finding in &study.findings {
        page.push('\n');
        paragraph(page, &format!("**Wrong**: {finding}."));
    }
}

fn conditions(page: &mut String, study: &Study) {
    page.push_str("| | condition | in words | denied in row | permitted in row |\n");
    page.push_str("|---|---|---|---:|---:|\n");
    let each = study.rows.conditions().iter().zip(&study.effects);
    for (index, (condition, effect)) in each.enumerate() {
        let (without, with) = match effect {
            Effect::Shown(pair) | Effect::Coupled(pair, _) => {
                (marked(study, pair.without), marked(study, pair.with))
            }
            Effect::None => ("none".to_owned(), "none".to_owned()),
        };
        line(
            page,
            format_args!(
                "| {} | `{condition:?}` | {} | {without} | {with} |",
                letter(index),
                condition.meaning()
            ),
        );
    }
}

/// The number of a row, with a mark where it cannot come about.
fn marked(study: &Study, row: super::rows::Row) -> String {
    let mark = if study.possible(row) { "" } else { "\\*" };
    format!("{}{mark}", number(study, row))
}

fn clauses(page: &mut String, study: &Study) {
    page.push_str("\n| every one of these must hold | otherwise denied |\n|---|---|\n");
    for clause in &study.clauses {
        let names: Vec<String> = each_of(study, clause)
            .map(|(index, condition)| format!("{} `{condition:?}`", letter(index)))
            .collect();
        let (names, words) = (names.join(" or "), clause.reason.words());
        line(page, format_args!("| {names} | {words} |"));
    }
}

fn rows(page: &mut String, study: &Study) {
    let count = study.rows.conditions().len();
    let letters: Vec<String> = (0..count).map(|index| letter(index).to_string()).collect();
    page.push_str("\nT: proven. F: not proven.\n\n");
    line(
        page,
        format_args!("| row | {} | decision |", letters.join(" | ")),
    );
    line(page, format_args!("|---:|{}---|", "---|".repeat(count)));
    for row in &study.cover.rows {
        let values: Vec<&str> = (0..count).map(|index| truth(*row, index)).collect();
        line(
            page,
            format_args!(
                "| {} | {} | {} |",
                marked(study, *row),
                values.join(" | "),
                decision(study, *row)
            ),
        );
    }
}

fn remarks(page: &mut String, study: &Study) {
    for (names, why) in coupled(study) {
        page.push('\n');
        paragraph(
            page,
            &format!(
                "\\* No tick can bring this row, so the condition never decides \
                 alone. {names}: {why}"
            ),
        );
    }
    for (reason, why) in shared(study) {
        page.push('\n');
        paragraph(
            page,
            &format!("Two clauses are denied by \"{reason}\". {why}"),
        );
    }
}

fn couplings(page: &mut String) {
    page.push_str(
        "\n## Rows that cannot come about\n\n\
         A truth table treats its conditions as free. These are not, by the way the \
         controller\nproves them; rows that they rule out are used above only where no \
         other row shows an\neffect, and are marked. The rules are checked against what \
         the controller proves under\nrandom inputs and in flown missions; that there are \
         no further ones is not proven.\n\n\
         | when all of these are proven | so is one of these | because |\n|---|---|---|\n",
    );
    for coupling in coupling::COUPLINGS {
        let names = |set: mastwright_core::interlock::Conditions, joint: &str, none: &str| {
            let names: Vec<String> = set.iter().map(|one| format!("`{one:?}`")).collect();
            if names.is_empty() {
                none.to_owned()
            } else {
                names.join(joint)
            }
        };
        line(
            page,
            format_args!(
                "| {} | {} | {} |",
                names(coupling.if_all, " and ", "always"),
                names(coupling.then_any, " or ", "never together"),
                coupling.why
            ),
        );
    }
}

/// Text in lines as wide as the other documents'.
fn paragraph(page: &mut String, text: &str) {
    for text in wrap(text, 90) {
        line(page, format_args!("{text}"));
    }
}

fn line(page: &mut String, text: std::fmt::Arguments<'_>) {
    writeln!(page, "{text}").expect("writing to a string cannot fail");
}
