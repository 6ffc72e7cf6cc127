//! `mastwright journal`: the controller's own record, read back.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

use clap::Args;
use mastwright_core::journal::{Damage, Origin, SLOT_BYTES, SlotState};
use miette::{IntoDiagnostic, miette};
use serde_json::{Value, json};

use super::replay::{damage, damaged, unreadable};
use super::{BROKEN, GOOD};
use crate::frame::TICK;
use crate::journal::{BYTES, Found, Held, read, sessions, skeleton, told};
use crate::keep::{self, Refused};
use crate::memory::Memory;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::text::{caution, paragraph};
use crate::report::{CAUTION, words};
use crate::trace::{Player, Trace, Unreadable};
use crate::world::Unit;

/// What `mastwright journal` is asked for.
#[derive(Debug, Args)]
pub struct Journal {
    /// The bytes of the memory, slot A then slot B (440 bytes), as read from a board or
    /// kept by `mastwright run --journal-out`; or a trace, whose controller is led to its
    /// end.
    file: PathBuf,
    /// Where the slots begin in a longer file, such as a dump of a whole memory.
    #[arg(long, value_name = "A,B")]
    at: Option<Places>,
    /// Write the likeliest scenario to this file.
    #[arg(short, long, value_name = "FILE.toml")]
    out: Option<PathBuf>,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the file cannot be used, or something not be written.
pub fn run(command: &Journal, out: &mut dyn Write) -> miette::Result<u8> {
    let (slots, led) = slots(command)?;
    let found = read(&slots);
    let name = command
        .file
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let scenario = (found.recovered.origin != Origin::Empty)
        .then(|| skeleton::skeleton(&found.recovered.records, &name));
    if command.json {
        let document = document(command, &found, led.as_ref(), scenario.as_deref());
        serde_json::to_writer_pretty(&mut *out, &document).into_diagnostic()?;
        writeln!(out).into_diagnostic()?;
    } else {
        writeln!(out, "Record in {}", command.file.display()).into_diagnostic()?;
        if let Some(led) = &led {
            led.tell(out).into_diagnostic()?;
        }
        tell(out, command, &found, scenario.as_deref()).into_diagnostic()?;
    }
    if let (Some(path), Some(text)) = (&command.out, &scenario) {
        super::shrink::write(path, text)?;
        if !command.json {
            let again = super::run::quoted(&path.display().to_string());
            writeln!(
                out,
                "Written: {}\nTo fly it: mastwright run {again}",
                path.display()
            )
            .into_diagnostic()?;
        }
    }
    let whole = led.is_none_or(|led| led.is_whole());
    let good = whole && scenario.is_some();
    Ok(if good { GOOD } else { BROKEN })
}

/// The bytes of a file at which two slots begin.
#[derive(Clone, Copy, Debug)]
struct Places([usize; 2]);

impl FromStr for Places {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let places = text.split_once(',').and_then(|(a, b)| {
            let place = |text: &str| text.trim().parse().ok();
            Some(Self([place(a)?, place(b)?]))
        });
        places.ok_or("give two numbers of bytes with a comma between them, such as 0,4096")
    }
}

type Slots = [[u8; SLOT_BYTES]; 2];

/// How far a trace has led the controller whose memory is read.
struct Led {
    trace: Trace,
    ticks: u64,
    /// Why it led no further, if it did not lead to its end.
    broken_off: Option<Unreadable>,
}

impl Led {
    fn is_whole(&self) -> bool {
        self.trace.damage().is_empty() && self.broken_off.is_none()
    }

    /// What is damaged, and of when the record is then.
    fn tell(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.is_whole() {
            return Ok(());
        }
        damaged(out, &self.trace)?;
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let seconds = self.ticks as f64 * TICK;
        let why = self
            .broken_off
            .as_ref()
            .map_or_else(String::new, |why| format!("; then {}", why.what()));
        let text = format!(
            "The controller was led through {} ticks ({seconds:.2} s){why}. The record is as it \
             stood behind them.",
            self.ticks
        );
        paragraph(out, &text)
    }
}

