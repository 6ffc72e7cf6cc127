//! A report for people: lines of at most 80 columns, readable without colour.

use std::io::{self, Write};

use super::layout::{COLUMNS, visible, wrap};
use super::paint::{Paint, Tone};
use super::timeline::{Entry, Kind};
use super::{CAUTION, Report};
use crate::flight::{Outcome, Row};
use crate::scenario::Scenario;
use crate::scenario::expect::Finding;

/// Columns before the text of a timeline entry: time, kind.
const ENTRY: usize = 22;
/// Columns before the text of a verdict row: id, outcome.
const ROW: usize = 24;

/// How the rows of a verdict are to be read.
const LEGEND: &str = "held: put to the test and unbroken. not exercised: nothing put it to the \
    test, so this run shows nothing about it. Each in full: mastwright list requirements.";

/// Prints what a scenario is about.
///
/// # Errors
/// When `out` cannot be written.
pub fn heading(
    out: &mut dyn Write,
    scenario: &Scenario,
    seed: u64,
    paint: Paint,
) -> io::Result<()> {
    let title = visible(&scenario.title);
    writeln!(out, "{}", paint.tint(Tone::Strong, &title))?;
    for paragraph in scenario.briefing.split("\n\n") {
        for line in wrap(paragraph, COLUMNS - 2) {
            writeln!(out, "  {line}")?;
        }
    }
    let name = visible(&scenario.name);
    writeln!(out, "  scenario {name}, seed {seed}\n")
}

/// Prints what no report may be read without.
///
/// # Errors
/// When `out` cannot be written.
pub fn caution(out: &mut dyn Write) -> io::Result<()> {
    writeln!(out)?;
    paragraph(out, CAUTION)
}

/// Prints a paragraph in lines of at most 80 columns.
///
/// # Errors
/// When `out` cannot be written.
pub fn paragraph(out: &mut dyn Write, text: &str) -> io::Result<()> {
    let mut lines = wrap(text, COLUMNS).into_iter();
    lines.try_for_each(|line| writeln!(out, "{line}"))
}

/// Prints one entry of the timeline.
///
/// # Errors
/// When `out` cannot be written.
pub fn entry(out: &mut dyn Write, entry: &Entry, paint: Paint) -> io::Result<()> {
    let (label, tone) = label(entry.kind);
    let mut lines = wrap(&entry.text, COLUMNS - ENTRY).into_iter();
    let first = lines.next().unwrap_or_default();
    let text_tone = if entry.kind == Kind::Phase {
        tone
    } else {
        Tone::Plain
    };
    writeln!(
        out,
        "{:>8.2} s  {}{}",
        entry.time,
        paint.tint(tone, &format!("{label:<10}")),
        paint.tint(text_tone, &first)
    )?;
    for line in lines {
        writeln!(out, "{:ENTRY$}{line}", "")?;
    }
    Ok(())
}

pub(crate) const fn label(kind: Kind) -> (&'static str, Tone) {
    match kind {
        Kind::Pilot => ("pilot", Tone::Plain),
        Kind::Fault => ("FAULT", Tone::Strong),
        Kind::Supply => ("SUPPLY", Tone::Strong),
        Kind::Asked => ("asked", Tone::Plain),
        Kind::Phase => ("PHASE", Tone::Strong),
        Kind::Bus => ("bus", Tone::Plain),
        Kind::Drive => ("drive", Tone::Plain),
        Kind::Denied => ("denied", Tone::Plain),
        Kind::Warning => ("WARNING", Tone::Warning),
        Kind::Caution => ("CAUTION", Tone::Caution),
        Kind::Advisory => ("ADVISORY", Tone::Plain),
        Kind::Crew => ("crew", Tone::Plain),
        Kind::Heat => ("HEAT", Tone::Warning),
        Kind::Target => ("target", Tone::Plain),
    }
}

/// Prints how a flight ended and what is to be thought of it.
///
/// # Errors
/// When `out` cannot be written.
pub fn conclusion(out: &mut dyn Write, report: &Report, paint: Paint) -> io::Result<()> {
    let end = &report.end;
    writeln!(
        out,
        "\n{}",
        paint.tint(Tone::Strong, &format!("At the end, {:.2} s", end.time))
    )?;
    for line in wrap(&end.words(), COLUMNS - 2) {
        writeln!(out, "  {line}")?;
    }
    if !report.never_began.is_empty() {
        let text = "Never began: the moment did not come";
        writeln!(out, "\n{}", paint.tint(Tone::Caution, text))?;
        for line in report
            .never_began
            .iter()
            .flat_map(|what| wrap(what, COLUMNS - 2))
        {
            writeln!(out, "  {line}")?;
        }
    }
    writeln!(
        out,
        "\n{}",
        paint.tint(Tone::Strong, "Hazards, judged in plant truth")
    )?;
    report
        .verdict
        .hazards
        .iter()
        .try_for_each(|hazard| row(out, hazard, paint))?;
    writeln!(out, "\n{}", paint.tint(Tone::Strong, "Safety requirements"))?;
    report
        .verdict
        .requirements
        .iter()
        .try_for_each(|judged| row(out, judged, paint))?;
    writeln!(out)?;
    for line in wrap(LEGEND, COLUMNS - 2) {
        writeln!(out, "  {line}")?;
    }
    if !report.expectations.is_empty() {
        writeln!(
            out,
            "\n{}",
            paint.tint(Tone::Strong, "Expectations of the scenario")
        )?;
        report
            .expectations
            .iter()
            .try_for_each(|found| finding(out, found, paint))?;
    }
    result(out, report, paint)?;
    writeln!(out)?;
    wrap(CAUTION, COLUMNS)
        .iter()
        .try_for_each(|line| writeln!(out, "{line}"))
}

