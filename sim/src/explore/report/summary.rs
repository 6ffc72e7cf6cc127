//! The counts of an exploration, for people and for programs.

use std::io::{self, Write};

use serde::Serialize;

use super::super::checks::CHECKS;
use super::super::engine::{Ended, Found};
use super::super::explored::Explored;
use super::super::space::Aircraft;
use super::super::tally::{Share, Tally};
use super::super::trouble::{ACCEPTED, Trouble};
use super::answers::Answers;
use super::unreached::{undocumented, unreached, why};
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::{Paint, Tone};

/// How much of the space was to be seen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Scope {
    /// How many things may be broken at a time.
    pub faults: usize,
    /// Of which; nothing: all but those left out.
    pub only: Vec<&'static str>,
    /// Of those left out unless asked for, these are in.
    pub with: Vec<&'static str>,
    /// Only these checks count; nothing: all.
    pub checks: Vec<&'static str>,
}

impl Scope {
    /// True when every check can be put to the test.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.faults > 0 && self.only.is_empty()
    }

    /// True when the check of this id counts.
    #[must_use]
    pub fn counts(&self, id: &str) -> bool {
        self.checks.is_empty() || self.checks.contains(&id)
    }
}

/// Everything that was counted. The same in every run, but for `cost`.
#[derive(Clone, Debug, Serialize)]
pub struct Summary {
    /// What was to be explored.
    pub scope: Scope,
    /// Why it ended, in words.
    pub ended: &'static str,
    /// All was explored.
    pub whole: bool,
    /// States of the space.
    pub states: u64,
    /// Transitions between them.
    pub transitions: u64,
    /// Steps of the real controller; one that is the same whatever is broken is one.
    pub steps: u64,
    /// Transitions to the farthest state.
    pub depth: usize,
    /// Checks, in their order.
    pub checks: Vec<Row>,
    /// States and documented transitions of the sequencer that were never reached.
    pub unreached: Vec<String>,
    /// Transitions that were taken and are not documented.
    pub undocumented: Vec<String>,
    /// The greatest chance that a state was missed; nothing if states were kept whole.
    pub missed: Option<f64>,
    /// What the space as a whole answers; nothing if it was not explored whole, or its states
    /// were not kept.
    pub answers: Option<Answers>,
    /// What each trouble came to, where it is the only one; in its order.
    pub shares: Vec<OfTrouble>,
    /// What it took.
    pub cost: Cost,
}

/// What one trouble came to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OfTrouble {
    /// Its name.
    pub trouble: &'static str,
    /// States in which it is broken.
    pub states: u64,
    /// Transitions out of them.
    pub transitions: u64,
    /// Checks that it breaks.
    pub breaks: Vec<&'static str>,
}

/// One check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Row {
    /// Its id.
    pub id: &'static str,
    /// How many steps put it to the test.
    pub exercised: u64,
    /// The fewest transitions that break it.
    pub broken: Option<u32>,
    /// It counts for the exit code.
    pub counts: bool,
}

/// What it took. Of the run, not of the space.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cost {
    /// Threads.
    pub threads: usize,
    /// Time, s.
    pub seconds: f64,
    /// Transitions per second.
    pub rate: f64,
    /// Bytes held at the end.
    pub bytes: u64,
}

impl Summary {
    /// Counts what was found.
    #[must_use]
    pub fn of<C: Explored>(
        found: &Found<Aircraft<C>>,
        answers: Option<Answers>,
        scope: Scope,
    ) -> Self {
        let rows = (0..).zip(CHECKS).zip(&found.tally.tested);
        let rows = rows.map(|((bit, check), &exercised)| Row {
            id: check.id,
            exercised,
            broken: found.broken.get(bit).map(|broken| broken.depth),
            counts: scope.counts(check.id),
        });
        Self {
            ended: ended(found.ended),
            whole: found.ended == Ended::Whole,
            states: found.states(),
            transitions: found.transitions,
            steps: found.tally.steps,
            depth: found.depth(),
            checks: rows.collect(),
            unreached: unreached(&found.tally),
            undocumented: undocumented(&found.tally),
            missed: found.missed.map(|missed| missed.chance()),
            answers,
            shares: shares(&found.tally, scope.faults),
            cost: Cost {
                threads: found.cost.threads,
                seconds: found.cost.elapsed.as_secs_f64(),
                rate: found.cost.rate(),
                bytes: found.cost.bytes,
            },
            scope,
        }
    }

    /// Checks that count, that ought to have been put to the test, and were not.
    pub fn vacuous(&self) -> impl Iterator<Item = &Row> {
        let ought = self.whole && self.scope.is_full();
        self.checks
            .iter()
            .filter(move |row| ought && row.counts && row.exercised == 0)
    }

    /// True when nothing that counts is broken or was left untested, and no transition
    /// is undocumented.
    #[must_use]
    pub fn is_good(&self) -> bool {
        let broken = self
            .checks
            .iter()
            .any(|row| row.counts && row.broken.is_some());
        let answered = self.answers.as_ref().is_none_or(Answers::are_good);
        !broken && answered && self.vacuous().next().is_none() && self.undocumented.is_empty()
    }

