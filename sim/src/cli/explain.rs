//! `mastwright explain`: why it happened.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::{ArgGroup, Args};
use miette::{IntoDiagnostic, miette};
use serde::Serialize;

use super::replay::{damage, damaged, open};
use super::{BROKEN, GOOD};
use crate::explain::{
    CannotExplain, Clause, Explanation, Otherwise, Question, UnknownQuestion, explain,
};
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::report::text;
use crate::report::witness::Speaks;
use crate::scenario::LONGEST;
use crate::trace::Trace;

/// What `mastwright explain` is asked for.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("asked").required(true).multiple(true)))]
pub struct Explain {
    /// A trace, as `--record` keeps it; a part of one (FILE.part) is read up to its break.
    trace: PathBuf,
    /// When, s: explains what was asked for then; with `--why`, what happened last up to
    /// then.
    #[arg(long, value_name = "T", group = "asked")]
    at: Option<f64>,
    /// What: `mast moved`, `mast stopped`, `doors stopped`, `no thrust`, `bus opened`,
    /// `halted`, or `alert NAME` by its name or its words. The last time it happened; of
    /// stops, the last one short of an end.
    #[arg(long, value_name = "WHAT", group = "asked")]
    why: Option<String>,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When there is nothing to explain, or `out` cannot be written.
pub fn run(command: &Explain, out: &mut dyn Write) -> miette::Result<u8> {
    let question = match &command.why {
        None => Question::Then,
        Some(asked) => asked.parse().map_err(unknown)?,
    };
    let at = command.at.map(tick).transpose()?;
    let trace = open(&command.trace)?;
    let explanation = explain(&trace, question, at).map_err(cannot)?;
    if command.json {
        let document = Document {
            damage: damage(&trace),
            explanation,
        };
        serde_json::to_writer_pretty(&mut *out, &document).into_diagnostic()?;
        writeln!(out).into_diagnostic()?;
    } else {
        warn(out, &trace, question).into_diagnostic()?;
        tell(out, &explanation).into_diagnostic()?;
    }
    let whole = trace.damage().is_empty();
    Ok(if whole { GOOD } else { BROKEN })
}

/// An explanation, and what of its trace is damaged.
#[derive(Serialize)]
struct Document {
    damage: Vec<String>,
    #[serde(flatten)]
    explanation: Explanation,
}

/// Says what is damaged, and what that means for what is told.
fn warn(out: &mut dyn Write, trace: &Trace, question: Question) -> io::Result<()> {
    if trace.damage().is_empty() {
        return Ok(());
    }
    damaged(out, trace)?;
    if question != Question::Then {
        let last = "What is explained is the last such moment in what can be read.";
        text::paragraph(out, last)?;
    }
    writeln!(out)
}

/// The tick at this time, s.
fn tick(at: f64) -> miette::Result<u64> {
    if !(0.0..=LONGEST).contains(&at) {
        return Err(miette!(
            help = format!("give seconds from 0 to {LONGEST}, such as `--at 12.3`"),
            "there is no time {at} s in a trace"
        ));
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the longest flight"
    )]
    // A time between two ticks means the earlier one; a ten-thousandth of a second is
    // what decimals lose.
    let tick = (at * 100.0 + 0.01).floor() as u64;
    Ok(tick)
}

fn unknown(why: UnknownQuestion) -> miette::Report {
    miette!(help = why.remedy.clone(), "{why}")
}

pub(super) fn cannot(why: CannotExplain) -> miette::Report {
    let help = match &why {
        CannotExplain::Never { .. } => {
            "`mastwright explain TRACE --at T` explains any other moment; `mastwright report` \
             shows what happened when"
        }
        CannotExplain::Trace(why) => why.remedy(),
        CannotExplain::Settings { .. } | CannotExplain::Scenario { .. } => {
            "explain it with the program that recorded it; its header names the build"
        }
    };
    miette!(help = help, "{why}")
}

fn tell(out: &mut dyn Write, told: &Explanation) -> io::Result<()> {
    lines(out, 0, &format!("{:.2} s  {}", told.time, told.what))?;
    lines(out, 2, &format!("state {}", told.state))?;
    if let Some(went) = &told.transition {
        let ways = went.when.join("; or: ");
        lines(
            out,
            2,
            &format!("went from {} to {}: {ways}", went.from, went.to),
        )?;
    }
    writeln!(out, "\nWhy")?;
    lines(out, 2, &told.sentence)?;
    let asked = if told.denied {
        ", asked for and denied"
    } else {
        ""
    };
    lines(
        out,
        2,
        &format!("The permission to {}{asked}, needs:", told.allows),
    )?;
    told.clauses
        .iter()
        .try_for_each(|clause| tell_clause(out, clause, told.let_happen))?;
    faults(out, told)?;
    writeln!(out, "\nWhat happened last")?;
    let paint = Paint::of_stdout();
    told.before
        .iter()
        .try_for_each(|entry| text::entry(out, entry, paint))?;
    writeln!(out, "\nWhat would have changed it")?;
    otherwise(out, &told.otherwise)?;
    writeln!(out)?;
    wrap(CAUTION, COLUMNS)
        .iter()
        .try_for_each(|line| writeln!(out, "{line}"))
}

fn tell_clause(out: &mut dyn Write, clause: &Clause, all: bool) -> io::Result<()> {
    let sign = if clause.holds { "holds" } else { "LACKS" };
    let since = if clause.since > 0.0 {
        format!(", since {:.2} s", clause.since)
    } else {
        ", from the start".to_owned()
    };
    lines(out, 4, &format!("{sign}  {}{since}", clause.words))?;
    if clause.holds && !all {
        return Ok(());
    }
    for reading in &clause.readings {
        let sign = match reading.speaks {
            Speaks::For => "for",
            Speaks::Against => "AGAINST",
            Speaks::Unheard => "UNHEARD",
        };
        let since = reading.since.filter(|since| *since > 0.0);
        let since = since.map_or_else(String::new, |since| format!(", so since {since:.2} s"));
        lines(out, 11, &format!("{sign:<8} {}{since}", reading.words))?;
    }
    Ok(())
}

fn faults(out: &mut dyn Write, told: &Explanation) -> io::Result<()> {
    writeln!(out, "\nFaults injected up to then")?;
    if told.faults.is_empty() {
        return lines(out, 2, "none that the trace knows of");
    }
    for fault in &told.faults {
        let until = fault.ended.map_or_else(
            || "still acting".to_owned(),
            |ended| format!("to {ended:.2} s"),
        );
        let text = format!(
            "{}. from {:.2} s, {until}: {}",
            fault.number, fault.began, fault.words
        );
        lines(out, 2, &text)?;
    }
    Ok(())
}

fn otherwise(out: &mut dyn Write, found: &Otherwise) -> io::Result<()> {
    lines(out, 2, &found.headline())?;
    for change in &found.changes {
        lines(out, 4, &format!("- {}", change.words()))?;
    }
    if found.more > 0 {
        lines(
            out,
            4,
            &format!("- or one of {} more changes as small", found.more),
        )?;
    }
    found
        .footnotes()
        .iter()
        .try_for_each(|note| lines(out, 2, note))
}

/// Writes wrapped lines, the first one moved in by so many columns, the others by two more.
fn lines(out: &mut dyn Write, indent: usize, text: &str) -> io::Result<()> {
    for (number, line) in wrap(text, COLUMNS - indent - 2).into_iter().enumerate() {
        let indent = if number == 0 { indent } else { indent + 2 };
        writeln!(out, "{:indent$}{line}", "")?;
    }
    Ok(())
}
