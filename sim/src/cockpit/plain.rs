//! The same story line by line, for screen readers and pipes.
//!
//! Commands are read line by line. Headless like the screen's: lines and time are handed
//! in, text goes to a writer.

mod command;

use std::collections::VecDeque;
use std::io::{self, Write};
use std::time::Duration;

use super::desk::{Desk, MOST_FAULTS};
use super::timeline::Order;
use crate::flight::Outcome;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::report::{text, words};
use crate::scenario::quantity::Quantity;
use crate::scenario::ticks;
use command::{COMMANDS, Command, Refused};

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
    pub fn new(desk: Desk, mut out: W, paint: Paint, at_once: bool) -> io::Result<Self> {
        text::heading(&mut out, desk.scenario(), desk.seed(), paint)?;
        let mut plain = Self {
            desk,
            out,
            paint,
            at_once,
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
            text::entry(&mut self.out, &item.entry(self.desk.scenario()), self.paint)?;
        }
        Ok(())
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
                Err(refused) => self.refuse(&line, &refused)?,
            }
        }
        self.end_if_done()
    }

    /// Nothing is left to fly or to obey.
    fn is_done(&self) -> bool {
        let flown = self.desk.frame().tick >= self.desk.last_tick();
        let waits = self.until.is_some() || !self.waiting.is_empty();
        self.closed && !waits && (flown || !self.desk.is_running())
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

    fn refuse(&mut self, line: &str, refused: &Refused) -> io::Result<()> {
        let before = line[..refused.at.start].chars().count();
        let width = line[refused.at.clone()].chars().count().max(1);
        writeln!(self.out, "not done: {line}")?;
        writeln!(self.out, "{:1$}{2}", "", before + 10, "^".repeat(width))?;
        for line in wrap(&refused.message, COLUMNS - 10) {
            writeln!(self.out, "{:10}{line}", "")?;
        }
        for line in wrap(&format!("remedy: {}", refused.remedy), COLUMNS - 10) {
            writeln!(self.out, "{:10}{line}", "")?;
        }
        Ok(())
    }

    fn obey(&mut self, command: Command) -> io::Result<()> {
        match command {
            Command::Do(deed) => self.desk.perform(deed),
            Command::Pause => {
                self.desk.set_running(false);
                self.say("time stands still")?;
            }
            Command::Go => self.desk.set_running(true),
            Command::Speed(speed) => self.desk.set_speed(speed),
            Command::Wait(seconds) => {
                self.until = Some(self.desk.frame().tick + ticks(seconds));
                self.desk.set_running(true);
            }
            Command::Tick => {
                self.desk.set_running(false);
                self.desk.step();
                self.tell_tick()?;
                self.tell_state()?;
            }
            Command::Back(seconds) => self.seek(-seconds)?,
            Command::Forward(seconds) => self.seek(seconds)?,
            Command::Other => self.take_back()?,
            Command::Restart => {
                self.desk.restart();
                self.say("the scenario starts anew")?;
                self.tell_tick()?;
            }
            Command::Inject(fault) => {
                if !self.desk.inject(fault) {
                    self.say(&format!(
                        "not done: this flight has had {MOST_FAULTS} faults; restart, or go back"
                    ))?;
                }
            }
            Command::Clear => self.desk.give(Order::ClearAll),
            Command::Active => self.tell_active()?,
            Command::Find(words) => self.tell_faults(&words)?,
            Command::State => self.tell_state()?,
            Command::Why => self.tell_why()?,
            Command::Verdict => self.tell_verdict()?,
            Command::Help => self.tell_help()?,
            Command::Quit => self.end()?,
        }
        Ok(())
    }

    fn seek(&mut self, seconds: f64) -> io::Result<()> {
        #[expect(clippy::cast_possible_wrap, reason = "at most an hour or two")]
        let distance = ticks(seconds.abs()) as i64;
        self.desk
            .seek_by(if seconds < 0.0 { -distance } else { distance });
        let end = self.desk.timeline().end();
        let text = if self.desk.frame().tick < end {
            #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
            let flown = end as f64 * crate::frame::TICK;
            format!("here again; flown up to {flown:.2} s: another order leaves that future")
        } else {
            "here the flight has come to".to_owned()
        };
        self.say(&text)?;
        self.tell_state()
    }

    fn take_back(&mut self) -> io::Result<()> {
        if self.desk.take_back() {
            let (number, _) = self.desk.timeline().branch();
            self.say(&format!("this is branch {number} again"))?;
            self.tell_state()
        } else {
            self.say("no branch has been left: go back and do something else")
        }
    }

    fn tell_state(&mut self) -> io::Result<()> {
        let frame = self.desk.frame();
        let read = |quantity: Quantity| quantity.read(frame);
        let text = format!(
            "{}; mast {:.0} %, doors {:.0} %, propeller {:.0} rpm, bus {:.0} V, motor {:.0} C, \
             height {:.0} m, airspeed {:.0} m/s; throttle {:.0} %, stop switch {}",
            words::phase(frame),
            read(Quantity::Mast),
            read(Quantity::Doors),
            read(Quantity::Propeller),
            read(Quantity::Bus),
            read(Quantity::Motor),
            read(Quantity::Height),
            read(Quantity::Airspeed),
            read(Quantity::Throttle),
            if frame.controls.stop { "thrown" } else { "off" },
        );
        self.say(&text)
    }

    fn tell_why(&mut self) -> io::Result<()> {
        let denials = self.desk.frame().outputs.denials.clone();
        if denials.is_empty() {
            return self.say("nothing asked for now is denied");
        }
        for denial in &denials {
            let what = crate::report::timeline::What::Denied(denial.permission, denial.reasons);
            let text = format!("denied: {}", what.words(self.desk.scenario()));
            self.say(&text)?;
        }
        Ok(())
    }

    fn tell_active(&mut self) -> io::Result<()> {
        let active = self.desk.present().world().active_faults();
        let active: Vec<String> = active.map(|(_, fault)| fault.to_string()).collect();
        if active.is_empty() {
            return self.say("no fault is active");
        }
        active.iter().try_for_each(|fault| self.say(fault))
    }

    fn tell_faults(&mut self, search: &str) -> io::Result<()> {
        let mut faults = super::faults::FaultDesk::default();
        search.chars().for_each(|letter| faults.type_letter(letter));
        if faults.matches().next().is_none() {
            return self.say("no fault matches: `find` alone lists them all");
        }
        for listed in faults.matches() {
            writeln!(self.out, "{:14}{}", "", listed.name)?;
            for line in wrap(&listed.words, COLUMNS - 18) {
                writeln!(self.out, "{:18}{line}", "")?;
            }
        }
        Ok(())
    }

    fn tell_verdict(&mut self) -> io::Result<()> {
        let verdict = self.desk.verdict();
        for row in verdict.rows() {
            if let Outcome::Broken { at, why } = &row.outcome {
                let text = format!("{} BROKEN at {at:.2} s: {why}", row.id);
                self.say(&text)?;
            }
        }
        let held = verdict.exercised().len() - verdict.broken();
        let broken = verdict.broken();
        self.say(&format!(
            "so far {held} put to the test and held, {broken} broken"
        ))
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
