//! Taking things out of the text of a scenario, with everything else left as it stands.

use toml_edit::{Array, DocumentMut, Item, Table, value};

/// What begins at its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cue {
    /// An action.
    Action,
    /// A fault.
    Fault,
}

impl Cue {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::Action, Self::Fault];

    /// The key of its tables.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Action => "action",
            Self::Fault => "fault",
        }
    }
}

/// How many there are.
#[must_use]
pub fn count(document: &DocumentMut, cue: Cue) -> usize {
    let tables = document.get(cue.key()).and_then(Item::as_array_of_tables);
    tables.map_or(0, toml_edit::ArrayOfTables::len)
}

/// What the action of this index does.
#[must_use]
pub fn words(document: &DocumentMut, index: usize) -> Option<&str> {
    let tables = document.get("action")?.as_array_of_tables()?;
    tables.get(index)?.get("do")?.as_str()
}

/// Takes out an action or a fault. Whoever waits for a later action waits for it under
/// its new number.
pub fn remove(document: &mut DocumentMut, cue: Cue, index: usize) {
    let Some(tables) = document
        .get_mut(cue.key())
        .and_then(Item::as_array_of_tables_mut)
    else {
        return;
    };
    tables.remove(index);
    if tables.is_empty() {
        document.remove(cue.key());
    }
    if cue == Cue::Action {
        Cue::BOTH
            .into_iter()
            .for_each(|cue| renumber(document, cue, index + 1));
    }
}

/// Lets every moment that waits for an action after `removed`, counted from 1, wait for
/// the number before.
fn renumber(document: &mut DocumentMut, cue: Cue, removed: usize) {
    let Some(tables) = document
        .get_mut(cue.key())
        .and_then(Item::as_array_of_tables_mut)
    else {
        return;
    };
    for table in tables.iter_mut() {
        let Some(when) = table.get("when").and_then(Item::as_str) else {
            continue;
        };
        let moved = renumbered(when, removed);
        if moved != when {
            table["when"] = value(moved);
        }
    }
}

fn renumbered(when: &str, removed: usize) -> String {
    let mut follows = false;
    let words = when.split(' ').map(|word| {
        let number = word.parse::<usize>().ok().filter(|_| follows);
        follows = word == "action";
        match number {
            Some(number) if number > removed => (number - 1).to_string(),
            Some(_) | None => word.to_owned(),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// A place in the text: the key of a table and what is below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path(Vec<Step>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Step {
    Key(String),
    Index(usize),
}

impl std::fmt::Display for Path {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (place, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(key) if place == 0 => write!(f, "{key}")?,
                Step::Key(key) => write!(f, ".{key}")?,
                Step::Index(index) => write!(f, " {}", index + 1)?,
            }
        }
        Ok(())
    }
}

/// Every key and every element of a list, whole tables before what is in them. Actions
/// and faults as wholes are not among them: [`remove`] takes those.
#[must_use]
pub fn places(document: &DocumentMut) -> Vec<Path> {
    let mut places = Vec::new();
    below(&Path(Vec::new()), document.as_table(), &mut places);
    places
}

fn below(path: &Path, table: &Table, places: &mut Vec<Path>) {
    for (key, item) in table {
        let here = path.with(Step::Key(key.to_owned()));
        match item {
            Item::Table(table) => {
                places.push(here.clone());
                below(&here, table, places);
            }
            Item::ArrayOfTables(tables) => {
                for (index, table) in tables.iter().enumerate() {
                    below(&here.with(Step::Index(index)), table, places);
                }
            }
            Item::Value(value) => {
                places.push(here.clone());
                let elements = value.as_array().map_or(0, Array::len);
                let elements = (0..elements).map(|index| here.with(Step::Index(index)));
                places.extend(elements);
            }
            Item::None => {}
        }
    }
}

impl Path {
    fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }

    /// Takes out what stands here; false when nothing does.
    pub fn cut(&self, document: &mut DocumentMut) -> bool {
        let Some((last, way)) = self.0.split_last() else {
            return false;
        };
        let mut item = document.as_item_mut();
        for step in way {
            let next = match step {
                Step::Key(key) => item.get_mut(key.as_str()),
                Step::Index(index) => item.get_mut(*index),
            };
            let Some(next) = next else { return false };
            item = next;
        }
        match last {
            Step::Key(key) => item
                .as_table_like_mut()
                .is_some_and(|table| table.remove(key).is_some()),
            Step::Index(index) => {
                let array = item.as_array_mut().filter(|array| *index < array.len());
                array.is_some_and(|array| {
                    array.remove(*index);
                    true
                })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "title = \"t\" # kept\n[start]\nheight = 4\n[[action]]\nat = 1\ndo = \
        \"stop on\"\n[[action]]\nwhen = \"action 1 is done\"\ndo = \"stop off\"\n[[action]]\n\
        when = \"action 2 is done or mast > 2 %\"\ndo = \"aux charge on\"\n[expect]\n\
        visits = [\"Thrust\", \"Halted\"]\n";

    fn document() -> DocumentMut {
        TEXT.parse().expect("TOML")
    }

    #[test]
    fn whoever_waits_for_an_action_waits_for_it_under_its_new_number() {
        let mut shorter = document();
        remove(&mut shorter, Cue::Action, 0);
        let text = shorter.to_string();
        assert_eq!(count(&shorter, Cue::Action), 2);
        assert_eq!(words(&shorter, 0), Some("stop off"));
        assert!(text.contains("action 1 is done or mast > 2 %"), "{text}");
        assert!(text.contains("title = \"t\" # kept"), "{text}");
    }

    #[test]
    fn every_line_but_the_headings_is_a_place_that_can_be_cut() {
        let places = places(&document());
        let told: Vec<String> = places.iter().map(ToString::to_string).collect();
        for place in [
            "title",
            "start",
            "start.height",
            "action 2.when",
            "expect.visits 2",
        ] {
            assert!(told.iter().any(|name| name == place), "{place}: {told:?}");
        }
        for place in places {
            let mut cut = document();
            assert!(place.cut(&mut cut), "{place}");
            assert_ne!(cut.to_string(), TEXT, "{place}");
            assert!(cut.to_string().len() < TEXT.len(), "{place}");
        }
    }
}
