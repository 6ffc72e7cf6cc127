//! The command line: what can be asked, and with what the program ends.

mod beside;
pub mod cockpit;
pub mod compare;
pub mod explain;
pub mod explore;
pub mod export;
pub mod journal;
pub mod list;
pub mod matrix;
pub mod output;
pub mod permits;
pub mod picture;
mod record;
pub mod replay;
pub mod report;
pub mod run;
pub mod shrink;
#[cfg(unix)]
mod trainer;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use miette::MietteHandlerOpts;

use output::Patient;

/// Everything held, and all came as expected.
pub const GOOD: u8 = 0;
/// Something broke, or came otherwise than expected.
pub const BROKEN: u8 = 1;
/// The input could not be used.
pub const BAD_INPUT: u8 = 2;

const CAUTIONS: &str = "\
Exit code: 0 all held and came as expected, 1 something did not, 2 bad input.

Bench and training tool; not certified, not airworthy. Local codes, the flight
manual and licensed practice come first. Keep clear of propellers.";

/// Proving ground for the controller of a folding propeller mast.
///
/// Flies scenarios against the real controller in a simulated aircraft and judges, in
/// physical truth, whether any safety requirement was broken. Without a command it
/// runs the demonstration: an emergency stop-and-stow from full power.
#[derive(Debug, Parser)]
#[command(name = "mastwright", version, after_help = CAUTIONS, max_term_width = 80)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Fly a scenario and judge it.
    ///
    /// Prints a timeline (time, phase, what moved, what was denied and why, alerts),
    /// then the verdict requirement by requirement.
    #[command(after_help = CAUTIONS)]
    Run(Run),
    /// Fly every fault at every moment of the base missions and count what comes of it.
    ///
    /// Prints outcomes, harm with the command that flies it again, and the smallest
    /// margins. Exit code 1 when a single fault did harm that is not accepted as
    /// unavoidable, 130 after an interruption.
    #[command(after_help = CAUTIONS)]
    Matrix(Box<matrix::Matrix>),
    /// Show what each permission needs, and that every condition in it counts.
    ///
    /// For each permission: its conditions, its clauses, and the rows of its truth table
    /// that show each condition's own effect on the decision (unique-cause MC/DC), made
    /// from the controller's own predicate. Exit code 1 when a condition decides nothing
    /// and that is not explained, or when clauses, decision and reasons disagree.
    #[command(after_help = CAUTIONS)]
    Permits(permits::Permits),
    /// Fly it yourself: see it, break it, rewind it.
    ///
    /// Opens a screen in this terminal; `?` there lists the keys. The scenario plays on
    /// by itself until you take the controls. With `--plain` the story is printed line
    /// by line and commands are read line by line.
    #[command(after_help = CAUTIONS)]
    Cockpit(cockpit::Cockpit),
    /// Run a recorded flight through today's controller and compare every answer.
    ///
    /// Says "identical" with the number of ticks, or shows the first tick that comes out
    /// otherwise: the readings that changed, both answers, and the state. Exit code 1
    /// when something came out otherwise, or a part of the trace could not be read.
    #[command(after_help = CAUTIONS)]
    Replay(replay::Replay),
    /// Show where two recorded flights part, and what follows.
    ///
    /// Compares readings, states, permissions and outputs tick by tick, and aligns what
    /// happened by event. Exit code 1 when they are not alike.
    #[command(after_help = CAUTIONS)]
    Compare(compare::Compare),
    /// Say why something happened in a recorded flight, and what would have changed it.
    ///
    /// Goes backwards from it: what was denied, which condition was not proven, which
    /// reading stood against it, since when, and which faults were at work. Then asks the
    /// controller for the smallest change of readings under which it would have done
    /// otherwise.
    #[command(after_help = CAUTIONS)]
    Explain(explain::Explain),
    /// Write a recorded flight as one page to hand on.
    ///
    /// What happened, a plot of it, alerts, requirements and verdicts, why it came to its
    /// halt, breach or end, and the commands that show it again. The page needs no
    /// network, no other file and no script.
    #[command(after_help = CAUTIONS)]
    Report(report::Report),
    /// Write a recorded flight in a format that other programs read.
    ///
    /// Every tick, and in it every signal: hands, readings with their ages, the plant's
    /// truth, outputs, alerts, what was proven and what was denied. Exit code 1 when a
    /// part of the trace could not be read, and so is missing.
    #[command(after_help = CAUTIONS)]
    Export(export::Export),
    /// Read the controller's own record, as it stands in its non-volatile memory.
    ///
    /// Shows both slots, torn and stale ones too, tells what was recorded, and makes the
    /// likeliest scenario of it, to begin from. Exit code 1 when no slot is whole.
    #[command(after_help = CAUTIONS)]
    Journal(journal::Journal),
    /// Reduce a run that fails to the least that still fails the same way.
    ///
    /// Takes out actions, faults, lines and time, flies what is left, and keeps what
    /// still breaks the same requirement or expectation. Writes a scenario file.
    #[command(after_help = CAUTIONS)]
    Shrink(shrink::Shrink),
    /// Keep a picture of the cockpit's screen as an SVG file.
    ///
    /// Flies to a moment, presses keys, and writes what the screen then shows: for
    /// documents and reports. The same command gives the same bytes.
    #[command(after_help = CAUTIONS)]
    Picture(picture::Picture),
    /// Explore every state that the real controller can come to in an abstract world.
    ///
    /// Prints states and transitions, how often each requirement was put to the test,
    /// what of the sequencer was never reached, and the shortest way to each breach.
    /// Exit code 1 when something is broken, a transition is undocumented, a stow may
    /// outlast its bound or a rest has no way out, or when the whole space with every
    /// fault was explored and something never put to the test; 130 after an
    /// interruption.
    #[command(after_help = CAUTIONS)]
    Explore(Box<explore::Explore>),
    /// List what there is: scenarios, lessons, faults, requirements, states or settings.
    #[command(after_help = CAUTIONS)]
    List {
        /// What to list.
        #[arg(value_enum, default_value_t)]
        what: list::What,
        /// With `states`: print the page `docs/states.md` (Markdown, with a diagram).
        #[arg(long)]
        page: bool,
    },
}