/// The bytes of both slots, and how a trace led to them, if one did.
fn slots(command: &Journal) -> miette::Result<(Slots, Option<Led>)> {
    let path = command.file.display();
    let bytes = fs::read(&command.file).map_err(|error| {
        miette!(
            help = "give the bytes of the controller's memory, or a trace",
            "`{path}` cannot be read: {error}"
        )
    })?;
    if bytes.starts_with(b"mastwright trace ") {
        let (slots, led) = of_trace(&path.to_string(), bytes)?;
        return Ok((slots, Some(led)));
    }
    let [a, b] = match command.at {
        Some(Places([a, b])) if a.abs_diff(b) < SLOT_BYTES => {
            return Err(miette!(
                help = format!("a slot has {SLOT_BYTES} bytes: give places that far apart"),
                "two slots cannot begin at bytes {a} and {b}: they would overlap"
            ));
        }
        Some(Places(places)) => places,
        None => {
            if bytes.len() != BYTES {
                return Err(miette!(
                    help = format!(
                        "give {BYTES} bytes, slot A then slot B, or say with `--at A,B` at which \
                         bytes of the file they begin"
                    ),
                    "`{path}` has {} bytes and is no memory of a controller",
                    bytes.len()
                ));
            }
            [0, SLOT_BYTES]
        }
    };
    let slot = |at: usize| {
        let whole = bytes.get(at..).and_then(<[u8]>::first_chunk::<SLOT_BYTES>);
        whole.copied().ok_or_else(|| {
            miette!(
                help = format!(
                    "a slot has {SLOT_BYTES} bytes; the file has {}",
                    bytes.len()
                ),
                "no slot begins at byte {at} of `{path}`"
            )
        })
    };
    Ok(([slot(a)?, slot(b)?], None))
}

/// The memory of a controller that was led through a trace, as far as it goes: over ticks
/// that are lost it cannot be led.
fn of_trace(path: &str, bytes: Vec<u8>) -> miette::Result<(Slots, Led)> {
    let trace = Trace::from_bytes(path, bytes).map_err(unreadable)?;
    let (config, _) = trace.header().config().map_err(|why| {
        miette!(
            help = "read it with the program that recorded it; its header names the build",
            "the controller refuses the settings of the trace: {why}"
        )
    })?;
    let mut player = Player::new(Unit::new(&config));
    let (mut ticks, mut broken_off) = (0, None);
    for tick in trace.ticks() {
        match tick {
            Ok(tick) => {
                player.play(&tick);
                ticks += 1;
            }
            Err(why) => {
                broken_off = Some(why);
                break;
            }
        }
    }
    let slots = *player.unit().memory().slots();
    let led = Led {
        trace,
        ticks,
        broken_off,
    };
    Ok((slots, led))
}

/// What a memory's file is called.
const MEMORY: &str = "memory of a controller";

/// Refuses a path at which the bytes of no memory can be kept, if there is one.
pub(super) fn check(path: Option<&Path>) -> miette::Result<()> {
    let check = |path| keep::check(MEMORY, is_memory, path).map_err(refused);
    path.map_or(Ok(()), check)
}

/// Writes the bytes of a memory: over nothing but such a file.
pub(super) fn write(path: &Path, memory: &Memory) -> miette::Result<()> {
    keep::fill(MEMORY, is_memory, path, |file| {
        let written = file.write_all(memory.slots().as_flattened());
        written.map_err(|error| Refused::Io {
            path: path.to_owned(),
            error,
        })
    })
    .map_err(refused)
}

/// True for a file in which there is a record, if only a torn one, or nothing yet.
fn is_memory(file: &mut File) -> io::Result<bool> {
    let mut bytes = Vec::new();
    file.take(BYTES as u64 + 1).read_to_end(&mut bytes)?;
    let (slots, []) = bytes.as_chunks::<SLOT_BYTES>() else {
        return Ok(false);
    };
    let Ok(slots) = slots.try_into() else {
        return Ok(false);
    };
    let found = read(&slots).slots.map(|held| held.state);
    let record = |state: &SlotState| match state {
        SlotState::Whole { .. } => true,
        SlotState::Damaged(damage) => *damage != Damage::Magic,
        SlotState::Blank | SlotState::Unreadable => false,
    };
    Ok(found.iter().any(record) || found == [SlotState::Blank; 2])
}

