//! Commands, as they are typed.

mod faults;

use std::ops::Range;

use super::ask::Ask;
use super::speed::Speed;
use crate::report::layout::{COLUMNS, wrap};
use crate::scenario::LONGEST;
use crate::scenario::deed::Deed;
use crate::scenario::problem::nearest;

/// Every command, for help.
pub(super) const COMMANDS: &[(&str, &str)] = &[
    ("throttle N", "move the lever to N %"),
    ("deploy | stow [for N s]", "push the selector"),
    ("stop [on|off]", "throw or put back stop-and-stow"),
    ("ack [for N s]", "press acknowledge"),
    ("heat test | aux charge on|off", "the other switches"),
    ("bench key on|off", "turn the bench key"),
    ("airspeed to N m/s", "fly another airspeed"),
    ("person near|clear", "someone steps near the mast"),
    ("power on | power off [for N s]", "the controller's supply"),
    ("pause | go | tick", "stop time, let it pass, one tick"),
    ("speed slow|real|fast|fastest", "how fast it passes"),
    ("wait N", "let N s pass before the next command"),
    (
        "back N | forward N",
        "N s back, or on through what was flown",
    ),
    ("other | restart", "the branch left last; start anew"),
    ("find [WORDS]", "search the faults there are"),
    ("inject TARGET KIND [strength N] [for N s]", ""),
    (
        "arm TARGET KIND ... when MOMENT",
        "inject when a moment comes",
    ),
    ("armed | disarm N", "list the armed faults, or drop one"),
    ("active | clear [N]", "list the active faults, or end them"),
    (
        "state | why | verdict",
        "where we are, what is denied, what held",
    ),
    ("help | quit", "this; end, and tell how it went"),
];

/// Words a command may begin with.
const FIRST: &[&str] = &[
    "throttle",
    "deploy",
    "stow",
    "select",
    "stop",
    "ack",
    "acknowledge",
    "heat",
    "aux",
    "bench",
    "airspeed",
    "person",
    "power",
    "pause",
    "go",
    "tick",
    "speed",
    "wait",
    "back",
    "forward",
    "other",
    "restart",
    "find",
    "inject",
    "arm",
    "armed",
    "disarm",
    "active",
    "clear",
    "state",
    "why",
    "verdict",
    "help",
    "quit",
];

/// A command.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Command {
    /// A deed, as in scenarios.
    Do(Deed),
    /// Something that a trainer may ask for as well.
    Ask(Ask),
    /// One tick.
    Tick,
    /// So many seconds before the next command.
    Wait(f64),
    /// Anew.
    Restart,
    /// Search the faults.
    Find(String),
    /// The commands.
    Help,
    /// The end.
    Quit,
}

/// Why a command is not understood, where, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Refused {
    pub(super) at: Range<usize>,
    pub(super) message: String,
    pub(super) remedy: String,
}

impl Refused {
    /// In words: the line, the place in it, what is wrong and what to do.
    pub(super) fn lines(&self, line: &str) -> Vec<String> {
        let before = line[..self.at.start].chars().count();
        let width = line[self.at.clone()].chars().count().max(1);
        let mut lines = vec![
            format!("not done: {line}"),
            format!("{:1$}{2}", "", before + 10, "^".repeat(width)),
        ];
        let remedy = format!("remedy: {}", self.remedy);
        for text in [&self.message, &remedy] {
            let wrapped = wrap(text, COLUMNS - 10).into_iter();
            lines.extend(wrapped.map(|text| format!("{:10}{text}", "")));
        }
        lines
    }
}

const HELP: &str = "`help` lists the commands";

/// The words of a line, and where they stand.
fn words(line: &str) -> Vec<(Range<usize>, &str)> {
    let start = |word: &str| word.as_ptr() as usize - line.as_ptr() as usize;
    line.split_whitespace()
        .map(|word| (start(word)..start(word) + word.len(), word))
        .collect()
}

