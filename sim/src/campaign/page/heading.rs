//! The line that says which plan and build a table is of.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use super::Refused;

/// What a table says of itself: words of the form `key=value`, parted by spaces; the last
/// one may hold spaces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading(String);

impl Heading {
    /// The heading of a plan, or of one of its shards.
    #[must_use]
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The heading of the table in `path`.
    ///
    /// # Errors
    /// When its first line cannot be read.
    pub fn of_table(path: &Path) -> Result<Self, Refused> {
        let mut first = String::new();
        File::open(path)
            .and_then(|file| BufReader::new(file).read_line(&mut first))
            .map_err(Refused::io(path))?;
        let first = first.trim_end();
        let told = first.split_once(": ").map_or(first, |(_, told)| told);
        Ok(Self::new(told))
    }

    /// Key and value of each word.
    #[must_use]
    pub fn words(&self) -> Vec<(&str, &str)> {
        let mut words = Vec::new();
        let mut rest = self.0.as_str();
        while let Some((key, after)) = rest.split_once('=') {
            let (value, next) = match after.split_once(' ') {
                Some(parts) if key != "only" => parts,
                Some(_) | None => (after, ""),
            };
            words.push((key, value));
            rest = next;
        }
        words
    }

    fn number(&self, wanted: &str) -> Option<u64> {
        let words = self.words();
        let (_, value) = words.iter().find(|(key, _)| *key == wanted)?;
        value.parse().ok()
    }

    /// Seed the table was flown with; 1 where it does not say.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.number("seed").unwrap_or(1)
    }

    /// How many cells its plan has, over all shards.
    #[must_use]
    pub fn planned(&self) -> Option<u64> {
        self.number("cells")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_is_taken_apart_and_its_last_word_may_hold_spaces() {
        let heading = Heading::new("shard=1/2 seed=7 cells=90 only=no such=thing");
        assert_eq!(
            heading.words(),
            [
                ("shard", "1/2"),
                ("seed", "7"),
                ("cells", "90"),
                ("only", "no such=thing")
            ]
        );
        assert_eq!((heading.seed(), heading.planned()), (7, Some(90)));
    }
}