fn refused(why: Refused) -> miette::Report {
    miette!(
        help = "give `--journal-out` the path of a new file, or of one to replace",
        "{why}"
    )
}

fn tell(
    out: &mut dyn Write,
    command: &Journal,
    found: &Found,
    scenario: Option<&str>,
) -> io::Result<()> {
    for held in &found.slots {
        hanging(out, &format!("slot {:?}: {}", held.slot, held.words()))?;
    }
    if found.recovered.forgot() {
        let forgot = "There was a record once and none is left: latched faults may have been \
                      forgotten.";
        hanging(out, forgot)?;
    }
    for held in &found.slots {
        if held.content.is_some() {
            record(out, held)?;
        }
    }
    if let Some(scenario) = scenario
        && command.out.is_none()
    {
        writeln!(
            out,
            "\nThe likeliest scenario (-o FILE.toml writes it)\n\n{scenario}"
        )?;
    }
    caution(out)
}

/// A line, and what does not find room in it further in.
fn hanging(out: &mut dyn Write, text: &str) -> io::Result<()> {
    for (number, line) in wrap(text, COLUMNS - 4).into_iter().enumerate() {
        let indent = if number == 0 { 2 } else { 4 };
        writeln!(out, "{:indent$}{line}", "")?;
    }
    Ok(())
}

/// One slot's record.
fn record(out: &mut dyn Write, held: &Held) -> io::Result<()> {
    let Some((retained, records)) = &held.content else {
        return Ok(());
    };
    let age = if held.newest { "the newest" } else { "stale" };
    writeln!(out, "\nSlot {:?}, {age}", held.slot)?;
    hanging(
        out,
        &format!("last state: {}", words::state(retained.state)),
    )?;
    let faults: Vec<String> = retained
        .faults
        .iter()
        .map(|fault| format!("{fault:?}"))
        .collect();
    let faults = if faults.is_empty() {
        "none".to_owned()
    } else {
        faults.join(", ")
    };
    hanging(out, &format!("faults latched: {faults}"))?;
    for session in sessions(records) {
        let begins = if session.from_start {
            "since power came up"
        } else {
            "since power came up; its beginning has fallen out of the record"
        };
        writeln!(out, "  {begins}")?;
        for (tick, entry) in &session.entries {
            let mut lines = wrap(&told(entry), COLUMNS - 14).into_iter();
            let first = lines.next().unwrap_or_default();
            writeln!(out, "{:>10.2} s  {first}", f64::from(*tick) * TICK)?;
            lines.try_for_each(|line| writeln!(out, "{:14}{line}", ""))?;
        }
    }
    Ok(())
}

fn document(command: &Journal, found: &Found, led: Option<&Led>, scenario: Option<&str>) -> Value {
    let slots: Vec<Value> = found.slots.iter().map(slot).collect();
    let broken_off = led.and_then(|led| led.broken_off.as_ref());
    json!({
        "file": command.file.display().to_string(),
        "ticks": led.map(|led| led.ticks),
        "damage": led.map_or_else(Vec::new, |led| damage(&led.trace)),
        "broken_off": broken_off.map(Unreadable::what),
        "slots": slots,
        "forgot": found.recovered.forgot(),
        "scenario": scenario,
        "caution": CAUTION,
    })
}

fn slot(held: &Held) -> Value {
    let content = held.content.as_ref().map(|(retained, records)| {
        let sessions: Vec<Value> = sessions(records)
            .iter()
            .map(|session| {
                let entries: Vec<Value> = session
                    .entries
                    .iter()
                    .map(|(tick, entry)| json!({"tick": tick, "entry": entry, "text": told(entry)}))
                    .collect();
                json!({"from_start": session.from_start, "entries": entries})
            })
            .collect();
        let faults: Vec<String> = retained
            .faults
            .iter()
            .map(|fault| format!("{fault:?}"))
            .collect();
        json!({
            "last_state": retained.state,
            "faults": faults,
            "sessions": sessions,
        })
    });
    json!({
        "slot": held.slot,
        "state": held.state,
        "newest": held.newest,
        "text": held.words(),
        "claimed_sequence": held.claimed,
        "record": content,
    })
}
