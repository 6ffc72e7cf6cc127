//! `mastwright cockpit`: fly, break, rewind and learn, at the terminal.

use std::fmt::Write as _;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::{Duration, Instant};

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::beside::Beside;
use super::record::{not_kept, tell};
use super::replay::damaged;
#[cfg(unix)]
use super::trainer;
use super::{BROKEN, GOOD, run};
use crate::cockpit::app::{App, Options};
use crate::cockpit::desk::Desk;
use crate::cockpit::keys::Keys;
use crate::cockpit::plain::Plain;
use crate::cockpit::screen::Theme;
use crate::cockpit::shell::{self, Ended, INTERRUPTED, Interrupt};
use crate::cockpit::speed::Speed;
use crate::frame::TICK;
use crate::lesson::Whose;
use crate::report::paint::Paint;
use crate::report::text::paragraph;
use crate::scenario::Scenario;
use crate::trace::{self, Header, Recorder, Trace, rebuild};

/// Longest wait for a command: how late a signal may be seen.
const IDLE: Duration = Duration::from_millis(100);

/// What `mastwright cockpit` is asked for.
#[derive(Debug, Args)]
pub struct Cockpit {
    /// Name of a shipped scenario (`mastwright list`), or path of a scenario file.
    #[arg(default_value = "emergency-stow")]
    scenario: String,
    /// Seed of everything random, in place of the scenario's own.
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// A file of keys (TOML), in place of `mastwright/keys.toml` in your configuration
    /// folder (`$XDG_CONFIG_HOME`, or `~/.config`).
    #[arg(long, value_name = "FILE", conflicts_with = "plain")]
    keys: Option<PathBuf>,
    /// Without colour; the same as setting `NO_COLOR`.
    #[arg(long)]
    mono: bool,
    /// How fast time passes at first.
    #[arg(long, value_enum, default_value_t)]
    speed: Speed,
    /// Let it play itself, with captions, at reading speed.
    #[arg(long, conflicts_with = "plain")]
    demo: bool,
    /// Fly it as a lesson: the hands are yours from the start, cues and hints come up,
    /// and the debrief is saved at the end.
    #[arg(long, conflicts_with = "demo")]
    lesson: bool,
    /// Where a lesson's result is saved: NAME-result.json, and NAME-result.html to print.
    #[arg(long, value_name = "FOLDER", default_value = ".", requires = "lesson")]
    results: PathBuf,
    /// Print the story line by line and read commands line by line (`help` lists them):
    /// for screen readers and pipes.
    #[arg(long)]
    plain: bool,
    /// With `--plain`: fly without waiting for the clock. Commands are read first.
    #[arg(long, requires = "plain")]
    at_once: bool,
    /// Record the branch that was flown last in this file, a trace, when the session ends.
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Hide the faults, and let a trainer on this machine give them from another terminal.
    #[cfg(unix)]
    #[arg(long, group = "seat", conflicts_with_all = ["demo", "at_once"])]
    trainee: bool,
    /// Be the trainer of a session with `--trainee`: search, inject, arm and end faults,
    /// rewind, line by line (`help` lists the commands).
    #[cfg(unix)]
    #[arg(long, group = "seat", conflicts_with_all = [
        "scenario", "seed", "keys", "mono", "speed", "demo", "lesson", "at_once",
        "record",
    ])]
    trainer: bool,
    /// Where trainer and trainee meet: a socket in a folder that is yours alone, in place
    /// of `mastwright/trainer.sock` in `$XDG_RUNTIME_DIR`.
    #[cfg(unix)]
    #[arg(long, value_name = "PATH", requires = "seat")]
    socket: Option<PathBuf>,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the scenario or the keys cannot be used, or the terminal not be had.
pub fn cockpit(command: &Cockpit, out: &mut dyn Write) -> miette::Result<u8> {
    #[cfg(unix)]
    if command.trainer {
        return trainer::prompt(command.socket.as_deref(), out);
    }
    if let Some(file) = &command.record {
        trace::check(file).map_err(not_kept)?;
    }
    let mut desk = desk(&command.scenario, command.seed, command.lesson)?;
    desk.set_speed(command.speed);
    if command.plain {
        return plain(command, desk, out);
    }
    let keys = keys(command.keys.as_deref())?;
    needs_terminal("run it in a terminal, or add `--plain` for the same story line by line")?;
    let theme = theme(command.mono);
    let options = Options {
        keys,
        theme,
        demo: command.demo,
    };
    let mut app = App::new(desk, options);
    let mut beside = beside(command)?;
    if let Some(invitation) = beside.invitation() {
        app.hide_faults();
        writeln!(out, "{invitation}").into_diagnostic()?;
        app.say(invitation);
    }
    let interrupt = Interrupt::listen();
    let ended =
        shell::run(&mut app, &interrupt, &mut |app| beside.attend(app)).into_diagnostic()?;
    drop(beside);
    save(command, app.desk(), out)?;
    record(command, app.desk(), out)?;
    match ended {
        Ended::Left => Ok(GOOD),
        Ended::Interrupted => Ok(INTERRUPTED),
    }
}

