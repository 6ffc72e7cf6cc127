//! Shrinking: from a run that fails to the least that still fails the same way.
//!
//! Responsibilities:
//! 1. Say what failed: the first hazard or requirement that was broken, and how, or the
//!    first expectation that was not met, and what came instead.
//! 2. Take out whatever the failure does not need: actions and faults, halves of them
//!    first; then every single key and list element; then the time after the failure,
//!    unless what failed is that something was to be reached: a flight that ends early
//!    reaches nothing, whatever was in its way. Each candidate is read and flown as any scenario is, and is kept only if it fails
//!    the same way.
//! 3. Stop only when no action, no fault and no line can be taken out any more.
//!
//! The same text gives the same result: nothing is drawn at random.

pub mod edit;

use toml_edit::{DocumentMut, Item, value};

use crate::flight::{Flight, Outcome};
use crate::join::take_off;
use crate::report;
use crate::report::number::counted;
use crate::scenario::{Scenario, ticks};
use edit::Cue;

/// How the briefing of what was shrunk begins; what it was shrunk from follows.
const SHRUNK: &str = "Invented; shrunk from ";

/// How a run failed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// The hazard, requirement or expectation.
    pub what: String,
    /// How, without what was measured.
    pub how: String,
    /// The tick of the breach; none of an expectation, which is judged at the end.
    pub tick: Option<u64>,
}

impl Failure {
    /// Something was to be reached or to come, and did not: ending earlier fails it too,
    /// for another cause.
    fn needs_its_time(&self) -> bool {
        // These fail by what came, not by what did not.
        let by_what_came = [
            "never enters ",
            "never raises ",
            "raises no ",
            "stays below ",
        ];
        let came = by_what_came.iter().any(|what| self.what.starts_with(what))
            || self.how.starts_with("it took ");
        self.tick.is_none() && !came
    }

    /// The same thing failed in the same way, whenever it did.
    #[must_use]
    pub fn is_like(&self, other: &Self) -> bool {
        self.what == other.what && self.how == other.how
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.what, self.how)
    }
}

/// Everything that failed in a scenario: what was broken, the first first, then the
/// expectations that were not met.
#[must_use]
pub fn failures(scenario: &Scenario) -> Vec<Failure> {
    let mut flight = take_off(scenario, scenario.seed);
    let report = report::fly(scenario, scenario.seed, "", &mut flight, |_| {});
    let broken = flight.verdict();
    let mut failures: Vec<Failure> = broken
        .rows()
        .filter_map(|row| match &row.outcome {
            Outcome::Broken { at, why } => Some(Failure {
                what: row.id.clone(),
                how: unmeasured(why),
                tick: Some(ticks(*at)),
            }),
            Outcome::Held | Outcome::NotExercised | Outcome::JudgedElsewhere { .. } => None,
        })
        .collect();
    failures.sort_by_key(|failure| failure.tick);
    let unmet = report.expectations.into_iter().filter_map(|found| {
        Some(Failure {
            what: found.expected,
            how: unmeasured(&found.instead?),
            tick: None,
        })
    });
    failures.extend(unmet);
    failures
}

/// Words without what was measured: 0.21 s too late and 0.22 s too late are one failure.
fn unmeasured(words: &str) -> String {
    let number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    // A breach ends with its measure in brackets.
    let words = match words.rsplit_once(" (") {
        Some((before, measure)) if number(measure) => before,
        Some(_) | None => words,
    };
    let words = words
        .split(' ')
        .map(|word| if number(word) { "…" } else { word });
    words.collect::<Vec<_>>().join(" ")
}

/// A text that was shrunk.
#[derive(Clone, Debug, PartialEq)]
pub struct Shrunk {
    /// The scenario.
    pub text: String,
    /// How it fails.
    pub failure: Failure,
    /// Its size, and the size it had.
    pub size: Size,
    /// What it was before.
    pub before: Size,
    /// How many candidates were flown.
    pub flown: u32,
}

/// How big a scenario is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Size {
    /// Actions.
    pub actions: usize,
    /// Faults.
    pub faults: usize,
    /// Ticks.
    pub ticks: u64,
    /// Lines that say something.
    pub lines: usize,
}

impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (actions, faults) = (self.actions as u64, self.faults as u64);
        write!(
            f,
            "{}, {}, {}, {}",
            counted(actions, "action"),
            counted(faults, "fault"),
            counted(self.ticks, "tick"),
            counted(self.lines as u64, "line")
        )
    }
}

/// Why there is nothing to shrink.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NothingToShrink {
    /// It does not fail.
    #[error("it does not fail: everything put to the test held, and all came as expected")]
    Good,
    /// It fails, but not in what was asked for.
    #[error("`{wanted}` does not fail in it; what does: {fails}")]
    Otherwise {
        /// What was asked for.
        wanted: String,
        /// What fails instead.
        fails: String,
    },
}

/// A step of the work, as it is done.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// What was taken out.
    pub taken: String,
    /// What is left.
    pub left: Size,
    /// Candidates flown so far.
    pub flown: u32,
}

