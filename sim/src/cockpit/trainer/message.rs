//! What trainer and trainee say to each other: JSON, one object a line.

use serde::{Deserialize, Serialize};

/// Version of the messages: it rises when one changes its meaning.
pub const VERSION: u32 = 1;
/// Longest message, bytes: every fault a flight takes, listed, with room to spare.
pub(super) const MOST: usize = 65_536;

/// What a trainee's session answers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Word {
    /// To a trainer who comes.
    Welcome {
        /// The scenario that is flown.
        scenario: String,
        /// Its seed.
        seed: u64,
        /// Time in the flight, s.
        seconds: f64,
    },
    /// An order was obeyed.
    Done {
        /// Time in the flight, s.
        seconds: f64,
        /// What is to be said of it.
        lines: Vec<String>,
    },
    /// An order was not obeyed, and nothing has changed.
    Refused {
        /// Why.
        why: String,
        /// What to do.
        remedy: String,
    },
    /// A trainer is there already.
    Engaged,
    /// The trainee's session ends.
    Over {
        /// Time in the flight, s.
        seconds: f64,
    },
}

/// Why a line is no message.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Misheard {
    /// It is longer than any message.
    #[error("a message of more than {MOST} bytes")]
    TooLong,
    /// It is not UTF-8.
    #[error("a message that is no text (UTF-8)")]
    NoText,
    /// It is not what is said here.
    #[error("a message that is none of this program's: {0}")]
    Foreign(String),
    /// The other side is another version.
    #[error("a message of version {0}; this program speaks version {VERSION}")]
    Version(u32),
}

impl Misheard {
    /// What to do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::TooLong | Self::NoText | Self::Foreign(_) => {
                "connect with `mastwright cockpit --trainer`"
            }
            Self::Version(_) => "run the same version of mastwright in both terminals",
        }
    }
}

#[derive(Serialize, Deserialize)]
struct Versioned {
    mastwright_trainer: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Request {
    mastwright_trainer: u32,
    order: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Reply {
    mastwright_trainer: u32,
    reply: Word,
}

/// An order as a line.
pub(super) fn order_line(order: &str) -> String {
    line(&Request {
        mastwright_trainer: VERSION,
        order: order.to_owned(),
    })
}

/// An answer as a line.
pub(super) fn word_line(word: &Word) -> String {
    line(&Reply {
        mastwright_trainer: VERSION,
        reply: word.clone(),
    })
}

fn line(message: &impl Serialize) -> String {
    let mut line = serde_json::to_string(message).expect("text and numbers become JSON");
    line.push('\n');
    line
}

/// The order in a line.
pub(super) fn read_order(line: &str) -> Result<String, Misheard> {
    check_version(line)?;
    let request: Request = serde_json::from_str(line).map_err(foreign)?;
    Ok(request.order)
}

/// The answer in a line.
pub(super) fn read_word(line: &str) -> Result<Word, Misheard> {
    check_version(line)?;
    let reply: Reply = serde_json::from_str(line).map_err(foreign)?;
    Ok(reply.reply)
}

/// Before the rest, which another version may say otherwise.
fn check_version(line: &str) -> Result<(), Misheard> {
    let found: Versioned = serde_json::from_str(line).map_err(foreign)?;
    if found.mastwright_trainer == VERSION {
        Ok(())
    } else {
        Err(Misheard::Version(found.mastwright_trainer))
    }
}

#[expect(clippy::needless_pass_by_value, reason = "it is handed to `map_err`")]
fn foreign(error: serde_json::Error) -> Misheard {
    Misheard::Foreign(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_is_what_is_heard() {
        let order = "arm power off when \"quoted\"\nand broken";
        let said = order_line(order);
        assert_eq!(said.matches('\n').count(), 1);
        assert_eq!(read_order(&said), Ok(order.to_owned()));
        let word = Word::Done {
            seconds: 1.25,
            lines: vec!["injected".to_owned()],
        };
        assert_eq!(read_word(&word_line(&word)), Ok(word));
    }

    #[test]
    fn what_is_not_said_here_is_told_from_another_version() {
        for foreign in [
            "",
            "GET / HTTP/1.1",
            "{}",
            "[1]",
            "{\"mastwright_trainer\":1}",
        ] {
            let heard = read_order(foreign);
            assert!(matches!(heard, Err(Misheard::Foreign(_))), "{foreign}");
        }
        let newer = "{\"mastwright_trainer\":2,\"wish\":\"pause\"}";
        assert_eq!(read_order(newer), Err(Misheard::Version(2)));
    }
}
