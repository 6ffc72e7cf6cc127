//! The same story line by line, for screen readers and pipes.
//!
//! Commands are read line by line. Headless like the screen's: lines and time are handed
//! in, text goes to a writer.

mod lesson;
#[cfg(unix)]
mod trainee;

use std::collections::VecDeque;
use std::io::{self, Write};
use std::time::Duration;

use super::ask::{self, Ask};
use super::command::{COMMANDS, Command};
use super::desk::Desk;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::report::text;
use crate::report::timeline::Kind;
use crate::scenario::ticks;

/// Most commands that wait: a pipe that floods is read no faster than it is obeyed.
const MOST_WAITING: usize = 10_000;
/// Ticks flown in one go when the clock is not waited for.
const AT_ONCE: u64 = 1000;

/// A session told line by line.
#[derive(Debug)]
pub struct Plain<W> {
    desk: Desk,
    out: W,
    paint: Paint,
    at_once: bool,
    /// Faults are not told before the end: somebody else lets them in.
    trainee: bool,
    waiting: VecDeque<String>,
    /// The tick until which the next command waits.
    until: Option<u64>,
    /// No more commands will come.
    closed: bool,
    over: bool,
}

impl<W: Write> Plain<W> {
    /// A session of `desk`, told to `out`; `at_once` flies without waiting for the clock.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn new(desk: Desk, out: W, paint: Paint, at_once: bool) -> io::Result<Self> {
        Self::begin(desk, out, paint, at_once, false)
    }

    /// Likewise, as the clock goes; it tells of no fault before the end, and takes none:
    /// the trainer does.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn of_trainee(desk: Desk, out: W, paint: Paint) -> io::Result<Self> {
        Self::begin(desk, out, paint, false, true)
    }

    fn begin(
        desk: Desk,
        mut out: W,
        paint: Paint,
        at_once: bool,
        trainee: bool,
    ) -> io::Result<Self> {
        // The scenario's own briefing tells what the demonstration does: it would give
        // the lesson away.
        if !lesson::briefing(&mut out, &desk)? {
            text::heading(&mut out, desk.scenario(), desk.seed(), paint)?;
        }
        let mut plain = Self {
            desk,
            out,
            paint,
            at_once,
            trainee,
            waiting: VecDeque::new(),
            until: None,
            closed: false,
            over: false,
        };
        plain.desk.set_running(true);
        plain.tell_tick()?;
        Ok(plain)
    }

    /// The session.
    pub const fn desk(&self) -> &Desk {
        &self.desk
    }

    /// The session, its telling over.
    pub fn into_desk(self) -> Desk {
        self.desk
    }

    /// It has ended, and everything has been told.
    pub const fn is_over(&self) -> bool {
        self.over
    }

    /// Whether another command can be taken now.
    pub fn takes_commands(&self) -> bool {
        self.waiting.len() < MOST_WAITING
    }

    /// Time on the clock until something happens by itself; none while nothing will.
    pub fn until_next(&self) -> Option<Duration> {
        if self.at_once && self.desk.is_running() {
            Some(Duration::ZERO)
        } else {
            self.desk.until_next()
        }
    }

    /// A command.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn line(&mut self, line: &str) -> io::Result<()> {
        self.waiting.push_back(line.to_owned());
        self.obey_waiting()
    }

    /// No more commands will come.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn close(&mut self) -> io::Result<()> {
        self.closed = true;
        self.end_if_done()
    }

    /// Time passes.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn advance(&mut self, passed: Duration) -> io::Result<()> {
        let due = if self.at_once && self.desk.is_running() {
            AT_ONCE
        } else {
            self.desk.due(passed)
        };
        for _ in 0..due {
            if self.over || !self.desk.is_running() {
                break;
            }
            self.step()?;
        }
        self.out.flush()
    }

    /// Flies one tick, tells of it, and obeys what waited for it.
    fn step(&mut self) -> io::Result<()> {
        self.desk.step();
        self.tell_tick()?;
        if self.desk.frame().tick == self.desk.last_tick() && !self.is_done() {
            let waits = self.until.is_some() || !self.waiting.is_empty();
            self.desk.set_running(waits);
            self.say(if waits {
                "the scenario ends here; the flight goes on"
            } else {
                "the scenario ends here; `go` flies on, `quit` ends"
            })?;
        }
        self.obey_waiting()
    }

    /// Tells what happened in the tick shown.
    fn tell_tick(&mut self) -> io::Result<()> {
        let now = self.desk.frame().tick;
        for item in self.desk.timeline().tape().at(now) {
            let entry = item.entry(self.desk.scenario());
            if !(self.trainee && entry.kind == Kind::Fault) {
                text::entry(&mut self.out, &entry, self.paint)?;
            }
        }
        lesson::told_now(&self.desk)
            .iter()
            .try_for_each(|text| self.say(text))
    }

    fn obey_waiting(&mut self) -> io::Result<()> {
        while !self.over {
            if self.until.is_some_and(|tick| self.desk.frame().tick < tick) {
                return Ok(());
            }
            self.until = None;
            let Some(line) = self.waiting.pop_front() else {
                break;
            };
            match Command::parse(&line) {
                Ok(Some(command)) => self.obey(command)?,
                Ok(None) => {}
                Err(refused) => self.print(&refused.lines(&line))?,
            }
        }
        self.end_if_done()
    }

    /// Nothing is left to fly or to obey.
    fn is_done(&self) -> bool {
        let flown = self.desk.frame().tick >= self.desk.last_tick();
        let waits = self.until.is_some() || !self.waiting.is_empty();
        // A trainer who stops time is not the end of it.
        let stands = !self.desk.is_running() && !self.trainee;
        self.closed && !waits && (flown || stands)
    }

    fn end_if_done(&mut self) -> io::Result<()> {
        if self.is_done() { self.end() } else { Ok(()) }
    }

    /// Tells how it ended.
    fn end(&mut self) -> io::Result<()> {
        if self.over {
            return Ok(());
        }
        self.over = true;
        if let Some(debrief) = self.desk.debrief() {
            writeln!(self.out)?;
            debrief.text(&mut self.out)?;
            return self.out.flush();
        }
        if self.trainee {
            lesson::faults(&mut self.out, &self.desk)?;
        }
        let name = &self.desk.scenario().name;
        let replay = format!("mastwright cockpit {name} --seed {}", self.desk.seed());
        text::conclusion(&mut self.out, &self.desk.report(replay), self.paint)?;
        self.out.flush()
    }

    fn say(&mut self, what: &str) -> io::Result<()> {
        let seconds = self.desk.frame().seconds();
        let mut lines = wrap(what, COLUMNS - 14).into_iter();
        let first = lines.next().unwrap_or_default();
        writeln!(self.out, "{seconds:>8.2} s  - {first}")?;
        lines.try_for_each(|line| writeln!(self.out, "{:14}{line}", ""))
    }

    fn print(&mut self, lines: &[String]) -> io::Result<()> {
        lines
            .iter()
            .try_for_each(|line| writeln!(self.out, "{line}"))
    }

    fn obey(&mut self, command: Command) -> io::Result<()> {
        match command {
            Command::Do(deed) => self.desk.perform(deed),
            Command::Ask(ask) if self.trainee && ask.is_of_faults() => {
                self.say("not done: the faults are the trainer's")?;
            }
            Command::Ask(ask) => self.put(ask)?,
            Command::Wait(seconds) => {
                self.until = Some(self.desk.frame().tick + ticks(seconds));
                self.desk.set_running(true);
            }
            Command::Tick => {
                self.desk.set_running(false);
                self.desk.step();
                self.tell_tick()?;
                self.say(&ask::state(&self.desk))?;
            }
            Command::Restart => {
                self.desk.restart();
                self.say("the scenario starts anew")?;
                self.tell_tick()?;
            }
            Command::Find(words) => self.tell_faults(&words)?,
            Command::Help => self.tell_help()?,
            Command::Quit => self.end()?,
        }
        Ok(())
    }

    /// What the tape tells is told with the tick in which it takes effect.
    fn put(&mut self, ask: Ask) -> io::Result<()> {
        match ask.put(&mut self.desk) {
            Ok(said) if said.on_tape => Ok(()),
            Ok(said) => said.lines.iter().try_for_each(|line| self.say(line)),
            Err(why) => self.say(&format!("not done: {why}")),
        }
    }

    fn tell_faults(&mut self, search: &str) -> io::Result<()> {
        let found = ask::find(search);
        if found.is_empty() {
            return self.say("no fault matches: `find` alone lists them all");
        }
        self.print(&found)
    }

    fn tell_help(&mut self) -> io::Result<()> {
        for (command, does) in COMMANDS {
            writeln!(self.out, "  {command:<34}{does}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
