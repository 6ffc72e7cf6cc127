//! The target's log, decoded: it sends numbers only, and its image has the words.
//!
//! Its time counts from the latest reset of the target. By the word it says in the first
//! tick after each, it is put back into the time of the flight.

use std::fs;
use std::path::Path;

use defmt_decoder::{DecodeError, Table};

/// Why a log cannot be read.
#[derive(Debug, thiserror::Error)]
#[error("the log of the image `{image}` cannot be read: {why}")]
pub struct Unreadable {
    image: String,
    why: String,
}

/// A line of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The tick, counted from the latest reset of the target.
    pub tick: u64,
    /// How much it matters.
    pub level: String,
    /// What it says.
    pub words: String,
}

/// What the target says in the first tick after each reset.
pub const AWAKE: &str = "awake";

/// Puts a log into the time of a flight: `wakings` are the ticks of the flight that were
/// the target's first after each reset. What it said before the first keeps its time.
#[must_use]
pub fn in_flight(mut lines: Vec<Line>, wakings: &[u64]) -> Vec<Line> {
    let mut next = wakings.iter();
    let mut awake = 0;
    for line in &mut lines {
        if line.words == AWAKE
            && let Some(tick) = next.next()
        {
            awake = *tick;
        }
        line.tick += awake;
    }
    lines
}

/// Decodes what `image` has logged.
///
/// # Errors
/// The image has no words, or the log is damaged.
pub fn decode(image: &Path, log: &[u8]) -> Result<Vec<Line>, Unreadable> {
    let told = |why: &dyn std::fmt::Display| Unreadable {
        image: image.display().to_string(),
        why: why.to_string(),
    };
    let elf = fs::read(image).map_err(|error| told(&error))?;
    let table = Table::parse(&elf)
        .map_err(|error| told(&error))?
        .ok_or_else(|| told(&"no words of a log"))?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(log);
    let mut lines = Vec::new();
    loop {
        match decoder.decode() {
            Ok(frame) => lines.push(Line {
                tick: frame
                    .display_timestamp()
                    .and_then(|tick| tick.to_string().parse().ok())
                    .unwrap_or(0),
                level: frame
                    .level()
                    .map_or_else(String::new, |level| level.as_str().to_owned()),
                words: frame.display_message().to_string(),
            }),
            Err(DecodeError::UnexpectedEof) => return Ok(lines),
            Err(DecodeError::Malformed) => {
                return Err(told(&format!("the log is damaged after {lines:?}")));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(tick: u64, words: &str) -> Line {
        Line {
            tick,
            level: "info".to_owned(),
            words: words.to_owned(),
        }
    }

    #[test]
    fn a_log_is_put_into_the_time_of_the_flight_through_every_reset() {
        let said = vec![
            line(0, "started"),
            line(0, AWAKE),
            line(14, "one"),
            line(0, AWAKE),
            // Later than the one before by its own time: only the word tells of the reset.
            line(20, "two"),
        ];
        let ticks = |lines: Vec<Line>| lines.iter().map(|line| line.tick).collect::<Vec<_>>();
        assert_eq!(
            ticks(in_flight(said.clone(), &[0, 900])),
            [0, 0, 14, 900, 920]
        );
        assert_eq!(ticks(in_flight(said, &[5])), [0, 5, 19, 5, 25]);
    }
}