/// What `mastwright run` is asked for.
#[derive(Debug, Args)]
pub struct Run {
    /// Name of a shipped scenario (`mastwright list`), or path of a scenario file.
    scenario: String,
    /// Seed of everything random, in place of the scenario's own.
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Print one JSON document, timeline and verdict, instead of text.
    #[arg(long)]
    json: bool,
    /// Leave the timeline out; print the verdict only.
    #[arg(long, conflicts_with = "json")]
    quiet: bool,
    /// Let a target take every tick too, in lock step, and compare its outputs and the
    /// controller's state: `emulator`, or `serial:PORT` with a board at 115200 bit/s
    /// (`serial:PORT@SPEED` for another speed). `emulator:files` exchanges the same frames
    /// through files, many times as fast as over the emulated serial port. Keep a board's
    /// outputs unconnected.
    ///
    /// Exit code 1 at the first difference, or when line or target fail on the way; 2
    /// when there is no target to begin with.
    #[arg(long, value_name = "WHERE", conflicts_with = "json")]
    on: Option<run::elsewhere::On>,
    /// With `--on emulator`: the image of the target; MASTWRIGHT_IMAGE unless given.
    #[arg(long, value_name = "FILE", requires = "on")]
    image: Option<PathBuf>,
    /// With `--on`: show every reading of a tick that differs, not only what changed.
    #[arg(long, requires = "on")]
    full_inputs: bool,
    /// Record the flight, tick by tick, in this file: a trace, which `mastwright replay`
    /// and others read. Until it is whole it is called FILE.part.
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Write what the controller's memory holds at the end to this file, for
    /// `mastwright journal`.
    #[arg(long, value_name = "FILE")]
    journal_out: Option<PathBuf>,
}

impl Run {
    /// The demonstration.
    fn demonstration() -> Self {
        Self {
            scenario: "emergency-stow".to_owned(),
            seed: None,
            json: false,
            quiet: false,
            on: None,
            image: None,
            full_inputs: false,
            record: None,
            journal_out: None,
        }
    }
}

/// Runs the command the process was started with.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    // Names are copied from remedies: none is broken at its hyphens. Set once, here, it
    // cannot have been set before.
    let _ = miette::set_hook(Box::new(|_| {
        let whole = textwrap::WordSplitter::NoHyphenation;
        Box::new(MietteHandlerOpts::new().word_splitter(whole).build())
    }));
    // Not locked for good: whoever gives a terminal back writes from another thread.
    let mut out = Patient::new(std::io::stdout());
    let done = match cli.command {
        None => run::run(&Run::demonstration(), &mut out),
        Some(Command::Run(run)) => run::run(&run, &mut out),
        Some(Command::Matrix(matrix)) => matrix::matrix(&matrix, &mut out),
        Some(Command::Replay(wanted)) => replay::run(&wanted, &mut out),
        Some(Command::Compare(wanted)) => compare::run(&wanted, &mut out),
        Some(Command::Explain(wanted)) => explain::run(&wanted, &mut out),
        Some(Command::Report(wanted)) => report::run(&wanted, &mut out),
        Some(Command::Export(wanted)) => export::run(&wanted, &mut out),
        Some(Command::Journal(wanted)) => journal::run(&wanted, &mut out),
        Some(Command::Shrink(wanted)) => shrink::run(&wanted, &mut out),
        Some(Command::Permits(permits)) => permits::permits(&permits, &mut out),
        Some(Command::Cockpit(cockpit)) => cockpit::cockpit(&cockpit, &mut out),
        Some(Command::Picture(picture)) => picture::picture(&picture, &mut out),
        Some(Command::Explore(wanted)) => explore::run(&wanted, &mut out),
        Some(Command::List { what, page: false }) => list::list(what, &mut out).map(|()| GOOD),
        Some(Command::List { what, page: true }) => list::page(what, &mut out).map(|()| GOOD),
    };
    match done.and_then(|code| out.finish().map(|()| code)) {
        Ok(code) => ExitCode::from(code),
        Err(report) => {
            // With standard error closed there is no one left to tell.
            let _ = std::io::Write::write_fmt(
                &mut std::io::stderr().lock(),
                format_args!("{report:?}"),
            );
            ExitCode::from(BAD_INPUT)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        use clap::CommandFactory;
        Cli::command().debug_assert();
    }
}
