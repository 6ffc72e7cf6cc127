//! A permission on the terminal.

use std::io::{self, Write};

use mastwright_core::interlock::{Clause, Condition};

use super::cover::Pair;
use super::rows::{Row, truth};
use super::study::{Effect, Study};
use super::{explained, letter, name};
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::{Paint, Tone};

/// Stands beside a row that no tick can bring.
const IMPOSSIBLE: char = '*';

/// Prints one permission.
///
/// # Errors
/// When `out` cannot be written.
pub fn permission(out: &mut dyn Write, study: &Study, paint: Paint) -> io::Result<()> {
    let heading = format!("{}: {}", name(study.permission), study.permission.meaning());
    writeln!(out, "{}", paint.tint(Tone::Strong, &heading))?;
    let serves = study.permission.requirements().join(", ");
    writeln!(out, "Serves {serves}.\n")?;
    conditions(out, study)?;
    clauses(out, study)?;
    rows(out, study)?;
    pairs(out, study)?;
    remarks(out, study)?;
    wrapped(out, "", &tally(study))?;
    for finding in &study.findings {
        for line in wrap(&format!("WRONG: {finding}."), COLUMNS) {
            writeln!(out, "{}", paint.tint(Tone::Warning, &line))?;
        }
    }
    writeln!(out)
}

fn conditions(out: &mut dyn Write, study: &Study) -> io::Result<()> {
    writeln!(out, "Conditions")?;
    for (index, condition) in study.rows.conditions().iter().enumerate() {
        let label = format!("  {}  {:<16} ", letter(index), format!("{condition:?}"));
        wrapped(out, &label, condition.meaning())?;
    }
    writeln!(out)
}

fn clauses(out: &mut dyn Write, study: &Study) -> io::Result<()> {
    writeln!(out, "Permitted when every line holds; otherwise denied:")?;
    for clause in &study.clauses {
        let letters: Vec<String> = each_of(study, clause)
            .map(|(index, _)| letter(index).to_string())
            .collect();
        let label = format!("  {:<16}    ", letters.join(" or "));
        wrapped(out, &label, clause.reason.words())?;
    }
    writeln!(out)
}

/// The conditions of a clause, with their places.
pub(super) fn each_of<'a>(
    study: &'a Study,
    clause: &'a Clause,
) -> impl Iterator<Item = (usize, Condition)> + 'a {
    let listed = study.rows.conditions().iter().copied().enumerate();
    listed.filter(|(_, condition)| clause.any_of.contains(*condition))
}

fn rows(out: &mut dyn Write, study: &Study) -> io::Result<()> {
    writeln!(out, "Rows of the truth table (T proven, F not proven)")?;
    let count = study.rows.conditions().len();
    let letters: Vec<String> = (0..count).map(|index| letter(index).to_string()).collect();
    writeln!(out, "  row   {}   decision", letters.join(" "))?;
    for (number, row) in study.cover.rows.iter().enumerate() {
        let values: Vec<&str> = (0..count).map(|index| truth(*row, index)).collect();
        let mark = if study.possible(*row) {
            ' '
        } else {
            IMPOSSIBLE
        };
        let label = format!("  {:>3}{mark}  {}   ", number + 1, values.join(" "));
        wrapped(out, &label, &decision(study, *row))?;
    }
    writeln!(out)
}

/// What the permission comes to in a row.
#[must_use]
pub fn decision(study: &Study, row: Row) -> String {
    if study.decides[row] {
        return "permitted".to_owned();
    }
    let words: Vec<&str> = study.reasons[row]
        .iter()
        .map(|reason| reason.words())
        .collect();
    format!("denied: {}", words.join("; "))
}

/// The number under which a row of the cover is shown.
pub(super) fn number(study: &Study, row: Row) -> usize {
    let place = study.cover.rows.iter().position(|shown| *shown == row);
    place.map_or(0, |place| place + 1)
}

fn pairs(out: &mut dyn Write, study: &Study) -> io::Result<()> {
    writeln!(
        out,
        "Pairs in which only this condition differs, and the decision"
    )?;
    let each = study.rows.conditions().iter().zip(&study.effects);
    for (index, (condition, effect)) in each.enumerate() {
        let label = format!("  {}  {:<16} ", letter(index), format!("{condition:?}"));
        let text = match effect {
            Effect::Shown(pair) => rows_of(study, pair),
            Effect::Coupled(pair, _) => format!("{}{IMPOSSIBLE}", rows_of(study, pair)),
            Effect::None => "none: REDUNDANT".to_owned(),
        };
        wrapped(out, &label, &text)?;
    }
    writeln!(out)
}

