//! Keys: one table of actions, and the keys a person has given them.
//!
//! Help, hint line and the documents are made of this table; a file changes it.

mod chord;
mod file;
mod table;

pub use chord::{Chord, NoSuchKey};
pub use table::{Action, Desk, Hand, Place, Row, TABLE, Text, Time, View};

/// The keys in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Keys {
    /// For each row of the table, in its order.
    bound: Vec<Vec<Chord>>,
}

impl Default for Keys {
    fn default() -> Self {
        let chords = |row: &Row| {
            row.keys
                .iter()
                .map(|key| key.parse().expect("the table's keys are tested"))
                .collect()
        };
        Self {
            bound: TABLE.iter().map(chords).collect(),
        }
    }
}

impl Keys {
    /// What `chord` does at a place; the key that leaves at once does so anywhere.
    #[must_use]
    pub fn action(&self, place: Place, chord: Chord) -> Option<Action> {
        let means = |(row, chords): &(&Row, &[Chord])| {
            (row.place == place || row.action == Action::View(View::LeaveNow))
                && chords.contains(&chord)
        };
        self.rows().find(means).map(|(row, _)| row.action)
    }

    /// The rows of the table with the keys in force.
    pub fn rows(&self) -> impl Iterator<Item = (&'static Row, &[Chord])> {
        TABLE.iter().zip(self.bound.iter().map(Vec::as_slice))
    }

    /// The keys of an action as they are shown: `Up`, or `Left / h`; none when it has none.
    #[must_use]
    pub fn shown(&self, action: Action) -> Option<String> {
        let (_, chords) = self.rows().find(|(row, _)| row.action == action)?;
        let names: Vec<String> = chords.iter().map(ToString::to_string).collect();
        (!names.is_empty()).then(|| names.join(" / "))
    }

    /// The help: keys, and what they do. A row without keys is a heading.
    #[must_use]
    pub fn help(&self) -> Vec<(String, String)> {
        let mut rows = Vec::new();
        let mut heading = "";
        for (row, chords) in self.rows() {
            if row.heading != heading {
                heading = row.heading;
                rows.push((String::new(), heading.to_owned()));
            }
            let names: Vec<String> = chords.iter().map(ToString::to_string).collect();
            let keys = if names.is_empty() {
                "(no key)".to_owned()
            } else {
                names.join(" / ")
            };
            rows.push((keys, row.help.to_owned()));
        }
        rows
    }

    /// Two rows of one place that share a key, and the key.
    fn collision(&self) -> Option<(Chord, Action, Action)> {
        let rows: Vec<_> = self.rows().collect();
        for (index, (one, chords)) in rows.iter().enumerate() {
            for (other, others) in &rows[..index] {
                let anywhere = |row: &Row| row.action == Action::View(View::LeaveNow);
                if one.place != other.place && !anywhere(one) && !anywhere(other) {
                    continue;
                }
                if let Some(chord) = chords.iter().find(|chord| others.contains(chord)) {
                    return Some((*chord, other.action, one.action));
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_does_two_things_at_one_place() {
        assert_eq!(Keys::default().collision(), None);
    }

    #[test]
    fn every_row_has_its_own_action_and_name_a_key_and_words() {
        for (index, row) in TABLE.iter().enumerate() {
            assert!(!row.keys.is_empty() && !row.help.is_empty(), "{}", row.name);
            assert!(
                TABLE[..index]
                    .iter()
                    .all(|other| other.action != row.action && other.name != row.name),
                "{} stands twice",
                row.name
            );
        }
    }

    #[test]
    fn every_key_of_the_table_is_read_and_shown_alike() {
        for key in TABLE.iter().flat_map(|row| row.keys) {
            let chord: Chord = key.parse().unwrap_or_else(|error| panic!("{error}"));
            assert_eq!(chord.to_string(), *key);
        }
    }

    #[test]
    fn the_help_tells_every_action_with_its_keys() {
        let help = Keys::default().help();
        for row in TABLE {
            let told = help.iter().find(|(_, words)| words == row.help);
            assert!(
                told.is_some_and(|(keys, _)| keys.contains(row.keys[0])),
                "{}",
                row.name
            );
        }
    }
}
