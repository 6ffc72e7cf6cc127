//! The trainer's side door: another terminal of the same person's machine lets faults in
//! while the trainee's view hides them.
//!
//! Responsibilities:
//! 1. What is said over it, line by line, versioned and bounded (`message`, `lines`).
//! 2. Who may: `place` makes the socket the owner's alone and refuses another's.
//! 3. The trainee's end, which listens beside a session (`post`), and the trainer's (`call`).
//! 4. The trainer's prompt: lines typed, lines told (`prompt`).
//!
//! An order from here is given as one typed at the desk is: it stands in the flight's own
//! log. A trainer who leaves, or whose lines make no sense, changes nothing.

mod call;
mod lines;
mod message;
mod place;
mod post;
mod prompt;

pub use call::{Call, Ear};
pub use message::{Misheard, VERSION, Word};
pub use place::{Refused, default_path};
pub use post::Post;
pub use prompt::{Next, Prompt};

use super::ask::Ask;
use super::command::{self, Command};
use super::desk::Desk;

/// A session that takes a trainer's orders.
pub trait Trainee {
    /// The session.
    fn flown(&self) -> &Desk;

    /// Does what the trainer orders; what is to be answered.
    fn heed(&mut self, order: &str) -> Word;
}

/// What an order did.
pub(super) struct Heeded {
    /// What is to be answered.
    pub(super) word: Word,
    /// What the trainee may know of it: that time was changed.
    pub(super) tell: Option<String>,
}

/// Lets `desk` do what a trainer orders.
pub(super) fn heed(desk: &mut Desk, order: &str) -> Heeded {
    let refused = |why: String, remedy: String| Heeded {
        word: Word::Refused { why, remedy },
        tell: None,
    };
    let ask = match read(order) {
        Ok(Some(ask)) => ask,
        Ok(None) => return refused("there is no order in it".to_owned(), HELP.to_owned()),
        Err(wrong) => return refused(wrong.message, wrong.remedy),
    };
    let of_time = is_of_time(&ask);
    match ask.put(desk) {
        Ok(said) => Heeded {
            tell: said.lines.first().filter(|_| of_time).cloned(),
            word: Word::Done {
                seconds: desk.frame().seconds(),
                lines: said.lines,
            },
        },
        Err(why) => refused(why, HELP.to_owned()),
    }
}

/// An order changes how, or where in it, time passes.
const fn is_of_time(ask: &Ask) -> bool {
    match ask {
        Ask::Pause | Ask::Go | Ask::Speed(_) | Ask::Back(_) | Ask::Forward(_) | Ask::Other => true,
        Ask::Inject(_)
        | Ask::Arm(_)
        | Ask::Disarm(_)
        | Ask::Clear(_)
        | Ask::ClearAll
        | Ask::Armed
        | Ask::Active
        | Ask::State
        | Ask::Why
        | Ask::Verdict => false,
    }
}

const HELP: &str = "`help` lists the commands";

/// Reads an order; nothing in an empty line or a `# remark`.
fn read(line: &str) -> Result<Option<Ask>, command::Refused> {
    let start = line.len() - line.trim_start().len();
    let refused = |message: &str, remedy: &str| {
        Err(command::Refused {
            at: start..line.trim_end().len(),
            message: message.to_owned(),
            remedy: remedy.to_owned(),
        })
    };
    match Command::parse(line)? {
        None => Ok(None),
        Some(Command::Ask(ask)) => Ok(Some(ask)),
        Some(Command::Do(_)) => refused(
            "the controls are the trainee's",
            "tell the trainee, or let a fault in; `find` lists the faults",
        ),
        Some(Command::Restart) => refused(
            "only the trainee starts anew",
            "go back with `back N`, or tell the trainee",
        ),
        Some(
            Command::Tick | Command::Wait(_) | Command::Find(_) | Command::Help | Command::Quit,
        ) => refused("that is no order to a trainee's session", HELP),
    }
}

#[cfg(test)]
mod tests;
