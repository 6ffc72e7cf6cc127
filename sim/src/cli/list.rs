//! `mastwright list`: what there is.

use std::io::Write;

use clap::ValueEnum;
use mastwright_core::{Settings, State};
use miette::{IntoDiagnostic, miette};

use crate::oracle::{HAZARDS, REQUIREMENTS};
use crate::report::layout::{COLUMNS, wrap};
use crate::report::words;
use crate::scenario::Scenario;
use crate::scenario::shipped::SHIPPED;

/// What can be listed.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub enum What {
    /// The shipped scenarios.
    #[default]
    Scenarios,
    /// The shipped lessons, from the easiest to the hardest; each can also be run.
    Lessons,
    /// Every fault that can be ordered, with its target.
    Faults,
    /// The hazards and safety requirements.
    Requirements,
    /// The controller's states and the ways out of each.
    States,
    /// The controller's settings, with ranges and defaults.
    Settings,
}

/// Lists it.
///
/// # Errors
/// When `out` cannot be written, or a shipped scenario is not in order.
pub fn list(what: What, out: &mut dyn Write) -> miette::Result<()> {
    match what {
        What::Scenarios => rows(out, &scenarios()?),
        What::Lessons => rows(out, &lessons()?),
        What::Faults => rows(out, &crate::join::fault_rows()),
        What::Requirements => rows(out, &requirements()),
        What::States => rows(out, &states()),
        What::Settings => rows(out, &settings()),
    }
}

/// Prints the page of documentation that is made from a list.
///
/// # Errors
/// When there is no such page, or `out` cannot be written.
pub fn page(what: What, out: &mut dyn Write) -> miette::Result<()> {
    match what {
        What::States => write!(out, "{}", crate::diagram::page()).into_diagnostic(),
        What::Scenarios | What::Lessons | What::Faults | What::Requirements | What::Settings => {
            Err(miette!(
                help = "leave `--page` out, or ask for `mastwright list states --page`",
                "only the list of states makes a page"
            ))
        }
    }
}

/// Prints names with what is to be said of them, in two columns where they fit.
fn rows(out: &mut dyn Write, rows: &[(String, String)]) -> miette::Result<()> {
    const NAMES: usize = 26;
    let longest = rows
        .iter()
        .map(|(name, _)| name.chars().count())
        .max()
        .unwrap_or(0);
    let width = longest.min(NAMES) + 2;
    for (name, text) in rows {
        let mut lines = wrap(text, COLUMNS - width).into_iter();
        if name.chars().count() > NAMES {
            writeln!(out, "{name}").into_diagnostic()?;
        } else {
            let first = lines.next().unwrap_or_default();
            writeln!(out, "{name:<width$}{first}").into_diagnostic()?;
        }
        for line in lines {
            writeln!(out, "{:width$}{line}", "").into_diagnostic()?;
        }
    }
    Ok(())
}

fn scenarios() -> miette::Result<Vec<(String, String)>> {
    SHIPPED
        .iter()
        .map(|shipped| {
            let scenario = Scenario::parse(&shipped.file(), shipped.text)?;
            Ok((scenario.name, scenario.title))
        })
        .collect()
}

fn lessons() -> miette::Result<Vec<(String, String)>> {
    let lessons = crate::lesson::shipped()?;
    Ok(lessons
        .iter()
        .map(|lesson| {
            let section = lesson.section();
            let text = format!(
                "level {}: {}. {}",
                section.level,
                lesson.title(),
                section.objectives.join(" ")
            );
            (lesson.name().to_owned(), text)
        })
        .collect())
}

fn requirements() -> Vec<(String, String)> {
    let hazards = HAZARDS.iter().map(|hazard| (hazard.id, hazard.statement));
    let required = REQUIREMENTS.iter().map(|one| (one.id, one.statement));
    hazards
        .chain(required)
        .map(|(id, statement)| (id.to_owned(), statement.to_owned()))
        .collect()
}

fn states() -> Vec<(String, String)> {
    State::ALL
        .iter()
        .map(|state| {
            let ways: Vec<String> = state
                .ways_out()
                .iter()
                .map(|way| format!("to {} when {}", way.to.name(), way.when))
                .collect();
            let text = format!("{}. Ways out: {}.", words::meaning(*state), ways.join("; "));
            (state.name().to_owned(), text)
        })
        .collect()
}

fn settings() -> Vec<(String, String)> {
    Settings::FIELDS
        .iter()
        .map(|field| {
            let steps = match field.step() {
                1 => String::new(),
                step => format!(" in steps of {step}"),
            };
            let text = format!(
                "{} Default {}, from {} to {} {}{steps}.",
                field.meaning.trim(),
                field.default,
                field.min,
                field.max,
                field.unit
            );
            (field.name.to_owned(), text)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_states_make_a_page() {
        let mut out = Vec::new();
        page(What::States, &mut out).expect("memory can be written");
        assert_eq!(
            String::from_utf8(out).expect("text"),
            crate::diagram::page()
        );
        assert!(page(What::Faults, &mut Vec::new()).is_err());
    }

    fn listed(what: What) -> String {
        let mut out = Vec::new();
        list(what, &mut out).expect("memory can be written");
        String::from_utf8(out).expect("text")
    }

    #[test]
    fn every_list_has_its_rows_within_eighty_columns() {
        for (what, row) in [
            (What::Scenarios, "emergency-stow"),
            (What::Lessons, "fans-failed"),
            (What::Requirements, "SR-06"),
            (What::States, "StowMast"),
            (What::Settings, "precharge_share"),
        ] {
            let text = listed(what);
            assert!(text.contains(row), "{what:?}\n{text}");
            assert!(
                text.lines().all(|line| line.chars().count() <= COLUMNS),
                "{text}"
            );
        }
    }
}
