//! `mastwright compare`: where two recorded flights part, and what follows.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;

use super::replay::{about, open, seconds};
use super::{BROKEN, GOOD};
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::number::counted;
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
    how_far(out, compared)?;
    if compared.is_equal() {
        writeln!(out, "alike, {} ticks", compared.ticks)?;
    } else if compared.ticks == 0 {
        writeln!(out, "No tick can be read in both: nothing was compared.")?;
    } else if compared.first.is_empty() {
        writeln!(out, "alike in the {} ticks both have", compared.ticks)?;
    } else {
        writeln!(out, "Where they first part")?;
        for parting in &compared.first {
            part(out, parting)?;
        }
    }
    rows(out, compared, all)?;
    caution(out)
}

/// How many ticks were compared, where that is not all of both.
fn how_far(out: &mut dyn Write, compared: &Comparison) -> io::Result<()> {
    let [a, b] = compared.lengths;
    if compared.broken_off.is_none() && a == b {
        return Ok(());
    }
    let seconds = |ticks: u64| format!("{:.2} s", seconds(ticks));
    let up_to = format!(
        "Compared up to {} ({} ticks); A has {a} ticks, B {b}.",
        seconds(compared.ticks),
        compared.ticks
    );
    paragraph(out, &up_to)?;
    if let Some(why) = &compared.broken_off {
        paragraph(out, &format!("No further: {why}."))?;
    }
    for (name, read, length) in [("A", compared.read[0], a), ("B", compared.read[1], b)] {
        if read < length {
            let lost = format!("What happened in {name} is told up to {}.", seconds(read));
            paragraph(out, &lost)?;
        }
    }
    writeln!(out)
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
    let count = compared.rows.len();
    if compared.same_events() && count > 0 {
        writeln!(
            out,
            "\nThe same {} came in both, in the same order.",
            counted(count as u64, "event")
        )?;
    }
    let from = match (all, compared.parted()) {
        (true, _) => 0,
        (false, Some(parted)) => parted.saturating_sub(BEFORE),
        (false, None) => return Ok(()),
    };
    writeln!(out, "\nWhat happened, aligned by event")?;
    if from > 0 {
        writeln!(
            out,
            "  {} before these came in both at the same time (--all shows them)",
            counted(from as u64, "event")
        )?;
    }
    if compared.rows.iter().any(|row| row.untold) {
        writeln!(
            out,
            "  ? one of them has no tick there that can be read: it is not known"
        )?;
    }
    writeln!(out, "       in A         in B")?;
    compared.rows[from..]
        .iter()
        .try_for_each(|one| row(out, one))
}

fn row(out: &mut dyn Write, row: &Row) -> io::Result<()> {
    let none = if row.untold { "?" } else { "-" };
    let time =
        |time: Option<f64>| time.map_or_else(|| none.to_owned(), |time| format!("{time:.2} s"));
    let text = match &row.text_b {
        Some(b) => format!("A {}; B {b}", row.text),
        None => row.text.clone(),
    };
    let mut lines = wrap(&text, COLUMNS - ROW).into_iter();
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
