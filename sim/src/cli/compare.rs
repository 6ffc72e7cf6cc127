//! `mastwright compare`: where two recorded flights part, and what follows.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;

use super::replay::{about, open};
use super::{BROKEN, GOOD};
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::text::{caution, label, paragraph};
use crate::trace::{Comparison, Parting, Row, Trace, compare};

/// Rows shown from before two flights part.
const BEFORE: usize = 3;
/// Columns before the text of a row: two times and a kind.
const ROW: usize = 36;
/// Most unlike things shown of one regard.
const MOST: usize = 12;

/// What `mastwright compare` is asked for.
#[derive(Debug, Args)]
pub struct Compare {
    /// A trace.
    a: PathBuf,
    /// Another.
    b: PathBuf,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
    /// Show every event, not only those from where they part.
    #[arg(long, conflicts_with = "json")]
    all: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When a trace cannot be used, or `out` not be written.
pub fn run(command: &Compare, out: &mut dyn Write) -> miette::Result<u8> {
    let (a, b) = (open(&command.a)?, open(&command.b)?);
    let compared = compare(&a, &b).map_err(|why| {
        miette!(
            help = "compare it with the program that recorded it; its header names the build",
            "{why}"
        )
    })?;
    if command.json {
        let document = json!({
            "a": about(&a),
            "b": about(&b),
            "equal": compared.is_equal(),
            "comparison": compared,
            "caution": CAUTION,
        });
        serde_json::to_writer_pretty(&mut *out, &document).into_diagnostic()?;
        writeln!(out).into_diagnostic()?;
    } else {
        tell(out, [&a, &b], &compared, command.all).into_diagnostic()?;
    }
    let whole = a.damage().is_empty() && b.damage().is_empty();
    let good = compared.is_equal() && whole;
    Ok(if good { GOOD } else { BROKEN })
}

fn tell(
    out: &mut dyn Write,
    traces: [&Trace; 2],
    compared: &Comparison,
    all: bool,
) -> io::Result<()> {
    for (name, trace) in ["A", "B"].into_iter().zip(traces) {
        let header = trace.header();
        writeln!(
            out,
            "{name}  {}\n   {}, seed {}, {} ticks\n   {}",
            trace.file(),
            header.scenario.name,
            header.seed,
            trace.len(),
            header.build
        )?;
        for damage in trace.damage() {
            let told = wrap(&format!("DAMAGED: {damage}"), COLUMNS - 3);
            let mut lines = told.iter();
            lines.try_for_each(|line| writeln!(out, "   {line}"))?;
        }
    }
    writeln!(out)?;
    if let Some(why) = &compared.broken_off {
        paragraph(
            out,
            &format!("Compared up to tick {}: {why}", compared.ticks),
        )?;
        writeln!(out)?;
    }
    if compared.first.is_empty() {
        writeln!(out, "alike, {} ticks", compared.ticks)?;
    } else {
        writeln!(out, "Where they first part")?;
        for parting in &compared.first {
            part(out, parting)?;
        }
    }
    if compared.lengths[0] != compared.lengths[1] {
        let [a, b] = compared.lengths;
        writeln!(out, "\nA has {a} ticks, B has {b}.")?;
    }
    rows(out, compared, all)?;
    caution(out)
}

fn part(out: &mut dyn Write, parting: &Parting) -> io::Result<()> {
    writeln!(
        out,
        "{:>8.2} s  {} (tick {})",
        parting.time,
        parting.regard.words(),
        parting.tick
    )?;
    for (name, a, b) in parting.unlike.iter().take(MOST) {
        let told = format!("{name}: A {a}; B {b}");
        for (number, line) in wrap(&told, COLUMNS - 16).into_iter().enumerate() {
            let indent = if number == 0 { 12 } else { 16 };
            writeln!(out, "{:indent$}{line}", "")?;
        }
    }
    if parting.unlike.len() > MOST {
        let more = parting.unlike.len() - MOST;
        writeln!(out, "{:12}and {more} more (--json shows all)", "")?;
    }
    Ok(())
}

fn rows(out: &mut dyn Write, compared: &Comparison, all: bool) -> io::Result<()> {
    let Some(parted) = compared.parted() else {
        let count = compared.rows.len();
        return writeln!(
            out,
            "\nThe same {count} events came in both, in the same order."
        );
    };
    let from = if all {
        0
    } else {
        parted.saturating_sub(BEFORE)
    };
    writeln!(out, "\nWhat happened, aligned by event")?;
    if from > 0 {
        writeln!(
            out,
            "  {from} events before these came in both (--all shows them)"
        )?;
    }
    writeln!(out, "       in A         in B")?;
    compared.rows[from..]
        .iter()
        .try_for_each(|one| row(out, one))
}

fn row(out: &mut dyn Write, row: &Row) -> io::Result<()> {
    let time =
        |time: Option<f64>| time.map_or_else(|| "-".to_owned(), |time| format!("{time:.2} s"));
    let mut lines = wrap(&row.text, COLUMNS - ROW).into_iter();
    writeln!(
        out,
        "{:>11}  {:>11}  {:<10}{}",
        time(row.times[0]),
        time(row.times[1]),
        label(row.kind).0,
        lines.next().unwrap_or_default()
    )?;
    lines.try_for_each(|line| writeln!(out, "{:ROW$}{line}", ""))
}
