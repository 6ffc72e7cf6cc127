//! The trainer's prompt: what is typed, and what is told, line by line.

use std::io::{self, Write};

use super::message::Word;
use crate::cockpit::ask;
use crate::cockpit::command::Command;
use crate::report::layout::{COLUMNS, wrap};

/// Every command, for help.
const COMMANDS: &[(&str, &str)] = &[
    ("find [WORDS]", "search the faults there are"),
    ("inject TARGET KIND [strength N] [for N s]", ""),
    (
        "arm TARGET KIND ... when MOMENT",
        "inject when a moment comes",
    ),
    ("armed | disarm N", "list the armed faults, or drop one"),
    ("active | clear [N]", "list the active faults, or end them"),
    ("pause | go", "stop time, let it pass"),
    ("speed slow|real|fast|fastest", "how fast it passes"),
    (
        "back N | forward N",
        "N s back, or on through what was flown",
    ),
    ("other", "the branch left last"),
    (
        "state | why | verdict",
        "where they are, what is denied, what held",
    ),
    ("watch on|off", "tell the state every second"),
    ("help | quit", "this; leave, and change nothing"),
];

/// What a typed line asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// An order to be sent.
    Send(String),
    /// Nothing more: it was answered here.
    Nothing,
    /// To leave.
    Leave,
}

/// A trainer's prompt.
#[derive(Debug)]
pub struct Prompt<W> {
    out: W,
    watching: bool,
}

impl<W: Write> Prompt<W> {
    /// A prompt that tells to `out`.
    pub const fn new(out: W) -> Self {
        Self {
            out,
            watching: false,
        }
    }

    /// The state is to be asked for every second.
    pub const fn is_watching(&self) -> bool {
        self.watching
    }

    /// Takes a typed line.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn typed(&mut self, line: &str) -> io::Result<Next> {
        match line.split_whitespace().collect::<Vec<_>>()[..] {
            ["watch", on @ ("on" | "off")] => {
                self.watching = on == "on";
                return Ok(Next::Nothing);
            }
            ["watch", ..] => {
                self.print(&[format!("not done: {line}")])?;
                self.print(&["          remedy: write `watch on` or `watch off`".to_owned()])?;
                return Ok(Next::Nothing);
            }
            _ => {}
        }
        match Command::parse(line) {
            Ok(Some(Command::Find(words))) => self.find(&words)?,
            Ok(Some(Command::Help)) => self.help()?,
            Ok(Some(Command::Quit)) => return Ok(Next::Leave),
            Ok(_) | Err(_) => match super::read(line) {
                Ok(Some(_)) => return Ok(Next::Send(line.trim().to_owned())),
                Ok(None) => {}
                Err(refused) => self.print(&refused.lines(line))?,
            },
        }
        self.out.flush()?;
        Ok(Next::Nothing)
    }

    /// Tells what a session answered; false: nothing more will come.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn heard(&mut self, word: &Word) -> io::Result<bool> {
        let goes_on = match word {
            Word::Welcome {
                scenario,
                seed,
                seconds,
            } => {
                self.say(
                    *seconds,
                    &format!(
                        "you are the trainer of {scenario}, seed {seed}; `help` lists the commands"
                    ),
                )?;
                true
            }
            Word::Done { seconds, lines } => {
                lines.iter().try_for_each(|line| self.say(*seconds, line))?;
                true
            }
            Word::Refused { why, remedy } => {
                let text = [format!("not done: {why}"), format!("remedy: {remedy}")];
                for text in &text {
                    self.print(&wrap(text, COLUMNS))?;
                }
                true
            }
            Word::Engaged => {
                self.print(&["another trainer is connected to this session".to_owned()])?;
                false
            }
            Word::Over { seconds } => {
                self.say(*seconds, "the trainee's session has ended")?;
                false
            }
        };
        self.out.flush()?;
        Ok(goes_on)
    }

    /// Tells something of this side.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn note(&mut self, text: &str) -> io::Result<()> {
        self.print(&wrap(text, COLUMNS))?;
        self.out.flush()
    }

    fn say(&mut self, seconds: f64, what: &str) -> io::Result<()> {
        let mut lines = wrap(what, COLUMNS - 14).into_iter();
        let first = lines.next().unwrap_or_default();
        writeln!(self.out, "{seconds:>8.2} s  - {first}")?;
        lines.try_for_each(|line| writeln!(self.out, "{:14}{line}", ""))
    }

    fn find(&mut self, words: &str) -> io::Result<()> {
        let found = ask::find(words);
        if found.is_empty() {
            return self.print(&["no fault matches: `find` alone lists them all".to_owned()]);
        }
        self.print(&found)
    }

    fn help(&mut self) -> io::Result<()> {
        for (command, does) in COMMANDS {
            writeln!(self.out, "  {command:<34}{does}")?;
        }
        Ok(())
    }

    fn print(&mut self, lines: &[String]) -> io::Result<()> {
        lines
            .iter()
            .try_for_each(|line| writeln!(self.out, "{line}"))
    }
}
