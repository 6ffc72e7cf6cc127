//! `mastwright run`: fly a scenario, tell what happens, judge it.

pub mod elsewhere;

use std::io::Write;
use std::path::Path;

use miette::{IntoDiagnostic, miette};

use super::record;
use super::{BROKEN, GOOD, Run};
use crate::flight::Flight;
use crate::report::paint::Paint;
use crate::report::{self, text};
use crate::scenario::Scenario;
use crate::scenario::problem::nearest;
use crate::scenario::shipped::{self, Shipped};
use crate::trace::Header;

/// Runs the command; the exit code.
///
/// # Errors
/// When the scenario cannot be used, or `out` not be written.
pub fn run(command: &Run, out: &mut dyn Write) -> miette::Result<u8> {
    super::journal::check(command.journal_out.as_deref())?;
    if command.journal_out.is_some() && command.journal_out == command.record {
        return Err(miette!(
            help = "give each a path of its own",
            "`--record` and `--journal-out` name the same file"
        ));
    }
    if let Some(on) = &command.on {
        return elsewhere::run(command, on, out);
    }
    let scenario = load(&command.scenario)?;
    let seed = command.seed.unwrap_or(scenario.seed);
    let mut flight = record::begin(
        crate::join::take_off(&scenario, seed),
        command.record.as_deref(),
        || Header::new(&scenario, seed, "the controller of the program"),
    )?;
    let paint = Paint::of_stdout();
    let flown = run_scenario(command, &scenario, seed, &mut flight, paint, out)?;
    record::keep_journal(&flight, command.journal_out.as_deref())?;
    record::end(flight, !command.json, out)?;
    Ok(flown)
}

/// Flies `scenario` in `flight` and reports to `out` as `command` asks; the exit code.
///
/// # Errors
/// When `out` cannot be written.
pub fn run_scenario(
    command: &Run,
    scenario: &Scenario,
    seed: u64,
    flight: &mut impl Flight,
    paint: Paint,
    out: &mut dyn Write,
) -> miette::Result<u8> {
    let replay = replay(&command.scenario, seed);
    let spoken = !command.json;
    if spoken {
        text::heading(out, scenario, seed, paint).into_diagnostic()?;
    }
    let mut written = Ok(());
    let report = report::fly(scenario, seed, &replay, flight, |entry| {
        if spoken && !command.quiet && written.is_ok() {
            written = text::entry(out, entry, paint);
        }
    });
    written.into_diagnostic()?;
    if spoken {
        text::conclusion(out, &report, paint).into_diagnostic()?;
    } else {
        serde_json::to_writer_pretty(&mut *out, &report).into_diagnostic()?;
        writeln!(out).into_diagnostic()?;
    }
    Ok(if report.good { GOOD } else { BROKEN })
}

/// The scenario of this name or at this path.
pub(super) fn load(wanted: &str) -> miette::Result<Scenario> {
    if let Some(shipped) = Shipped::named(wanted) {
        return Ok(Scenario::parse(&shipped.file(), shipped.text)?);
    }
    if !Path::new(wanted).exists() {
        let likely = nearest(wanted, shipped::all().map(|shipped| shipped.name))
            .map(|name| format!("did you mean `{name}`? "))
            .unwrap_or_default();
        return Err(miette!(
            help = format!("{likely}`mastwright list scenarios` shows what is shipped"),
            "no shipped scenario is called `{wanted}`, and there is no such file"
        ));
    }
    let text = std::fs::read_to_string(wanted).map_err(|error| {
        miette!(
            help = "give the path of a scenario file in TOML, UTF-8",
            "`{wanted}` cannot be read: {error}"
        )
    })?;
    Ok(Scenario::parse(wanted, &text)?)
}

/// The one command that flies this again.
fn replay(wanted: &str, seed: u64) -> String {
    format!("mastwright run {} --seed {seed}", quoted(wanted))
}

/// A word, quoted for a shell where needed.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
    if word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests;
