//! The target's log, decoded: it sends numbers only, and its image has the words.

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
