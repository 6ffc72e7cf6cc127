//! Commands about faults.

use std::ops::Range;
use std::sync::Arc;

use super::{Refused, number, place};
use crate::cockpit::timeline::Armed;
use crate::faults::{Fault, Kind, Target};
use crate::scenario::moment::Moment;

const INJECT: &str = "`inject TARGET KIND [strength N] [for N s]`; `find` lists the faults";
const ARM: &str = "`arm TARGET KIND [strength N] [for N s] when MOMENT`, as in `arm \
    mechanics.mast-jam acts when mast passes 50 % while stowing`";

/// `inject TARGET KIND [strength N] [for N s]`.
pub(super) fn inject(line: &str, words: &[(Range<usize>, &str)]) -> Result<Fault, Refused> {
    fault(line, words, INJECT)
}

/// `arm TARGET KIND [strength N] [for N s] when MOMENT`.
pub(super) fn arm(line: &str, words: &[(Range<usize>, &str)]) -> Result<Arc<Armed>, Refused> {
    let end = line.trim_end().len();
    let when = words.iter().position(|(_, word)| *word == "when");
    let fault = fault(line, &words[..when.unwrap_or(words.len())], ARM)?;
    let refused = |at: Range<usize>, message: String, remedy: String| Refused {
        at,
        message,
        remedy,
    };
    let Some((at, _)) = when.map(|index| &words[index]) else {
        let message = "here `when` and a moment are missing".to_owned();
        return Err(refused(end..end, message, format!("write {ARM}")));
    };
    // From the word after, so that a place in the moment is one in the line.
    let begin = words
        .iter()
        .find(|(word, _)| word.start > at.start)
        .map_or(end, |(word, _)| word.start);
    let text = &line[begin..end];
    let moment = Moment::parse(text).map_err(|misread| {
        let message = if misread.found.is_empty() {
            "here the moment is not complete".to_owned()
        } else {
            format!("`{}` is not expected in a moment here", misread.found)
        };
        let at = begin + misread.at.start..begin + misread.at.end;
        refused(at, message, format!("write {}", misread.expected))
    })?;
    if moment.waits_for_action() > 0 {
        return Err(refused(
            begin..end,
            "only a scenario file numbers its actions".to_owned(),
            "wait for a state or a figure, as in `state is StowMast`".to_owned(),
        ));
    }
    Ok(Arc::new(Armed {
        fault,
        moment,
        when: text.to_owned(),
    }))
}

/// The number of a fault in a list, from 1.
pub(super) fn listed(line: &str, words: &[(Range<usize>, &str)]) -> Result<usize, Refused> {
    let given = words.get(1).and_then(|(_, word)| word.parse().ok());
    let wrong = if words.len() > 2 { 2 } else { 1 };
    given
        .filter(|number| *number > 0 && words.len() == 2)
        .ok_or_else(|| Refused {
            at: place(line, words, wrong),
            message: "here stands one number of a list".to_owned(),
            remedy: "write the number that `active` or `armed` shows".to_owned(),
        })
}

fn fault(line: &str, words: &[(Range<usize>, &str)], form: &str) -> Result<Fault, Refused> {
    let refused = |index: usize, message: String| Refused {
        at: place(line, words, index),
        message,
        remedy: format!("write {form}"),
    };
    let word = |index: usize| words.get(index).map_or("", |(_, word)| *word);
    let target: Target = word(1)
        .parse()
        .map_err(|error: crate::faults::Unknown| refused(1, error.to_string()))?;
    let kind: Kind = word(2)
        .parse()
        .map_err(|error: crate::faults::Unknown| refused(2, error.to_string()))?;
    let (mut strength, mut duration, mut index) = (None, None, 3);
    while index < words.len() {
        match word(index) {
            "strength" if strength.is_none() => {
                strength = Some(number(line, words, index + 1, form)?);
                index += 2;
            }
            "for" if duration.is_none() => {
                duration = Some(number(line, words, index + 1, form)?);
                index += if word(index + 2) == "s" { 3 } else { 2 };
            }
            other => return Err(refused(index, format!("`{other}` is not expected here"))),
        }
    }
    Fault::new(target, kind, strength, duration).map_err(|error| refused(2, error.to_string()))
}