    /// Prints it, at most 80 columns wide.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn print(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        self.print_scope(out, paint)?;
        self.print_counts(out)?;
        self.print_checks(out, paint)?;
        if let Some(answers) = &self.answers {
            answers.print(out, paint)?;
        }
        self.print_shares(out, paint)?;
        self.print_unreached(out, paint)
    }

    fn print_shares(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        if self.shares.is_empty() {
            return Ok(());
        }
        let title = "Each trouble: states, transitions, and what it breaks";
        writeln!(out, "\n{}", paint.tint(Tone::Strong, title))?;
        for share in &self.shares {
            let [states, transitions] = [share.states, share.transitions].map(grouped);
            let breaks = share.breaks.join(" ");
            let breaks = paint.tint(Tone::Warning, &breaks);
            let trouble = share.trouble;
            writeln!(
                out,
                "  {trouble:<18} {states:>10} {transitions:>13}  {breaks}"
            )?;
        }
        Ok(())
    }

    fn print_scope(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        let of = match self.scope.faults {
            0 => "nothing breaks",
            1 => "one thing breaks, at any step",
            _ => "two things break, each at any step",
        };
        let title = format!("Exploration of the real controller: {of}");
        writeln!(out, "{}", paint.tint(Tone::Strong, &title))?;
        let mut notes = Vec::new();
        if !self.scope.only.is_empty() {
            notes.push(format!("only of: {}", self.scope.only.join(" ")));
        }
        if self.scope.faults > 0 && self.scope.only.is_empty() {
            for accepted in ACCEPTED {
                if !self.scope.with.contains(&accepted.trouble.name()) {
                    notes.push(format!("left out: {} ({})", accepted.trouble, accepted.why));
                }
            }
        }
        for line in notes.iter().flat_map(|note| wrap(note, COLUMNS - 2)) {
            writeln!(out, "  {line}")?;
        }
        writeln!(out, "  {}\n", self.ended)
    }

    fn print_counts(&self, out: &mut dyn Write) -> io::Result<()> {
        let rows = [
            ("states", grouped(self.states)),
            ("transitions", grouped(self.transitions)),
            ("steps of the controller", grouped(self.steps)),
            ("depth", grouped(self.depth as u64)),
            (
                "rate",
                format!("{:.2} million transitions/s", self.cost.rate / 1e6),
            ),
            (
                "time",
                format!("{:.1} s, {} threads", self.cost.seconds, self.cost.threads),
            ),
            ("memory", format!("{} MiB", self.cost.bytes >> 20)),
        ];
        for (what, much) in rows {
            writeln!(out, "  {what:<24} {much}")?;
        }
        if let Some(chance) = self.missed {
            let what = "chance of a miss";
            writeln!(
                out,
                "  {what:<24} at most {chance:.1e} (states kept as hashes)"
            )?;
        }
        Ok(())
    }

    fn print_checks(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        let title = paint.tint(Tone::Strong, "Checks: steps that put each to the test");
        writeln!(out, "\n{title}")?;
        for row in &self.checks {
            let (tone, word) = match (row.broken, row.exercised) {
                (Some(depth), _) => (Tone::Warning, format!("BROKEN in {depth} steps")),
                (None, 0) => (Tone::Caution, self.untested(row).to_owned()),
                (None, _) => (Tone::Safe, "held".to_owned()),
            };
            let aside = if row.counts { "" } else { " (not asked for)" };
            let exercised = grouped(row.exercised);
            let word = paint.tint(tone, &word);
            writeln!(out, "  {:<6} {exercised:>15}  {word}{aside}", row.id)?;
        }
        Ok(())
    }

    fn untested(&self, row: &Row) -> &'static str {
        if self.vacuous().any(|vacuous| vacuous.id == row.id) {
            "NEVER PUT TO THE TEST"
        } else if self.whole {
            "not put to the test: what it is about did not break"
        } else {
            "not put to the test as far as it went"
        }
    }

    fn print_unreached(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        for taken in &self.undocumented {
            let line = format!("Not documented, and taken: {taken}");
            writeln!(out, "{}", paint.tint(Tone::Warning, &line))?;
        }
        if self.unreached.is_empty() {
            return writeln!(out, "\nEvery state and documented transition was reached.");
        }
        let title = "Never reached: states and documented transitions of the sequencer";
        writeln!(out, "\n{}", paint.tint(Tone::Strong, title))?;
        for what in &self.unreached {
            let why = match (self.whole, self.scope.is_full()) {
                (false, _) => "as far as it went",
                (true, false) => "needs something (else) broken",
                (true, true) => why(what).unwrap_or("no reason is known"),
            };
            writeln!(out, "  {what:<28} {why}")?;
        }
        Ok(())
    }
}

/// What each trouble came to, with one thing broken at a time.
fn shares(tally: &Tally, faults: usize) -> Vec<OfTrouble> {
    let shares = Trouble::ALL.into_iter();
    let shares = shares.map(|trouble| (trouble, tally.of(trouble)));
    let met = shares.filter(|(_, share)| faults == 1 && share.states > 0);
    let row = |(trouble, share): (Trouble, &Share)| OfTrouble {
        trouble: trouble.name(),
        states: share.states,
        transitions: share.transitions,
        breaks: ids(share.broken),
    };
    met.map(row).collect()
}

/// The ids of checks, by their bits.
fn ids(bits: u64) -> Vec<&'static str> {
    let checks = (0..).zip(CHECKS);
    let checks = checks.filter(|(bit, _): &(u32, _)| bits >> bit & 1 == 1);
    checks.map(|(_, check)| check.id).collect()
}

const fn ended(ended: Ended) -> &'static str {
    match ended {
        Ended::Whole => "the whole space was explored",
        Ended::Broken => "ended at the first breach; --keep-going explores on",
        Ended::StateLimit => "ended by the limit on states: not the whole space",
        Ended::MemoryLimit => "ended by the limit on memory: not the whole space",
        Ended::DepthLimit => "ended by the limit on depth: not the whole space",
        Ended::Interrupted => "interrupted: not the whole space",
    }
}

/// A number with its thousands apart.
#[must_use]
pub fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}
