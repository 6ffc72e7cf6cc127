//! `mastwright replay`: recorded readings through today's controller.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::{Value, json};

use super::{BROKEN, GOOD};
use crate::frame::TICK;
use crate::link::tell;
use crate::report::CAUTION;
use crate::report::text::{caution, paragraph};
use crate::trace::{Build, CannotReplay, Difference, Replayed, Trace, Unreadable, replay};

/// What `mastwright replay` is asked for.
#[derive(Debug, Args)]
pub struct Replay {
    /// A trace, as `--record` keeps it; a part of one (FILE.part) is read up to its break.
    trace: PathBuf,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
    /// Show every reading of the tick that differs, not only what changed in it.
    #[arg(long, conflicts_with = "json")]
    full_inputs: bool,
    /// Open it in the cockpit, with the scrubber at its beginning. The cockpit flies the
    /// trace's scenario anew, with what hands did and gave, and says from when on that is
    /// not what was recorded.
    #[arg(long, conflicts_with_all = ["json", "full_inputs"])]
    cockpit: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the trace cannot be used, or `out` not be written.
pub fn run(command: &Replay, out: &mut dyn Write) -> miette::Result<u8> {
    let trace = open(&command.trace)?;
    if command.cockpit {
        return super::cockpit::revisit(&trace, out);
    }
    let replayed = replay(&trace).map_err(cannot)?;
    if command.json {
        serde_json::to_writer_pretty(&mut *out, &document(&trace, &replayed)).into_diagnostic()?;
        writeln!(out).into_diagnostic()?;
    } else {
        heading(out, &trace).into_diagnostic()?;
        conclusion(out, &replayed, command.full_inputs).into_diagnostic()?;
    }
    let good = replayed.is_identical() && trace.damage().is_empty();
    Ok(if good { GOOD } else { BROKEN })
}

/// The trace at `path`.
pub(super) fn open(path: &Path) -> miette::Result<Trace> {
    Trace::open(path).map_err(unreadable)
}

/// What to do about a trace that cannot be read.
pub(super) fn unreadable(why: Unreadable) -> miette::Report {
    miette!(help = why.remedy(), "{why}")
}

pub(super) fn cannot(why: CannotReplay) -> miette::Report {
    let help = match &why {
        CannotReplay::Settings { .. } => {
            "replay it with the program that recorded it; its header names the build"
        }
        CannotReplay::Empty { .. } => "give a trace that was recorded for longer",
    };
    miette!(help = help, "{why}")
}

/// What was recorded, by what, and what of it is damaged.
pub(super) fn heading(out: &mut dyn Write, trace: &Trace) -> io::Result<()> {
    let header = trace.header();
    writeln!(out, "{}", header.scenario.title)?;
    writeln!(
        out,
        "  scenario {}, seed {}, {} ticks ({:.2} s)",
        header.scenario.name,
        header.seed,
        trace.len(),
        seconds(trace.len())
    )?;
    writeln!(out, "  recorded by {}", header.build)?;
    writeln!(out, "  flown by {}", header.by)?;
    damaged(out, trace)?;
    if !trace.missing_columns().is_empty() {
        let missing = trace.missing_columns().join(", ");
        paragraph(
            out,
            &format!("An earlier build recorded it; not in it: {missing}"),
        )?;
    }
    Ok(())
}

/// What of a trace is damaged: every command that reads one tells it.
pub(super) fn damaged(out: &mut dyn Write, trace: &Trace) -> io::Result<()> {
    tell_damage(out, &damage(trace))
}

/// The same of what was taken down of it.
pub(super) fn tell_damage(out: &mut dyn Write, damage: &[String]) -> io::Result<()> {
    let mut damage = damage.iter();
    damage.try_for_each(|damage| paragraph(out, &format!("DAMAGED: {damage}")))
}

/// The same for programs.
pub(super) fn damage(trace: &Trace) -> Vec<String> {
    trace.damage().iter().map(ToString::to_string).collect()
}

pub(super) fn seconds(ticks: u64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let ticks = ticks as f64;
    ticks * TICK
}

fn conclusion(out: &mut dyn Write, replayed: &Replayed, full: bool) -> io::Result<()> {
    writeln!(out)?;
    if !replayed.unknown_settings.is_empty() {
        let unknown = replayed.unknown_settings.join(", ");
        paragraph(
            out,
            &format!("Settings the controller does not have any more: {unknown}"),
        )?;
    }
    if !replayed.missing_settings.is_empty() {
        let missing = replayed.missing_settings.join(", ");
        paragraph(
            out,
            &format!("Settings that the trace does not have, taken as they are today: {missing}"),
        )?;
    }
    if replayed.other_form {
        paragraph(
            out,
            "The controller keeps its state in another form than then: outputs are compared, \
             states are not.",
        )?;
    }
    match (&replayed.difference, &replayed.broken_off) {
        (Some(difference), _) => differs(out, replayed, difference, full)?,
        (None, Some(why)) => paragraph(
            out,
            &format!(
                "BROKEN OFF: identical, {} ticks; then {why}.",
                replayed.ticks
            ),
        )?,
        (None, None) => writeln!(out, "identical, {} ticks", replayed.ticks)?,
    }
    caution(out)
}

fn differs(
    out: &mut dyn Write,
    replayed: &Replayed,
    difference: &Difference,
    full: bool,
) -> io::Result<()> {
    let tick = &difference.recorded;
    writeln!(
        out,
        "DIFFERENT: identical for {} ticks; first difference in tick {} ({:.2} s)",
        replayed.ticks,
        tick.frame.tick,
        tick.frame.seconds()
    )?;
    for mark in &tick.marks {
        writeln!(out, "  in this tick {mark}")?;
    }
    tell::readings(out, difference.before.as_ref(), &tick.frame.inputs, full)?;
    tell::answers(
        out,
        ["recorded", "today"],
        &tick.frame.outputs,
        &difference.outputs,
    )?;
    if difference.outputs == tick.frame.outputs {
        writeln!(
            out,
            "  outputs are equal; something it keeps and does not show is not:\n  \
             fingerprint of the state {} recorded, {} today",
            print(tick.state),
            print(difference.state)
        )?;
    }
    Ok(())
}

fn print(state: Option<u32>) -> String {
    state.map_or_else(|| "no supply".to_owned(), |state| format!("{state:08x}"))
}

/// What was recorded, by what, and what of it is damaged, for programs.
pub(super) fn about(trace: &Trace) -> Value {
    let header = trace.header();
    json!({
        "trace": trace.file(),
        "scenario": header.scenario.name,
        "seed": header.seed,
        "recorded_by": header.build,
        "by": header.by,
        "ticks": trace.len(),
        "damage": damage(trace),
    })
}

fn document(trace: &Trace, replayed: &Replayed) -> Value {
    json!({
        "recorded": about(trace),
        "replayed_by": Build::this(),
        "identical": replayed.is_identical(),
        "ticks": replayed.ticks,
        "states_compared": !replayed.other_form,
        "unknown_settings": replayed.unknown_settings,
        "missing_settings": replayed.missing_settings,
        "broken_off": replayed.broken_off.as_ref().map(ToString::to_string),
        "difference": replayed.difference.as_deref().map(difference),
        "caution": CAUTION,
    })
}

fn difference(difference: &Difference) -> Value {
    let frame = &difference.recorded.frame;
    let rows = tell::differing(&frame.outputs, &difference.outputs);
    let rows = rows
        .into_iter()
        .map(|said| json!({"name": said.name, "recorded": said.first, "today": said.second}));
    json!({
        "tick": frame.tick,
        "seconds": frame.seconds(),
        "answers": rows.collect::<Vec<_>>(),
        "inputs": frame.inputs,
        "inputs_before": difference.before,
        "state_recorded": print(difference.recorded.state),
        "state_today": print(difference.state),
    })
}
