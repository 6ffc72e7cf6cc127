//! `mastwright report`: a recorded flight as a page to hand on.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::explain::cannot as cannot_explain;
use super::replay::{cannot as cannot_replay, damaged, open};
use super::run::quoted;
use super::{BROKEN, GOOD};
use crate::account::{Account, NoAccount, NotMade};
use crate::explain::Question;
use crate::report::text::{caution, paragraph};
use crate::scenario::shipped::Shipped;
use crate::trace::Trace;

/// What `mastwright report` is asked for.
#[derive(Debug, Args)]
pub struct Report {
    /// A trace, as `--record` keeps it; a part of one (FILE.part) is told up to its
    /// break.
    trace: PathBuf,
    /// Where to; unless given, beside the trace, with `html` at the end of its name.
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the trace cannot be used, or the page not be written.
pub fn run(command: &Report, out: &mut dyn Write) -> miette::Result<u8> {
    let trace = open(&command.trace)?;
    let account = Account::of(&trace).map_err(|why| match why {
        NoAccount::Replay(why) => cannot_replay(why),
        NoAccount::Explain(why) => cannot_explain(why),
    })?;
    let beside = || command.trace.with_extension("html");
    let path = command.out.clone().unwrap_or_else(beside);
    account
        .write(&path, commands(&trace, &account))
        .map_err(refused)?;
    let broken = account.broken();
    writeln!(out, "Report: {}", path.display()).into_diagnostic()?;
    let explanation = account.explanation();
    let explained = if account.is_uneventful() {
        format!(
            "0 broken, no safe halt: nothing needs explaining; a look at the end, {:.2} s",
            explanation.time
        )
    } else {
        format!(
            "{broken} broken; explained: {}, {:.2} s",
            explanation.what, explanation.time
        )
    };
    paragraph(out, &explained).into_diagnostic()?;
    damaged(out, &trace).into_diagnostic()?;
    caution(out).into_diagnostic()?;
    let good = broken == 0 && account.is_whole();
    Ok(if good { GOOD } else { BROKEN })
}

/// The commands that show it again, each with what it is for.
fn commands(trace: &Trace, account: &Account<'_>) -> Vec<(String, &'static str)> {
    let header = trace.header();
    let file = quoted(trace.file());
    let explanation = account.explanation();
    let at = explanation.time;
    // What was asked there, if it has a name.
    let why = match explanation.question.parse::<Question>() {
        Ok(_) => format!(" --why {}", quoted(&explanation.question)),
        Err(_) => String::new(),
    };
    let mut commands = vec![
        (
            format!("mastwright replay {file}"),
            "The recorded readings through the controller, compared answer by answer.",
        ),
        (
            format!("mastwright replay {file} --cockpit"),
            "The flight in the cockpit, to move about in.",
        ),
        (
            format!("mastwright explain {file}{why} --at {at:.2}"),
            "The same moment, explained in the terminal.",
        ),
    ];
    let shipped = Shipped::named(&header.scenario.name);
    if shipped.is_some_and(|shipped| shipped.text == header.scenario.text) {
        let name = quoted(&header.scenario.name);
        let seed = header.seed;
        commands.push((
            format!("mastwright run {name} --seed {seed}"),
            "The scenario flown anew, without the trace and without what hands did in it.",
        ));
    }
    commands
}

fn refused(why: NotMade) -> miette::Report {
    let help = match &why {
        NotMade::File(_) => "give `-o` the path of a new file, or of a page to replace",
        NotMade::Template(_) => "this is a defect of the program; the trace is not at fault",
    };
    miette!(help = help, "{why}")
}