/// Opens a recorded flight with the scrubber at its beginning; the exit code.
///
/// # Errors
/// When the trace cannot be flown anew, or the terminal not be had.
pub(super) fn revisit(trace: &Trace, out: &mut dyn Write) -> miette::Result<u8> {
    let text = rebuild(trace).map_err(|why| {
        miette!(
            help = "replay it without --cockpit: that needs no scenario",
            "{why}"
        )
    })?;
    let name = format!("{}.toml", trace.header().scenario.name);
    let scenario = Scenario::parse(&name, &text)?;
    let mut desk = Desk::new(scenario, trace.header().seed);
    let (parted, read) = fly_along(&mut desk, trace);
    desk.seek(0);
    let mut said = match parted {
        None => format!("flown anew, {read} ticks as recorded"),
        Some(tick) => {
            #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
            let seconds = tick as f64 * TICK;
            format!("flown anew; from {seconds:.2} s on NOT as recorded")
        }
    };
    let lost = trace.len() - read;
    if lost > 0 {
        let _ = write!(said, "; {lost} ticks of the trace cannot be read");
    }
    damaged(out, trace).into_diagnostic()?;
    paragraph(out, &format!("{}: {said}", trace.file())).into_diagnostic()?;
    needs_terminal("run it in a terminal, or replay it without `--cockpit`")?;
    let options = Options {
        keys: keys(None)?,
        theme: theme(false),
        demo: false,
    };
    let mut app = App::new(desk, options);
    app.say(said);
    let interrupt = Interrupt::listen();
    match shell::run(&mut app, &interrupt, &mut |_| {}).into_diagnostic()? {
        Ended::Left => Ok(GOOD),
        Ended::Interrupted => Ok(INTERRUPTED),
    }
}

/// Flies as long as the trace is, through what of it is lost too; the first tick that is
/// not as recorded, if one is not, and how many could be read.
fn fly_along(desk: &mut Desk, trace: &Trace) -> (Option<u64>, u64) {
    let (mut parted, mut read) = (None, 0);
    for tick in trace.ticks().flatten() {
        fly_to(desk, tick.frame.tick);
        let (now, then) = (desk.frame(), &tick.frame);
        if now.inputs != then.inputs || now.outputs != then.outputs {
            parted.get_or_insert(then.tick);
        }
        read += 1;
    }
    fly_to(desk, trace.len().saturating_sub(1));
    (parted, read)
}

fn fly_to(desk: &mut Desk, tick: u64) {
    for _ in desk.frame().tick..tick {
        desk.step();
    }
}

/// The screen needs a terminal; `help` says what there is without one.
fn needs_terminal(help: &str) -> miette::Result<()> {
    if io::stdout().is_terminal() {
        return Ok(());
    }
    Err(miette!(
        help = help,
        "the cockpit needs a terminal, and standard output is none"
    ))
}

/// Colours, unless they are not wanted.
fn theme(mono: bool) -> Theme {
    if mono || crate::report::paint::no_colour() {
        Theme::mono()
    } else {
        Theme::colour()
    }
}

/// Who sits beside the session.
fn beside(command: &Cockpit) -> miette::Result<Beside> {
    #[cfg(unix)]
    if command.trainee {
        return Beside::trainer(command.socket.as_deref());
    }
    let _ = command;
    Ok(Beside::default())
}

/// The session that is asked for.
pub(super) fn desk(scenario: &str, seed: Option<u64>, lesson: bool) -> miette::Result<Desk> {
    if lesson {
        let lesson = crate::lesson::find(scenario)?;
        let own = lesson.scenario(Whose::Trainee).seed;
        return Ok(Desk::of_lesson(lesson, seed.unwrap_or(own)));
    }
    let scenario = run::load(scenario)?;
    let seed = seed.unwrap_or(scenario.seed);
    Ok(Desk::new(scenario, seed))
}

