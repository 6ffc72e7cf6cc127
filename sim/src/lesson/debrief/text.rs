//! The debrief as lines of at most 80 columns.

use std::io::{self, Write};

use super::{Debrief, words};
use crate::flight::Row;
use crate::report::layout::{COLUMNS, wrap};

/// Columns before the text of a line: its time, or an id and what became of it.
const LEAD: usize = 24;

impl Debrief {
    /// Prints the debrief.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let title = format!("Debrief: {}", self.title);
        paragraph(out, 0, &title)?;
        let short = if self.cut_short { ", cut short" } else { "" };
        let flown = format!(
            "lesson {}, level {} of 5, seed {}, flown {:.2} s{short}",
            self.lesson, self.level, self.seed, self.flown
        );
        paragraph(out, 2, &flown)?;
        writeln!(out)?;
        for line in words::score(&self.score) {
            paragraph(out, 2, &line)?;
        }
        self.tasks(out)?;
        self.slips(out)?;
        self.course(out)?;
        self.end(out)?;
        heading(out, "Hazards, judged in plant truth")?;
        self.hazards.iter().try_for_each(|row| judged(out, row))?;
        heading(out, "Safety requirements touched")?;
        self.requirements
            .iter()
            .try_for_each(|row| judged(out, row))?;
        writeln!(out)?;
        paragraph(out, 2, words::READING)?;
        writeln!(out)?;
        paragraph(out, 0, self.caution)
    }

    fn tasks(&self, out: &mut dyn Write) -> io::Result<()> {
        heading(out, "What was expected")?;
        for (task, number) in self.tasks.iter().zip(1..) {
            let lead = format!("{number:>3}  {}", words::sign(task.outcome));
            line(
                out,
                &lead,
                &format!("{}. {}", task.gesture, words::became(task)),
            )?;
            line(out, "", &format!("Cue: {}", task.cue))?;
            line(out, "", &format!("Right: {}", task.right))?;
            line(out, "", &format!("Why: {}", task.why))?;
        }
        Ok(())
    }

    fn slips(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.slips.is_empty() {
            return Ok(());
        }
        heading(out, "What should have been avoided")?;
        for slip in &self.slips {
            let times = match slip.times {
                1 => String::new(),
                times => format!(" ({times} times)"),
            };
            let lead = format!("{:>8.2} s", slip.first);
            line(
                out,
                &lead,
                &format!("{}{times}. {}", slip.gesture, slip.why),
            )?;
        }
        Ok(())
    }

    /// Cues, hands, faults and notes, in the order in which they came.
    fn course(&self, out: &mut dyn Write) -> io::Result<()> {
        heading(out, "What happened when")?;
        for (at, kind, what) in self.events() {
            line(out, &format!("{at:>8.2} s  {kind}"), what)?;
        }
        if self.hands_lost > 0 {
            let lost = format!("{} more moves of the hands are not listed", self.hands_lost);
            paragraph(out, 2, &lost)?;
        }
        Ok(())
    }

    /// Everything that has a time: when, of what kind, and what.
    pub(super) fn events(&self) -> Vec<(f64, &'static str, &str)> {
        let cues = self.cues.iter();
        let faults = self.faults.iter();
        let notes = self.notes.iter();
        let hands = self.hands.iter();
        let mut events: Vec<_> = cues
            .map(|cue| (cue.at, "cue", cue.what.as_str()))
            .chain(faults.map(|fault| (fault.at, "FAULT", fault.what.as_str())))
            .chain(notes.map(|note| (note.at, "note", note.what.as_str())))
            .chain(hands.map(|hand| (hand.began, "hands", hand.what.as_str())))
            .collect();
        events.sort_by(|one, other| one.0.total_cmp(&other.0));
        events
    }

    fn end(&self, out: &mut dyn Write) -> io::Result<()> {
        heading(out, "How it ended")?;
        paragraph(out, 2, &self.end_words())?;
        for found in &self.expectations {
            match &found.instead {
                None => line(out, "  as intended", &found.expected)?,
                Some(instead) => {
                    let what = format!("{}; instead: {instead}", found.expected);
                    line(out, "  NOT AS INTENDED", &what)?;
                }
            }
        }
        Ok(())
    }

    /// The end, in one line.
    pub(super) fn end_words(&self) -> String {
        format!("At {:.2} s: {}.", self.flown, self.end.words())
    }
}

fn heading(out: &mut dyn Write, text: &str) -> io::Result<()> {
    writeln!(out, "\n{text}")
}

fn judged(out: &mut dyn Write, row: &Row) -> io::Result<()> {
    let (became, text) = words::judged(row);
    line(out, &format!("  {:<6} {became}", row.id), &text)
}

fn paragraph(out: &mut dyn Write, indent: usize, text: &str) -> io::Result<()> {
    wrap(text, COLUMNS - indent)
        .iter()
        .try_for_each(|line| writeln!(out, "{:indent$}{line}", ""))
}

fn line(out: &mut dyn Write, lead: &str, text: &str) -> io::Result<()> {
    let mut lead = lead;
    for line in wrap(text, COLUMNS - LEAD) {
        writeln!(out, "{lead:<LEAD$}{line}")?;
        lead = "";
    }
    Ok(())
}
