//! What a lesson says, as it is flown line by line.

use std::io::{self, Write};

use crate::cockpit::desk::Desk;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::timeline::Kind;

/// Tells the briefing of the lesson; false when none is flown.
pub(super) fn briefing(out: &mut dyn Write, desk: &Desk) -> io::Result<bool> {
    let Some(progress) = desk.present().progress() else {
        return Ok(false);
    };
    let section = progress.lesson().section();
    writeln!(out, "{}", progress.lesson().title())?;
    for paragraph in section.briefing.split("\n\n") {
        for line in wrap(paragraph, COLUMNS - 2) {
            writeln!(out, "  {line}")?;
        }
    }
    let (name, level, seed) = (progress.lesson().name(), section.level, desk.seed());
    writeln!(out, "  lesson {name}, level {level} of 5, seed {seed}\n")?;
    Ok(true)
}

/// The cues and hints that come up in the tick shown.
pub(super) fn told_now(desk: &Desk) -> Vec<String> {
    let Some(progress) = desk.present().progress() else {
        return Vec::new();
    };
    let now = Some(progress.tick());
    let section = progress.lesson().section();
    let cues = section.cues.iter().enumerate();
    let cues = cues.filter(|(index, _)| progress.came(*index) == now);
    let hints = section.tasks.iter().enumerate();
    let hints = hints
        .filter(|(index, _)| progress.hinted(*index) == now)
        .filter_map(|(_, task)| task.hint.as_ref());
    cues.map(|(_, cue)| format!("cue: {}", cue.say))
        .chain(hints.map(|hint| format!("hint: {}", hint.say)))
        .collect()
}

/// The faults that were hidden while it was flown: what failed and when.
pub(super) fn faults(out: &mut dyn Write, desk: &Desk) -> io::Result<()> {
    let now = desk.frame().tick;
    let items = desk.timeline().tape().items();
    let entries = items
        .filter(|item| item.tick <= now)
        .map(|item| item.entry(desk.scenario()))
        .filter(|entry| entry.kind == Kind::Fault);
    writeln!(out, "\nFaults that were hidden")?;
    let mut none = true;
    for entry in entries {
        none = false;
        for line in wrap(&format!("{:.2} s: {}", entry.time, entry.text), COLUMNS - 2) {
            writeln!(out, "  {line}")?;
        }
    }
    if none {
        writeln!(out, "  none")?;
    }
    Ok(())
}