impl Command {
    /// Reads a line; nothing for an empty one or a `# remark`.
    ///
    /// # Errors
    /// Where it stops making sense, and what would.
    pub(super) fn parse(line: &str) -> Result<Option<Self>, Refused> {
        let words = words(line);
        let Some((at, first)) = words.first() else {
            return Ok(None);
        };
        if first.starts_with('#') {
            return Ok(None);
        }
        let alone = |command| match words.get(1) {
            None => Ok(command),
            Some((at, more)) => Err(Refused {
                at: at.clone(),
                message: format!("`{first}` stands alone, without `{more}`"),
                remedy: HELP.to_owned(),
            }),
        };
        let command = match *first {
            "pause" => alone(Self::Ask(Ask::Pause)),
            "go" => alone(Self::Ask(Ask::Go)),
            "other" => alone(Self::Ask(Ask::Other)),
            "active" => alone(Self::Ask(Ask::Active)),
            "armed" => alone(Self::Ask(Ask::Armed)),
            "state" => alone(Self::Ask(Ask::State)),
            "why" => alone(Self::Ask(Ask::Why)),
            "verdict" => alone(Self::Ask(Ask::Verdict)),
            "tick" => alone(Self::Tick),
            "restart" => alone(Self::Restart),
            "help" => alone(Self::Help),
            "quit" => alone(Self::Quit),
            "wait" => seconds(line, &words).map(Self::Wait),
            "back" => seconds(line, &words).map(|time| Self::Ask(Ask::Back(time))),
            "forward" => seconds(line, &words).map(|time| Self::Ask(Ask::Forward(time))),
            "speed" => speed(line, &words).map(|speed| Self::Ask(Ask::Speed(speed))),
            "find" => Ok(Self::Find(line[at.end..].trim().to_owned())),
            "inject" => faults::inject(line, &words).map(|fault| Self::Ask(Ask::Inject(fault))),
            "arm" => faults::arm(line, &words).map(|armed| Self::Ask(Ask::Arm(armed))),
            "clear" if words.len() == 1 => Ok(Self::Ask(Ask::ClearAll)),
            "clear" => faults::listed(line, &words).map(|number| Self::Ask(Ask::Clear(number))),
            "disarm" => faults::listed(line, &words).map(|number| Self::Ask(Ask::Disarm(number))),
            known if FIRST.contains(&known) => deed(line, &words).map(Self::Do),
            unknown => Err(Refused {
                at: at.clone(),
                message: format!("no command begins with `{unknown}`"),
                remedy: nearest(unknown, FIRST.iter().copied()).map_or_else(
                    || HELP.to_owned(),
                    |name| format!("did you mean `{name}`? {HELP}"),
                ),
            }),
        };
        command.map(Some)
    }
}

/// The place of a word, or of the end of the line where it is missing.
fn place(line: &str, words: &[(Range<usize>, &str)], index: usize) -> Range<usize> {
    let end = line.len();
    words.get(index).map_or(end..end, |(at, _)| at.clone())
}

fn number(
    line: &str,
    words: &[(Range<usize>, &str)],
    index: usize,
    expected: &str,
) -> Result<f64, Refused> {
    let given = words
        .get(index)
        .and_then(|(_, word)| word.parse::<f64>().ok());
    given
        .filter(|number| number.is_finite())
        .ok_or_else(|| Refused {
            at: place(line, words, index),
            message: "here a number is missing".to_owned(),
            remedy: format!("write {expected}"),
        })
}

fn seconds(line: &str, words: &[(Range<usize>, &str)]) -> Result<f64, Refused> {
    let first = words.first().map_or("", |(_, word)| word);
    let expected = format!("`{first} N`, N from 0 to {LONGEST} s");
    let seconds = number(line, words, 1, &expected)?;
    let more = if words.get(2).is_some_and(|(_, unit)| *unit == "s") {
        3
    } else {
        2
    };
    if !(0.0..=LONGEST).contains(&seconds) || words.len() > more {
        return Err(Refused {
            at: place(line, words, if words.len() > more { more } else { 1 }),
            message: "that is no time to wait or to go".to_owned(),
            remedy: format!("write {expected}"),
        });
    }
    Ok(seconds)
}

fn speed(line: &str, words: &[(Range<usize>, &str)]) -> Result<Speed, Refused> {
    let given = words.get(1).map_or("", |(_, word)| word);
    let found = Speed::ALL.into_iter().find(|speed| speed.name() == given);
    found.filter(|_| words.len() == 2).ok_or_else(|| {
        let names: Vec<&str> = Speed::ALL.iter().map(|speed| speed.name()).collect();
        Refused {
            at: place(line, words, 1),
            message: "no speed is called that".to_owned(),
            remedy: format!("write `speed` and one of {}", names.join(", ")),
        }
    })
}

