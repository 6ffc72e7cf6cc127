//! `mastwright picture`: what the cockpit's screen shows at a moment, as a file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::GOOD;
use super::cockpit::desk;
use crate::cockpit::app::{App, Options};
use crate::cockpit::screen::Theme;
use crate::cockpit::still::{self, NoStep, Size, Step};
use crate::keep::Kind;

/// The file, as it is kept.
const PICTURE: Kind = Kind {
    name: "picture of the cockpit",
    beginning: crate::cockpit::screen::picture::BEGINNING,
};

/// What `mastwright picture` is asked for.
#[derive(Debug, Args)]
pub struct Picture {
    /// Name of a shipped scenario (`mastwright list`), or path of a scenario file.
    scenario: String,
    /// The file to write (SVG); only another picture of the cockpit is replaced.
    file: PathBuf,
    /// Fly to this moment first, s.
    #[arg(long, value_name = "SECONDS", default_value = "0")]
    at: f64,
    /// Then press these keys, by their names in the cockpit's help, a blank between them;
    /// `@12.5` flies on to 12.5 s. Such as "x @9 v".
    #[arg(long, value_name = "KEYS", default_value = "")]
    press: String,
    /// Columns and rows.
    #[arg(long, value_name = "SIZE", default_value = "120x40")]
    size: Size,
    /// Without colour.
    #[arg(long)]
    mono: bool,
    /// Seed of everything random, in place of the scenario's own.
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// As a lesson flown by its trainee.
    #[arg(long)]
    lesson: bool,
    /// As the demonstration, with captions.
    #[arg(long, conflicts_with = "lesson")]
    demo: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the scenario, a key or the moment cannot be used, or the file not be written.
pub fn picture(command: &Picture, out: &mut dyn Write) -> miette::Result<u8> {
    let mut app = App::new(
        desk(&command.scenario, command.seed, command.lesson)?,
        options(command),
    );
    still::take(&mut app, &steps(command)?).map_err(|error| {
        miette!(
            help = "choose an earlier moment, or let time pass again before it: `Space`",
            "{error}"
        )
    })?;
    let scenario = app.desk().scenario();
    let title = format!("{}, {:.2} s", scenario.title, app.desk().frame().seconds());
    let text = still::svg(&mut app, command.size, &title);
    PICTURE.write(&command.file, &text).map_err(|error| {
        miette!(
            help = "give a file that can be written, in a folder that is there",
            "{error}"
        )
    })?;
    writeln!(out, "{}: {title}", command.file.display()).into_diagnostic()?;
    Ok(GOOD)
}

/// The keys are the table's own, whatever the person at the terminal has changed: a
/// picture is for everybody.
fn options(command: &Picture) -> Options {
    Options {
        theme: if command.mono {
            Theme::mono()
        } else {
            Theme::colour()
        },
        demo: command.demo,
        ..Options::default()
    }
}

/// The way to the picture. Moment 0 is the briefing; it is put away to fly on.
fn steps(command: &Picture) -> miette::Result<Vec<Step>> {
    let words = command.press.split_whitespace();
    let pressed: Result<Vec<Step>, NoStep> = words.map(str::parse).collect();
    let pressed = pressed.map_err(|error| {
        miette!(
            help = "the cockpit's help (`?`) and docs/cockpit-keys.md name the keys",
            "`--press`: {error}"
        )
    })?;
    let moment = format!("@{}", command.at).parse().map_err(|error| {
        miette!(
            help = "give seconds from the beginning of the scenario",
            "`--at`: {error}"
        )
    })?;
    let flies = pressed.iter().any(|step| matches!(step, Step::FlyTo(_)));
    let mut steps = Vec::new();
    if !command.demo && (command.at > 0.0 || flies) {
        steps.push("Enter".parse().into_diagnostic()?);
    }
    steps.push(moment);
    steps.extend(pressed);
    Ok(steps)
}
