//! `mastwright cockpit --trainer`: the prompt of whoever lets the faults in.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use miette::{IntoDiagnostic, miette};

use super::cockpit::lines_of_stdin;
use super::{BROKEN, GOOD};
use crate::cockpit::shell::{INTERRUPTED, Interrupt};
use crate::cockpit::trainer::{Call, Ear, Misheard, Next, Prompt, Refused, Word, default_path};

/// Longest wait for anything: how late a signal may be seen.
const IDLE: Duration = Duration::from_millis(100);
/// Time between two states while they are watched.
const WATCH: Duration = Duration::from_secs(1);
/// How long a session may take to answer before it counts as no session.
const PATIENCE: Duration = Duration::from_secs(10);

/// What comes to the prompt.
enum Heard {
    Typed(String),
    NothingMore,
    Word(Result<Word, Misheard>),
    Gone,
}

/// `socket`, or the usual place.
pub(super) fn place(socket: Option<&Path>) -> miette::Result<PathBuf> {
    socket.map_or_else(
        || default_path().map_err(report),
        |path| Ok(path.to_owned()),
    )
}

pub(super) fn report(refused: Refused) -> miette::Report {
    miette!(help = refused.remedy, "{}", refused.why)
}

/// Runs the prompt; the exit code.
///
/// # Errors
/// When no session can be reached, or `out` not be written.
pub(super) fn prompt(socket: Option<&Path>, out: &mut dyn Write) -> miette::Result<u8> {
    let interrupt = Interrupt::listen();
    let call = Call::connect(&place(socket)?).map_err(report)?;
    let ear = call.ear().into_diagnostic()?;
    let (to, heard) = channel();
    let typed = to.clone();
    std::thread::spawn(move || hear_answers(ear, &to));
    std::thread::spawn(move || hear_lines(&typed));
    let seat = Seat {
        call,
        prompt: Prompt::new(out),
        // It begins with a welcome.
        unanswered: 1,
        since: Instant::now(),
        leaving: false,
    };
    seat.sit(&heard, &interrupt)
}

fn hear_answers(mut ear: Ear, to: &Sender<Heard>) {
    while let Some(word) = ear.hear() {
        if to.send(Heard::Word(word)).is_err() {
            return;
        }
    }
    // Whoever would listen may have left already.
    let _ = to.send(Heard::Gone);
}

fn hear_lines(to: &Sender<Heard>) {
    for line in &lines_of_stdin() {
        if to.send(Heard::Typed(line)).is_err() {
            return;
        }
    }
    let _ = to.send(Heard::NothingMore);
}

/// A trainer at the prompt.
struct Seat<'a> {
    call: Call,
    prompt: Prompt<&'a mut dyn Write>,
    /// Orders without an answer yet, and when the last answer or order was.
    unanswered: usize,
    since: Instant,
    leaving: bool,
}

impl Seat<'_> {
    fn sit(mut self, heard: &Receiver<Heard>, interrupt: &Interrupt) -> miette::Result<u8> {
        while !(self.leaving && self.unanswered == 0) {
            if interrupt.is_asked() {
                return Ok(INTERRUPTED);
            }
            let ended = match heard.recv_timeout(IDLE) {
                Ok(heard) => self.take(heard)?,
                Err(RecvTimeoutError::Timeout) => self.wait()?,
                Err(RecvTimeoutError::Disconnected) => Some(BROKEN),
            };
            if let Some(code) = ended {
                return Ok(code);
            }
        }
        Ok(GOOD)
    }

    /// Takes what came; the exit code if it was the last.
    fn take(&mut self, heard: Heard) -> miette::Result<Option<u8>> {
        match heard {
            Heard::Typed(_) if self.leaving => {}
            Heard::Typed(line) => match self.prompt.typed(&line).into_diagnostic()? {
                Next::Send(order) => self.order(&order),
                Next::Nothing => {}
                Next::Leave => self.leaving = true,
            },
            Heard::NothingMore => self.leaving = true,
            Heard::Word(Ok(word)) => {
                self.unanswered = self.unanswered.saturating_sub(1);
                self.since = Instant::now();
                if !self.prompt.heard(&word).into_diagnostic()? {
                    return Ok(Some(match word {
                        Word::Engaged => super::BAD_INPUT,
                        Word::Welcome { .. }
                        | Word::Done { .. }
                        | Word::Refused { .. }
                        | Word::Over { .. } => GOOD,
                    }));
                }
            }
            Heard::Word(Err(misheard)) => {
                return Err(miette!(
                    help = misheard.remedy(),
                    "the session sent {misheard}"
                ));
            }
            Heard::Gone => {
                self.prompt
                    .note("the trainee's session is gone without a word")
                    .into_diagnostic()?;
                return Ok(Some(BROKEN));
            }
        }
        Ok(None)
    }

    /// Orders something. A session that has gone is told of by its own last word.
    fn order(&mut self, order: &str) {
        if self.call.order(order).is_ok() {
            self.unanswered += 1;
            self.since = Instant::now();
        }
    }

    /// Nothing came for a while.
    fn wait(&mut self) -> miette::Result<Option<u8>> {
        if self.unanswered > 0 && self.since.elapsed() > PATIENCE {
            return Err(miette!(
                help = "see whether the trainee's session still runs, and connect again",
                "the trainee's session does not answer"
            ));
        }
        if self.prompt.is_watching() && self.unanswered == 0 && self.since.elapsed() >= WATCH {
            self.order("state");
        }
        Ok(None)
    }
}
