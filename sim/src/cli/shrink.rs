//! `mastwright shrink`: the least that still fails the same way.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;

use super::replay::{damage, open, tell_damage};
use super::{BROKEN, GOOD, run};
use crate::keep::Kind;
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::text::{caution, paragraph};
use crate::scenario::Scenario;
use crate::scenario::shipped::Shipped;
use crate::shrink::{NothingToShrink, Progress, Shrunk, shrink};
use crate::trace::rebuild;

/// Scenario files made by commands: the way every one of them begins.
const MADE: Kind = Kind {
    name: "scenario made by mastwright",
    beginning: "# Made by mastwright",
};

/// Columns before what is left: runs, and what was taken.
const LEFT: usize = 39;
/// How a line goes on that says where a scenario comes from.
const GOES_ON: &str = "#   ";

/// What `mastwright shrink` is asked for.
#[derive(Debug, Args)]
pub struct Shrink {
    /// A trace, a shipped scenario's name, or the path of a scenario file.
    run: String,
    /// Seed of everything random, in place of the scenario's own.
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Keep this failure, of several: the id of a hazard or requirement, or how an
    /// expectation begins. Unless given, the first that is broken.
    #[arg(long, value_name = "TEXT")]
    failure: Option<String>,
    /// Write the scenario to this file; to standard output unless given.
    #[arg(short, long, value_name = "FILE.toml")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When there is nothing to shrink, or something cannot be written.
pub fn run(command: &Shrink, out: &mut dyn Write) -> miette::Result<u8> {
    if let Some(path) = &command.out {
        MADE.check(path).map_err(refused)?;
    }
    let asked = Asked::of(command)?;
    let spoken = !command.json && command.out.is_some();
    let mut written = if spoken {
        tell_damage(out, &asked.damage)
    } else {
        // Standard output is for the result; with standard error closed nobody waits.
        let _ = tell_damage(&mut std::io::stderr().lock(), &asked.damage);
        Ok(())
    };
    let shrunk = shrink(
        &asked.scenario,
        command.failure.as_deref(),
        &mut |progress| {
            let line = told(progress);
            if spoken {
                if written.is_ok() {
                    written = writeln!(out, "{line}");
                }
            } else {
                let _ = writeln!(std::io::stderr().lock(), "{line}");
            }
        },
    )
    .map_err(|why| nothing(&why))?;
    written.into_diagnostic()?;
    let mut why = format!("it still fails: {}", shrunk.failure);
    if !asked.damage.is_empty() {
        why += "; of a damaged trace, in which something that was done may be missing";
    }
    let text = made(&shrunk.text, &why);
    conclude(command, &asked.damage, &shrunk, &text, out)?;
    Ok(if asked.damage.is_empty() {
        GOOD
    } else {
        BROKEN
    })
}

/// What was taken out, and what is left, within the columns of a terminal.
fn told(progress: &Progress) -> String {
    let taken = format!("{:>4} flown {:<27} ", progress.flown, progress.taken);
    let further_in = format!("\n{:LEFT$}", "");
    let left = wrap(&progress.left.to_string(), COLUMNS - LEFT).join(&further_in);
    if taken.chars().count() > LEFT {
        format!("{}{further_in}{left}", taken.trim_end())
    } else {
        taken + &left
    }
}

fn conclude(
    command: &Shrink,
    damage: &[String],
    shrunk: &Shrunk,
    text: &str,
    out: &mut dyn Write,
) -> miette::Result<()> {
    if let Some(path) = &command.out {
        MADE.write(path, text).map_err(refused)?;
    }
    if command.json {
        let document = json!({
            "failure": {
                "what": shrunk.failure.what,
                "how": shrunk.failure.how,
                "tick": shrunk.failure.tick,
            },
            "before": shrunk.before,
            "after": shrunk.size,
            "flown": shrunk.flown,
            "scenario": text,
            "damage": damage,
            "caution": CAUTION,
        });
        serde_json::to_writer_pretty(&mut *out, &document).into_diagnostic()?;
        return writeln!(out).into_diagnostic();
    }
    match &command.out {
        None => out.write_all(text.as_bytes()).into_diagnostic(),
        Some(path) => {
            let again = run::quoted(&path.display().to_string());
            writeln!(out, "\nBefore: {}\nAfter:  {}", shrunk.before, shrunk.size)
                .and_then(|()| paragraph(out, &format!("Still fails: {}", shrunk.failure)))
                .and_then(|()| {
                    let path = path.display();
                    writeln!(out, "Written: {path}\nTo fly it: mastwright run {again}")
                })
                .and_then(|()| caution(out))
                .into_diagnostic()
        }
    }
}

/// What is to be shrunk.
struct Asked {
    /// The scenario, with its seed in its text: of a trace the one that flies it again.
    scenario: Scenario,
    /// What of the trace is damaged.
    damage: Vec<String>,
}

impl Asked {
    fn of(command: &Shrink) -> miette::Result<Self> {
        let path = Path::new(&command.run);
        let is_shipped = Shipped::named(&command.run).is_some();
        let (name, mut text, damage) = if !is_shipped && (is_trace(path) || is_called_one(path)) {
            let trace = open(path)?;
            let text = rebuild(&trace).map_err(|why| {
                miette!(help = "read it with the program that recorded it", "{why}")
            })?;
            (trace.header().scenario.name.clone(), text, damage(&trace))
        } else {
            let scenario = run::load(&command.run)?;
            (scenario.name, scenario.text, Vec::new())
        };
        if let Some(seed) = command.seed {
            text = seeded(&text, seed)?;
        }
        Ok(Self {
            scenario: Scenario::parse(&format!("{name}.toml"), &text)?,
            damage,
        })
    }
}

fn is_trace(path: &Path) -> bool {
    let mut beginning = [0; 17];
    let read = fs::File::open(path)
        .and_then(|mut file| std::io::Read::read_exact(&mut file, &mut beginning));
    read.is_ok() && beginning == *b"mastwright trace "
}

/// A file with a trace's name: if it is none, that is what is to be said of it.
fn is_called_one(path: &Path) -> bool {
    path.is_file() && path.extension().is_some_and(|end| end == "mwt")
}

fn seeded(text: &str, seed: u64) -> miette::Result<String> {
    let seed = i64::try_from(seed).map_err(|_| {
        miette!(
            help = "give a seed below 2^63: a scenario's file holds no larger number",
            "the seed {seed} cannot be written down"
        )
    })?;
    let mut document: toml_edit::DocumentMut = text.parse().into_diagnostic()?;
    document["seed"] = toml_edit::value(seed);
    Ok(document.to_string())
}

/// The text of a scenario, with first lines that say where it comes from.
fn made(text: &str, why: &str) -> String {
    let mut text = text.trim_start();
    if text.starts_with(MADE.beginning) {
        text = behind_line(text);
        while text.starts_with(GOES_ON) {
            text = behind_line(text);
        }
    }
    let why = format!("{}: {why}", MADE.beginning);
    let why = wrap(&why, COLUMNS - GOES_ON.len()).join(&format!("\n{GOES_ON}"));
    format!("{why}\n{text}")
}

fn behind_line(text: &str) -> &str {
    text.split_once('\n').map_or("", |(_, rest)| rest)
}

/// Writes a scenario made by a command: over nothing but another such file.
pub(super) fn write(path: &Path, text: &str) -> miette::Result<()> {
    MADE.write(path, &made(text, "a skeleton to begin from"))
        .map_err(refused)
}

fn refused(why: crate::keep::Refused) -> miette::Report {
    miette!(help = "give -o the path of a new file", "{why}")
}

fn nothing(why: &NothingToShrink) -> miette::Report {
    let help = match why {
        NothingToShrink::Good => {
            "give a run that fails; `mastwright run` says what is broken or not as expected"
        }
        NothingToShrink::Otherwise { .. } => "give one of these, or leave --failure out",
    };
    miette!(help = help, "{why}")
}
