//! Commands, as they are typed.

use std::ops::Range;

use crate::cockpit::speed::Speed;
use crate::faults::{Fault, Kind, Target};
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
    ("active | clear", "list, or end, the active faults"),
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
    /// Time stands still.
    Pause,
    /// Time passes.
    Go,
    /// One tick.
    Tick,
    /// How fast.
    Speed(Speed),
    /// So many seconds before the next command.
    Wait(f64),
    /// So many seconds back.
    Back(f64),
    /// So many seconds on.
    Forward(f64),
    /// The branch left last.
    Other,
    /// Anew.
    Restart,
    /// A fault.
    Inject(Fault),
    /// Every active fault ends.
    Clear,
    /// List the active faults.
    Active,
    /// Search the faults.
    Find(String),
    /// Where we are.
    State,
    /// What is denied.
    Why,
    /// What held.
    Verdict,
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
            "pause" => alone(Self::Pause),
            "go" => alone(Self::Go),
            "tick" => alone(Self::Tick),
            "other" => alone(Self::Other),
            "restart" => alone(Self::Restart),
            "clear" => alone(Self::Clear),
            "active" => alone(Self::Active),
            "state" => alone(Self::State),
            "why" => alone(Self::Why),
            "verdict" => alone(Self::Verdict),
            "help" => alone(Self::Help),
            "quit" => alone(Self::Quit),
            "wait" => seconds(line, &words).map(Self::Wait),
            "back" => seconds(line, &words).map(Self::Back),
            "forward" => seconds(line, &words).map(Self::Forward),
            "speed" => speed(line, &words).map(Self::Speed),
            "find" => Ok(Self::Find(line[at.end..].trim().to_owned())),
            "inject" => inject(line, &words).map(Self::Inject),
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

/// `inject TARGET KIND [strength N] [for N s]`.
fn inject(line: &str, words: &[(Range<usize>, &str)]) -> Result<Fault, Refused> {
    const FORM: &str = "`inject TARGET KIND [strength N] [for N s]`; `find` lists the faults";
    let refused = |index: usize, message: String| Refused {
        at: place(line, words, index),
        message,
        remedy: format!("write {FORM}"),
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
                strength = Some(number(line, words, index + 1, FORM)?);
                index += 2;
            }
            "for" if duration.is_none() => {
                duration = Some(number(line, words, index + 1, FORM)?);
                index += if word(index + 2) == "s" { 3 } else { 2 };
            }
            other => return Err(refused(index, format!("`{other}` is not expected here"))),
        }
    }
    Fault::new(target, kind, strength, duration).map_err(|error| refused(2, error.to_string()))
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
        assert_eq!(good("back 10"), Command::Back(10.0));
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
        let Command::Inject(fault) = good(line) else {
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
        ] {
            let refused = Command::parse(line).expect_err(line);
            assert_eq!(refused.at, at, "{line}: {refused:?}");
            assert!(!refused.remedy.is_empty());
        }
    }
}
