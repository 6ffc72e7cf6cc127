//! Telling a difference: where, from which readings, and both answers side by side.

mod answer;
mod reading;

use std::io::{self, Write};

use mastwright_core::{Inputs, Outputs};

pub use answer::{Of, Said, differing};
use reading::leaves;

use super::mirror::Difference;
use crate::frame::TICK;
use crate::report::layout::{COLUMNS, wrap};

/// Columns of the name of an answer, and of what each of the two says.
const NAME: usize = 22;
const CELL: usize = 26;

/// Writes what is to be known about a difference. Readings are those that changed in
/// this tick, or with `full` every one.
///
/// # Errors
/// When `out` cannot be written.
pub fn difference(out: &mut dyn Write, difference: &Difference, full: bool) -> io::Result<()> {
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let seconds = difference.tick as f64 * TICK;
    writeln!(
        out,
        "First difference: tick {} ({seconds:.2} s), frame {}",
        difference.tick, difference.frame
    )?;
    readings(out, difference.before.as_ref(), &difference.inputs, full)?;
    let (host, target) = (&difference.host, &difference.target);
    answers(out, ["host", "target"], &host.outputs, &target.outputs)?;
    let same = if host.state == target.state {
        " (equal)"
    } else {
        ""
    };
    cells(
        out,
        "state of controller",
        &format!("{:08x}", host.state),
        &format!("{:08x}{same}", target.state),
    )
}

/// Writes the readings of a tick: those that are not as in the tick before, or with
/// `full` every one.
///
/// # Errors
/// When `out` cannot be written.
pub fn readings(
    out: &mut dyn Write,
    before: Option<&Inputs>,
    inputs: &Inputs,
    full: bool,
) -> io::Result<()> {
    let now = leaves(inputs);
    let known = before.is_some();
    let before = before.map(leaves).unwrap_or_default();
    let changed = |index: usize| before.get(index).is_none_or(|old| old != &now[index]);
    let shown: Vec<usize> = (0..now.len())
        .filter(|index| full || changed(*index))
        .collect();
    let what = match (full, known) {
        (true, _) | (false, false) => "every reading",
        (false, true) => "readings that changed in this tick",
    };
    writeln!(out, "  {what}: {} of {}", shown.len(), now.len())?;
    for index in shown {
        let (name, value) = &now[index];
        match before.get(index) {
            Some((_, old)) if old != value => {
                let line = format!("    {name:<33} {value:<16} before: {old}");
                if line.chars().count() <= COLUMNS {
                    writeln!(out, "{line}")?;
                } else {
                    writeln!(out, "    {name:<33} {value}\n{:38}before: {old}", "")?;
                }
            }
            Some(_) | None => writeln!(out, "    {name:<33} {value}")?,
        }
    }
    Ok(())
}

/// Readings that are unlike in two ticks: the name, what the first says and the second.
#[must_use]
pub fn readings_apart(first: &Inputs, second: &Inputs) -> Vec<(String, String, String)> {
    if first == second {
        return Vec::new();
    }
    let pairs = leaves(first).into_iter().zip(leaves(second));
    pairs
        .filter(|((_, first), (_, second))| first != second)
        .map(|((name, first), (_, second))| (name, first, second))
        .collect()
}

/// Writes what two answers say otherwise, under the names of those who gave them.
///
/// # Errors
/// When `out` cannot be written.
pub fn answers(
    out: &mut dyn Write,
    [one, other]: [&str; 2],
    first: &Outputs,
    second: &Outputs,
) -> io::Result<()> {
    cells(out, "answer", one, other)?;
    differing(first, second)
        .iter()
        .try_for_each(|said| cells(out, &said.name, &said.first, &said.second))
}

/// A row of the table of answers: as many lines as the longer of both needs.
fn cells(out: &mut dyn Write, name: &str, first: &str, second: &str) -> io::Result<()> {
    let (first, second) = (wrap(first, CELL), wrap(second, CELL));
    for line in 0..first.len().max(second.len()) {
        let of = |lines: &[String]| lines.get(line).cloned().unwrap_or_default();
        let name = if line == 0 { name } else { "" };
        let told = format!("  {name:<NAME$} {:<CELL$} {}", of(&first), of(&second));
        writeln!(out, "{}", told.trim_end())?;
    }
    Ok(())
}
