//! A file of keys: what is wrong with one is refused with its place and a remedy.
//!
//! ```toml
//! [keys]
//! stop = "Enter"
//! throttle-up = ["Up", "k"]
//! heat-test = []          # no key
//! ```

use std::collections::BTreeMap;
use std::ops::Range;

use serde::Deserialize;
use toml::Spanned;

use super::{Action, Chord, Keys, TABLE, View};
use crate::scenario::problem::{Complaint, Problem, did_you_mean};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    keys: BTreeMap<Spanned<String>, Spanned<OneOrMore>>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "a key in quotes, or a list of keys")]
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

impl Keys {
    /// The table's keys, changed as a file says; `file` names it in errors.
    ///
    /// # Errors
    /// The first thing wrong with it, its place and a remedy.
    pub fn parse(file: &str, text: &str) -> Result<Self, Problem> {
        read(text).map_err(|complaint| Problem::new(file, text, complaint))
    }
}

fn read(text: &str) -> Result<Keys, Complaint> {
    let file: File = toml::from_str(text).map_err(|error| {
        Complaint::new(
            error.span().unwrap_or(0..0),
            format!("this is no file of keys: {}", error.message()),
            "here",
            "write a table `[keys]` with lines such as `stop = \"x\"` or `faster = [\"+\", \"=\"]`",
        )
    })?;
    let mut keys = Keys::default();
    let mut places: Vec<(Action, Range<usize>)> = Vec::new();
    // In the order of the file, so that the first thing wrong is the one told.
    let mut lines: Vec<_> = file.keys.into_iter().collect();
    lines.sort_by_key(|(name, _)| name.span().start);
    for (name, given) in lines {
        let place = given.span();
        let row = row_of(&name)?;
        let names = match given.into_inner() {
            OneOrMore::One(key) => vec![key],
            OneOrMore::More(keys) => keys,
        };
        keys.bound[row] = names
            .iter()
            .map(|key| chord(key, &place))
            .collect::<Result<_, _>>()?;
        places.push((TABLE[row].action, place));
    }
    check(&keys, &places)?;
    Ok(keys)
}

fn row_of(name: &Spanned<String>) -> Result<usize, Complaint> {
    let given = name.get_ref();
    let known = TABLE.iter().position(|row| row.name == given);
    known.ok_or_else(|| {
        Complaint::new(
            name.span(),
            format!("no action is called `{given}`"),
            "not known",
            did_you_mean(given, TABLE.iter().map(|row| row.name)),
        )
    })
}

fn chord(key: &str, place: &Range<usize>) -> Result<Chord, Complaint> {
    key.parse().map_err(|error: super::chord::NoSuchKey| {
        Complaint::new(
            place.clone(),
            error.to_string(),
            "not known",
            format!(
                "{}; any single character; with Ctrl+, Alt+ or, before a name, Shift+",
                did_you_mean(key, Chord::names())
            ),
        )
    })
}

/// No key may do two things, and there must be a way out.
fn check(keys: &Keys, places: &[(Action, Range<usize>)]) -> Result<(), Complaint> {
    let place_of = |action: Action| {
        let found = places.iter().rev().find(|(given, _)| *given == action);
        found.map(|(_, place)| place.clone())
    };
    let name_of = |action: Action| {
        let row = TABLE.iter().find(|row| row.action == action);
        row.map_or("", |row| row.name)
    };
    if let Some((chord, one, other)) = keys.collision() {
        let (one_at, other_at) = (place_of(one), place_of(other));
        let starts = |at: &Option<Range<usize>>| at.as_ref().map(|at| at.start);
        let (at, name) = if starts(&other_at) >= starts(&one_at) {
            (other_at, name_of(one))
        } else {
            (one_at, name_of(other))
        };
        return Err(Complaint::new(
            at.unwrap_or(0..0),
            format!("the key `{chord}` already does `{name}`"),
            "taken",
            format!("choose another key, or give `{name}` another one in this file"),
        ));
    }
    if keys.shown(Action::View(View::Quit)).is_none()
        && keys.shown(Action::View(View::LeaveNow)).is_none()
    {
        return Err(Complaint::new(
            place_of(Action::View(View::Quit)).unwrap_or(0..0),
            "no key would leave the program",
            "no key",
            "give `quit` or `leave-now` a key",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::{Hand, Place};
    use super::*;

    fn refused(text: &str) -> (usize, String, String) {
        let problem = Keys::parse("keys.toml", text).expect_err("refused");
        (
            problem.offset(),
            problem.to_string(),
            problem.remedy().to_owned(),
        )
    }

    #[test]
    fn a_file_changes_what_it_names_and_nothing_else() {
        let keys = Keys::parse("keys.toml", "[keys]\nstop = \"Enter\"\nheat-test = []\n")
            .expect("a good file");
        let at = |key: &str| keys.action(Place::Flight, key.parse().expect("a key"));
        assert_eq!(at("Enter"), Some(Action::Hand(Hand::Stop)));
        assert_eq!((at("x"), at("t")), (None, None));
        assert_eq!(at("d"), Some(Action::Hand(Hand::Deploy)));
    }

    #[test]
    fn an_action_that_is_not_known_is_pointed_at_with_the_one_meant() {
        let (at, message, remedy) = refused("[keys]\ndepoly = \"y\"\n");
        assert_eq!(at, 7);
        assert_eq!(message, "no action is called `depoly`");
        assert!(remedy.starts_with("did you mean `deploy`?"), "{remedy}");
    }

    #[test]
    fn a_key_that_is_not_known_is_pointed_at_with_the_one_meant() {
        let (at, message, remedy) = refused("[keys]\ndeploy = \"PgeUp\"\n");
        assert_eq!(at, 16);
        assert_eq!(message, "no key is called `PgeUp`");
        assert!(remedy.starts_with("did you mean `PageUp`?"), "{remedy}");
    }

    #[test]
    fn a_key_that_is_taken_is_pointed_at_with_what_it_does() {
        let (at, message, remedy) = refused("[keys]\ndeploy = \"x\"\n");
        assert_eq!(at, 16);
        assert_eq!(message, "the key `x` already does `stop`");
        assert!(remedy.contains("another"), "{remedy}");
    }

    #[test]
    fn two_actions_may_exchange_their_keys() {
        let text = "[keys]\ndeploy = \"s\"\nstow = \"d\"\n";
        assert!(Keys::parse("keys.toml", text).is_ok());
    }

    #[test]
    fn a_program_without_a_way_out_is_refused() {
        let (_, message, remedy) = refused("[keys]\nquit = []\nleave-now = []\n");
        assert_eq!(message, "no key would leave the program");
        assert!(remedy.contains("quit"));
    }

    #[test]
    fn what_is_no_toml_is_refused_at_its_place() {
        for text in ["[keys\n", "[keys]\nstop = 3\n", "stop = \"x\"\n"] {
            let (_, message, _) = refused(text);
            assert!(message.starts_with("this is no file of keys"), "{message}");
        }
    }
}