fn row(out: &mut dyn Write, row: &Row, paint: Paint) -> io::Result<()> {
    let (label, tone, text) = match &row.outcome {
        Outcome::Held => ("held", Tone::Safe, row.title.clone()),
        Outcome::NotExercised => ("not exercised", Tone::Plain, row.title.clone()),
        Outcome::JudgedElsewhere { by } => {
            let text = format!("{} (judged by tests: {by})", row.title);
            ("not in flight", Tone::Plain, text)
        }
        Outcome::Broken { at, why } => (
            "BROKEN",
            Tone::Warning,
            format!("at {at:.2} s: {why}. {}", row.statement),
        ),
    };
    columns(out, &row.id, label, tone, &text, paint)
}

fn finding(out: &mut dyn Write, found: &Finding, paint: Paint) -> io::Result<()> {
    match &found.instead {
        None => columns(out, "", "as expected", Tone::Safe, &found.expected, paint),
        Some(instead) => {
            let text = format!("{}; instead: {instead}", found.expected);
            columns(out, "", "NOT AS EXPECTED", Tone::Warning, &text, paint)
        }
    }
}

fn columns(
    out: &mut dyn Write,
    id: &str,
    label: &str,
    tone: Tone,
    text: &str,
    paint: Paint,
) -> io::Result<()> {
    let mut lines = wrap(text, COLUMNS - ROW - 2).into_iter();
    let first = lines.next().unwrap_or_default();
    let label = paint.tint(tone, &format!("{label:<17}"));
    writeln!(out, "  {id:<6} {label}{first}")?;
    lines.try_for_each(|line| writeln!(out, "{:width$}{line}", "", width = ROW + 2))
}

fn result(out: &mut dyn Write, report: &Report, paint: Paint) -> io::Result<()> {
    let broken = report.verdict.broken();
    let unmet = report
        .expectations
        .iter()
        .filter(|found| found.instead.is_some())
        .count();
    if report.good {
        let held = "Result: everything put to the test held, and all came as expected.";
        return writeln!(out, "\n{}", paint.tint(Tone::Safe, held));
    }
    let text = format!("Result: {broken} broken, {unmet} not as expected.");
    writeln!(out, "\n{}", paint.tint(Tone::Warning, &text))?;
    writeln!(out, "To see it again: {}", report.replay)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(print: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> String {
        let mut out = Vec::new();
        print(&mut out).expect("memory can be written");
        String::from_utf8(out).expect("text")
    }

    fn an_entry(kind: Kind, text: &str) -> Entry {
        Entry {
            time: 12.346,
            phase: "Thrust",
            kind,
            text: text.to_owned(),
        }
    }

    #[test]
    fn an_entry_is_time_kind_and_text_and_its_continuation_lines_up() {
        let long = "retract mast: doors not proven open; propeller not proven parked; dead time";
        let text = printed(|out| entry(out, &an_entry(Kind::Denied, long), Paint::default()));
        assert_eq!(
            text,
            "   12.35 s  denied    retract mast: doors not proven open; propeller not proven\n\
             \x20                     parked; dead time\n"
        );
    }

    #[test]
    fn no_line_is_wider_than_eighty_columns() {
        let long = "word ".repeat(60);
        let text = printed(|out| entry(out, &an_entry(Kind::Phase, &long), Paint::default()));
        assert!(
            text.lines().all(|line| line.chars().count() <= COLUMNS),
            "{text}"
        );
        let judged = Row {
            id: "SR-00".to_owned(),
            title: "Title".to_owned(),
            statement: long.clone(),
            outcome: Outcome::Broken { at: 1.0, why: long },
        };
        let text = printed(|out| row(out, &judged, Paint::default()));
        assert!(
            text.lines().all(|line| line.chars().count() <= COLUMNS),
            "{text}"
        );
    }

    #[test]
    fn colour_adds_nothing_that_the_words_do_not_say() {
        let alert = an_entry(Kind::Warning, "motor hot");
        let plain = printed(|out| entry(out, &alert, Paint::new(false)));
        let coloured = printed(|out| entry(out, &alert, Paint::new(true)));
        assert!(plain.contains("WARNING") && !plain.contains('\x1b'));
        let stripped = coloured.replace("\x1b[1;31m", "").replace("\x1b[0m", "");
        assert_eq!(stripped, plain);
    }
}
