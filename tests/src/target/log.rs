//! The target's log, decoded: it sends numbers only, and its image has the words.

use std::fs;
use std::path::Path;

use defmt_decoder::{DecodeError, Table};

use super::tools::Problem;

/// A line of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The tick, counted from the latest reset.
    pub tick: String,
    /// How much it matters.
    pub level: String,
    /// What it says.
    pub words: String,
}

/// Decodes what `image` has logged.
///
/// # Errors
/// The image has no words, or the log is damaged.
pub fn decode(image: &Path, log: &[u8]) -> Result<Vec<Line>, Problem> {
    let told = |error: &dyn std::fmt::Display| format!("{}: {error}", image.display());
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
                    .map_or_else(String::new, |tick| tick.to_string()),
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