fn rows_of(study: &Study, pair: &Pair) -> String {
    let said = |row| {
        let verdict = if study.decides[row] {
            "permitted"
        } else {
            "denied"
        };
        format!("row {} {verdict}", number(study, row))
    };
    format!("{}, {}", said(pair.without), said(pair.with))
}

fn remarks(out: &mut dyn Write, study: &Study) -> io::Result<()> {
    let coupled = coupled(study);
    if !coupled.is_empty() {
        let text = "No tick can bring this row, so the condition never decides alone.";
        wrapped(out, &format!("{IMPOSSIBLE} "), text)?;
        for (names, why) in coupled {
            wrapped(out, "  ", &format!("{names}: {why}"))?;
        }
        writeln!(out)?;
    }
    for (reason, why) in shared(study) {
        wrapped(
            out,
            "",
            &format!("Two clauses are denied by \"{reason}\". {why}"),
        )?;
        writeln!(out)?;
    }
    Ok(())
}

/// Conditions that decide nothing in rows that can come about, by the explanation they
/// share.
pub(super) fn coupled(study: &Study) -> Vec<(String, &'static str)> {
    let mut found: Vec<(String, &'static str)> = Vec::new();
    let each = study.rows.conditions().iter().zip(&study.effects);
    for (condition, effect) in each {
        let Effect::Coupled(_, Some(why)) = effect else {
            continue;
        };
        match found.iter_mut().find(|(_, known)| known == why) {
            Some((names, _)) => *names = format!("{names}, {condition:?}"),
            None => found.push((format!("{condition:?}"), why)),
        }
    }
    found
}

/// Reasons that several clauses give, with why.
pub(super) fn shared(study: &Study) -> Vec<(&'static str, &'static str)> {
    let each = explained::SHARED.iter();
    each.filter(|shared| shared.permission == study.permission)
        .map(|shared| (shared.reason.words(), shared.why))
        .collect()
}

/// What the whole table comes to.
#[must_use]
pub fn tally(study: &Study) -> String {
    let (conditions, all) = (study.rows.conditions().len(), study.rows.count());
    let shown = study.cover.rows.len();
    let least = if shown == conditions + 1 {
        "no fewer can".to_owned()
    } else {
        format!("{conditions} conditions take at least {}", conditions + 1)
    };
    format!(
        "{conditions} conditions, {all} rows: {} permitted, {} denied. {shown} rows show the \
         effect of {} conditions; {least}.",
        study.permitting(),
        all - study.permitting(),
        study.cover.shown()
    )
}

/// Prints what was found over all of `studies`; true when nothing is wrong.
///
/// # Errors
/// When `out` cannot be written.
pub fn conclusion(out: &mut dyn Write, studies: &[Study], paint: Paint) -> io::Result<bool> {
    let rows: usize = studies.iter().map(|study| study.rows.count()).sum();
    let wrong: usize = studies.iter().map(|study| study.findings.len()).sum();
    let (tone, text) = if wrong == 0 {
        (
            Tone::Safe,
            format!(
                "Nothing is wrong: in all {rows} rows the decision and its reasons are those \
                 of the clauses, and every condition has its effect or an explanation."
            ),
        )
    } else {
        (
            Tone::Warning,
            format!("WRONG in {wrong} places: see above."),
        )
    };
    for line in wrap(&text, COLUMNS) {
        writeln!(out, "{}", paint.tint(tone, &line))?;
    }
    Ok(wrong == 0)
}

/// Prints `text` after `label`, further lines below its beginning.
fn wrapped(out: &mut dyn Write, label: &str, text: &str) -> io::Result<()> {
    let width = label.chars().count();
    for (place, line) in wrap(text, COLUMNS - width).iter().enumerate() {
        if place == 0 {
            writeln!(out, "{label}{line}")?;
        } else {
            writeln!(out, "{:width$}{line}", "")?;
        }
    }
    Ok(())
}