/// A deed, in a scenario's words or shorter ones.
fn deed(line: &str, words: &[(Range<usize>, &str)]) -> Result<Deed, Refused> {
    let first = words.first().map_or("", |(_, word)| word);
    let second = words.get(1).map_or("", |(_, word)| word);
    // What is written before the line, so that places can be told in the line itself.
    let (before, text) = match first {
        "throttle" if second != "to" => {
            let percent = number(line, words, 1, "`throttle N`, N from 0 to 100 %")?;
            if !(0.0..=100.0).contains(&percent) || words.len() > 2 {
                return Err(Refused {
                    at: place(line, words, if words.len() > 2 { 2 } else { 1 }),
                    message: "the lever goes from 0 to 100 %".to_owned(),
                    remedy: "write `throttle N`, or `throttle to N % over N s`".to_owned(),
                });
            }
            return Ok(Deed::Throttle {
                to: percent / 100.0,
                over: 0,
            });
        }
        "deploy" | "stow" => ("select ".len(), format!("select {line}")),
        "stop" if words.len() == 1 => (0, format!("{} on", line.trim_end())),
        "ack" => (
            "acknowledge".len() - "ack".len(),
            line.replacen("ack", "acknowledge", 1),
        ),
        _ => (0, line.to_owned()),
    };
    Deed::parse(&text).map_err(|misread| {
        let clamp = |at: usize| floor(line, at.saturating_sub(before).min(line.len()));
        Refused {
            at: clamp(misread.at.start)..clamp(misread.at.end),
            message: if misread.found.is_empty() {
                "something is missing at the end".to_owned()
            } else {
                format!("`{}` is not expected here", misread.found)
            },
            remedy: format!("write {}", misread.expected),
        }
    })
}

/// The last boundary of a character at or before `at`.
fn floor(line: &str, at: usize) -> usize {
    (0..=at)
        .rev()
        .find(|at| line.is_char_boundary(*at))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::controls::Push;

    fn good(line: &str) -> Command {
        let parsed = Command::parse(line).unwrap_or_else(|refused| panic!("{line}: {refused:?}"));
        parsed.expect("a command")
    }

    #[test]
    fn short_words_and_a_scenarios_words_are_understood() {
        for (line, deed) in [
            ("throttle 80", Deed::Throttle { to: 0.8, over: 0 }),
            (
                "throttle to 0 % over 1 s",
                Deed::Throttle { to: 0.0, over: 100 },
            ),
            (
                "  stow",
                Deed::Select {
                    push: Push::Stow,
                    lasting: 50,
                },
            ),
            (
                "deploy for 2 s",
                Deed::Select {
                    push: Push::Deploy,
                    lasting: 200,
                },
            ),
            ("stop", Deed::Stop(true)),
            ("stop off", Deed::Stop(false)),
            ("ack", Deed::Acknowledge(50)),
            ("bench key on", Deed::BenchKey(true)),
            ("power off for 0.3 s", Deed::PowerOff(Some(30))),
        ] {
            assert_eq!(good(line), Command::Do(deed), "{line}");
        }
        assert_eq!(good("back 10"), Command::Ask(Ask::Back(10.0)));
        assert_eq!(good("wait 2.5 s"), Command::Wait(2.5));
        assert_eq!(good("find mast jam"), Command::Find("mast jam".to_owned()));
    }

    #[test]
    fn every_line_of_the_help_begins_with_a_word_that_is_known() {
        for (command, _) in COMMANDS {
            for alternative in command.split(" | ") {
                let first = alternative.split(' ').next().unwrap_or_default();
                assert!(FIRST.contains(&first), "{first}");
            }
        }
    }

    #[test]
    fn nothing_and_a_remark_are_no_command() {
        assert_eq!(Command::parse("  "), Ok(None));
        assert_eq!(Command::parse("# first, deploy"), Ok(None));
    }

    #[test]
    fn a_fault_is_injected_as_it_is_named() {
        let line = "inject mechanics.mast-jam acts strength 500 for 2 s";
        let Command::Ask(Ask::Inject(fault)) = good(line) else {
            panic!("a fault");
        };
        assert_eq!(
            (fault.strength(), fault.duration()),
            (Some(500.0), Some(2.0))
        );
    }

    #[test]
    fn what_is_not_understood_is_pointed_at_with_a_remedy() {
        for (line, at) in [
            ("throtle 80", 0..7),
            ("throttle 180", 9..12),
            ("throttle", 8..8),
            ("throttle 10 %", 12..13),
            ("stow up", 5..7),
            ("stop maybe", 5..10),
            ("ack ack", 4..7),
            ("back", 4..4),
            ("back x", 5..6),
            ("wait -1", 5..7),
            ("speed warp", 6..10),
            ("pause now", 6..9),
            ("inject mast.position stuck", 7..20),
            ("inject power stuck", 13..18),
            ("inject", 6..6),
            ("arm mechanics.mast-jam acts", 27..27),
            ("arm mechanics.mast-jam acts when", 32..32),
            ("arm mechanics.mast-jam acts when mast flies", 38..43),
            ("arm mechanics.mast-jam acts when action 1 is done", 33..49),
            ("disarm", 6..6),
            ("clear 0", 6..7),
            ("clear 1 2", 8..9),
        ] {
            let refused = Command::parse(line).expect_err(line);
            assert_eq!(refused.at, at, "{line}: {refused:?}");
            assert!(!refused.remedy.is_empty());
        }
    }
}