/// Shrinks `scenario`. Of several failures the first is kept, or the first whose hazard,
/// requirement or expectation begins with `wanted`. `hear` is told of every success.
///
/// # Errors
/// When there is nothing to shrink.
pub fn shrink(
    scenario: &Scenario,
    wanted: Option<&str>,
    hear: &mut dyn FnMut(&Progress),
) -> Result<Shrunk, NothingToShrink> {
    let failure = chosen(failures(scenario), wanted)?;
    let text = scenario.text.parse().unwrap_or_default();
    let mut shrinker = Shrinker {
        before: size(scenario, &text),
        text,
        failure,
        flown: 1,
        hear,
    };
    shrinker.briefing(&scenario.name);
    while shrinker.cues() | shrinker.lines() | shrinker.length() {}
    let size = shrinker.size();
    Ok(Shrunk {
        text: shrinker.text.to_string(),
        failure: shrinker.failure,
        size,
        before: shrinker.before,
        flown: shrinker.flown,
    })
}

fn chosen(failures: Vec<Failure>, wanted: Option<&str>) -> Result<Failure, NothingToShrink> {
    let Some(first) = failures.first().cloned() else {
        return Err(NothingToShrink::Good);
    };
    let Some(wanted) = wanted else {
        return Ok(first);
    };
    let found = failures
        .iter()
        .find(|failure| failure.what.starts_with(wanted));
    found.cloned().ok_or_else(|| {
        let names: Vec<&str> = failures
            .iter()
            .map(|failure| failure.what.as_str())
            .collect();
        NothingToShrink::Otherwise {
            wanted: wanted.to_owned(),
            fails: names.join(", "),
        }
    })
}

fn size(scenario: &Scenario, text: &DocumentMut) -> Size {
    let says = |line: &&str| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    Size {
        actions: scenario.actions.len(),
        faults: scenario.faults.len(),
        ticks: scenario.ticks,
        lines: text.to_string().lines().filter(says).count(),
    }
}

struct Shrinker<'a> {
    text: DocumentMut,
    failure: Failure,
    before: Size,
    flown: u32,
    hear: &'a mut dyn FnMut(&Progress),
}

impl Shrinker<'_> {
    /// Takes `candidate` if it can be read and fails the same way.
    fn attempt(&mut self, candidate: DocumentMut, taken: &dyn Fn() -> String) -> bool {
        let Ok(scenario) = Scenario::parse("shrunk.toml", &candidate.to_string()) else {
            return false;
        };
        if self.failure.needs_its_time() && scenario.ticks < self.before.ticks {
            return false;
        }
        self.flown += 1;
        let fails = failures(&scenario);
        let Some(same) = fails.iter().find(|fails| fails.is_like(&self.failure)) else {
            return false;
        };
        self.failure = same.clone();
        self.text = candidate;
        let left = size(&scenario, &self.text);
        (self.hear)(&Progress {
            taken: taken(),
            left,
            flown: self.flown,
        });
        true
    }

    fn size(&self) -> Size {
        Scenario::parse("shrunk.toml", &self.text.to_string())
            .map_or(self.before, |scenario| size(&scenario, &self.text))
    }

    /// Puts one line in the place of the briefing, which tells of the whole. What was
    /// shrunk before keeps the name of its origin.
    fn briefing(&mut self, name: &str) {
        let known = self.text.get("briefing").and_then(Item::as_str);
        if known.is_some_and(|known| known.starts_with(SHRUNK) && !known.contains('\n')) {
            return;
        }
        let mut candidate = self.text.clone();
        candidate["briefing"] = value(format!("{SHRUNK}{name}."));
        self.attempt(candidate, &|| "with a briefing of one line".to_owned());
    }

    /// Takes out actions and faults: halves, quarters, and at last single ones.
    fn cues(&mut self) -> bool {
        let mut any = false;
        for cue in Cue::BOTH {
            let mut width = edit::count(&self.text, cue).div_ceil(2);
            while width > 0 {
                // From the end: who comes later needs who came before.
                let mut end = edit::count(&self.text, cue);
                while end > 0 {
                    let start = end.saturating_sub(width);
                    any |= self.without(cue, start, end);
                    end = start;
                }
                width = if width == 1 { 0 } else { width.div_ceil(2) };
            }
        }
        any
    }

    fn without(&mut self, cue: Cue, start: usize, end: usize) -> bool {
        let mut candidate = self.text.clone();
        for index in (start..end).rev() {
            edit::remove(&mut candidate, cue, index);
        }
        self.attempt(candidate, &|| {
            let which = if end - start == 1 {
                format!("{} {}", cue.key(), end)
            } else {
                format!("{}s {} to {}", cue.key(), start + 1, end)
            };
            format!("without {which}")
        })
    }

    /// Takes out single lines and elements of lists.
    fn lines(&mut self) -> bool {
        let mut any = false;
        // What stands later is taken first: places before it stay where they are.
        for place in edit::places(&self.text).into_iter().rev() {
            let mut candidate = self.text.clone();
            if place.cut(&mut candidate) {
                any |= self.attempt(candidate, &|| format!("without {place}"));
            }
        }
        any
    }

    /// Ends it as soon as it has failed.
    fn length(&mut self) -> bool {
        if self.failure.needs_its_time() {
            return false;
        }
        let now = self.size().ticks;
        if let Some(tick) = self.failure.tick {
            return tick + 1 < now && self.ending_after(tick + 1);
        }
        // What is judged at the end needs its time: parts of it are tried.
        let mut any = false;
        let mut step = now / 2;
        let mut length = now;
        while step > 0 {
            if length > step && self.ending_after(length - step) {
                any = true;
                length -= step;
            } else {
                step /= 2;
            }
        }
        any
    }

    fn ending_after(&mut self, ticks: u64) -> bool {
        let mut candidate = self.text.clone();
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let seconds = ticks as f64 / 100.0;
        candidate["length"] = value(seconds);
        self.attempt(candidate, &|| format!("ending after {seconds} s"))
    }
}