/// Saves the result of a lesson and says where.
fn save(command: &Cockpit, desk: &Desk, out: &mut dyn Write) -> miette::Result<()> {
    let Some(debrief) = desk.debrief() else {
        return Ok(());
    };
    let name = &desk.scenario().name;
    let json = command.results.join(format!("{name}-result.json"));
    let page = command.results.join(format!("{name}-result.html"));
    debrief.save_json(&json).into_diagnostic()?;
    debrief.save_page(&page).into_diagnostic()?;
    writeln!(
        out,
        "saved: {}, and to print: {}",
        json.display(),
        page.display()
    )
    .into_diagnostic()
}

/// Records what was flown, if that is asked for, and says where.
fn record(command: &Cockpit, desk: &Desk, out: &mut dyn Write) -> miette::Result<()> {
    let Some(file) = &command.record else {
        return Ok(());
    };
    let mut timeline = desk.timeline().clone();
    if timeline.earliest() > 0 {
        return Err(miette!(
            help = "end the session earlier: the log of orders has room for 100 000",
            "the beginning of this flight has been forgotten, so it cannot be recorded"
        ));
    }
    let by = "the controller of the program, in the cockpit";
    let header = Header::new(desk.scenario(), desk.seed(), by);
    let mut recorder = Recorder::create(file, &header).map_err(not_kept)?;
    timeline.record(&mut recorder);
    tell(out, &recorder.finish().map_err(not_kept)?)
}

/// The keys of `given`, or of the default file if there is one, or the table's own.
fn keys(given: Option<&Path>) -> miette::Result<Keys> {
    let file = match given {
        Some(file) => file.to_owned(),
        None => match default_file().filter(|file| file.exists()) {
            Some(file) => file,
            None => return Ok(Keys::default()),
        },
    };
    let text = std::fs::read_to_string(&file).map_err(|error| {
        miette!(
            help = "give the path of a file of keys in TOML, UTF-8, or leave `--keys` out",
            "`{}` cannot be read: {error}",
            file.display()
        )
    })?;
    Ok(Keys::parse(&file.display().to_string(), &text)?)
}

fn default_file() -> Option<PathBuf> {
    let set = |name| std::env::var_os(name).filter(|value| !value.is_empty());
    let folder = set("XDG_CONFIG_HOME")
        .map(PathBuf::from)
        .or_else(|| set("HOME").map(|home| Path::new(&home).join(".config")))?;
    Some(folder.join("mastwright").join("keys.toml"))
}

/// The story line by line.
fn plain(command: &Cockpit, desk: Desk, out: &mut dyn Write) -> miette::Result<u8> {
    let interrupt = Interrupt::listen();
    let paint = if command.mono {
        Paint::default()
    } else {
        Paint::of_stdout()
    };
    let lines = lines_of_stdin();
    let mut beside = beside(command)?;
    let mut plain = if let Some(invitation) = beside.invitation() {
        writeln!(out, "{invitation}\n").into_diagnostic()?;
        Plain::of_trainee(desk, &mut *out, paint)
    } else {
        Plain::new(desk, &mut *out, paint, command.at_once)
    }
    .into_diagnostic()?;
    if command.at_once && !io::stdin().is_terminal() {
        // Otherwise it would hang on the reader's speed when a command is obeyed.
        for line in &lines {
            plain.line(&line).into_diagnostic()?;
        }
        plain.close().into_diagnostic()?;
    }
    let mut last = Instant::now();
    while !plain.is_over() {
        if interrupt.is_asked() {
            return Ok(INTERRUPTED);
        }
        let wait = plain.until_next().map_or(IDLE, |next| next.min(IDLE));
        if plain.takes_commands() {
            match lines.recv_timeout(wait) {
                Ok(line) => plain.line(&line).into_diagnostic()?,
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => {
                    plain.close().into_diagnostic()?;
                    std::thread::sleep(wait);
                }
            }
        } else {
            std::thread::sleep(wait);
        }
        let now = Instant::now();
        plain.advance(now - last).into_diagnostic()?;
        last = now;
        beside.attend(&mut plain);
    }
    let desk = plain.into_desk();
    save(command, &desk, out)?;
    record(command, &desk, out)?;
    Ok(if desk.verdict().broken() == 0 {
        GOOD
    } else {
        BROKEN
    })
}

/// The lines of standard input, read beside the flight.
pub(super) fn lines_of_stdin() -> Receiver<String> {
    let (to, lines) = sync_channel(64);
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines() {
            // What is no text ends the commands as the end of input does.
            let Ok(line) = line else { return };
            if to.send(line).is_err() {
                return;
            }
        }
    });
    lines
}
