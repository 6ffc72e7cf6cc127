//! The debrief: what was done when, what was right and why, and what it came to.
//!
//! Every number in it is one of the frames flown. It counts and does not mark: there is
//! no pass in it, and nobody is licensed by it.

mod page;
mod text;
mod words;

use std::path::Path;

use serde::Serialize;

use super::hands::Move;
use super::progress::{Outcome, Progress};
use crate::flight::{self, Row, Verdict};
use crate::frame::Frame;
use crate::keep::{self, Kind};
use crate::report::{CAUTION, End};
use crate::scenario::expect::Finding;

/// Version of the debrief as JSON: it rises when a field changes its meaning or goes.
pub const VERSION: u32 = 1;

const JSON: Kind = Kind {
    name: "debrief in JSON",
    beginning: "{\n  \"mastwright_debrief\":",
};

/// Why a debrief is not kept.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// A file cannot be read or written, or is something else.
    #[error(transparent)]
    File(#[from] keep::Refused),
    /// The template could not be filled.
    #[error("the page cannot be made: {0}")]
    Template(#[from] askama::Error),
    /// The document could not be made.
    #[error("the document cannot be made: {0}")]
    Json(#[from] serde_json::Error),
}

/// A debrief. Times are in s since the start of the flight, in steps of 0.01.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Debrief {
    /// [`VERSION`].
    pub mastwright_debrief: u32,
    /// The lesson's name.
    pub lesson: String,
    /// Its title.
    pub title: String,
    /// From 1, for a first day, to 5.
    pub level: u8,
    /// What the trainee can do afterwards.
    pub objectives: Vec<String>,
    /// The seed it was flown with.
    pub seed: u64,
    /// When the flight ended, s.
    pub flown: f64,
    /// It ended before the lesson did.
    pub cut_short: bool,
    /// How much of what was expected was done.
    pub score: Score,
    /// What was expected of the hands, in the order of the lesson.
    pub tasks: Vec<Task>,
    /// What was to be avoided and was done.
    pub slips: Vec<Slip>,
    /// What was said to the trainee.
    pub cues: Vec<Said>,
    /// What the hands did.
    pub hands: Vec<Hand>,
    /// Moves of the hands that found no room in the list.
    pub hands_lost: u32,
    /// What the lesson let fail.
    pub faults: Vec<Said>,
    /// How the flight ended, in plant truth.
    pub end: End,
    /// The end that the lesson intends, and what came instead.
    pub expectations: Vec<Finding>,
    /// The hazards, judged in plant truth.
    pub hazards: Vec<Row>,
    /// The requirements that were put to the test, and those that the lesson is about.
    pub requirements: Vec<Row>,
    /// What no debrief may be read without.
    pub caution: &'static str,
}

/// Counts; nothing is weighed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Score {
    /// Tasks of the lesson.
    pub expected: u32,
    /// Done in their time.
    pub in_time: u32,
    /// Done before they were called for.
    pub early: u32,
    /// Done after their time.
    pub late: u32,
    /// Not done in their time, nor after it.
    pub missed: u32,
    /// Called for when the flight ended, with time left.
    pub open: u32,
    /// Never called for.
    pub not_called_for: u32,
    /// Things to avoid that were done, each time counted.
    pub slips: u32,
    /// Hints that came up.
    pub hints: u32,
    /// Hazards that came about.
    pub hazards: u32,
    /// Requirements that were broken.
    pub requirements_broken: u32,
    /// Expectations of the end that were not met.
    pub otherwise: u32,
}

/// Something expected of the hands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Task {
    /// What, in the words of the lesson.
    #[serde(rename = "do")]
    pub gesture: String,
    /// What called for it.
    pub cue: String,
    /// When that came, s.
    pub called: Option<f64>,
    /// The time there was, s.
    pub within: f64,
    /// What became of it.
    pub outcome: Became,
    /// When the hands came to stand so, s.
    pub done: Option<f64>,
    /// From the cue to the hands, s; none when they did not wait for it.
    pub reaction: Option<f64>,
    /// When its hint came up, s.
    pub hinted: Option<f64>,
    /// The right action.
    pub right: String,
    /// Why it is right.
    pub why: String,
}

/// What became of a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Became {
    /// Done in its time.
    InTime,
    /// Done before it was called for.
    Early,
    /// Done after its time.
    Late,
    /// Not done in its time, nor after it.
    Missed,
    /// Called for when the flight ended, with time left.
    Open,
    /// Never called for.
    NotCalledFor,
}

/// Something to avoid that was done.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Slip {
    /// What, in the words of the lesson.
    #[serde(rename = "do")]
    pub gesture: String,
    /// When first, s.
    pub first: f64,
    /// How often.
    pub times: u32,
    /// Why not.
    pub why: String,
}

/// Something said or happening at a time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Said {
    /// When, s.
    pub at: f64,
    /// What.
    pub what: String,
}

/// A move of a hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hand {
    /// The first tick of it, s.
    pub began: f64,
    /// The last tick of it, s.
    pub ended: f64,
    /// What was moved.
    pub what: String,
}

/// A time in s, as exact as a decimal can be.
fn seconds(tick: u32) -> f64 {
    f64::from(tick) / 100.0
}

impl Debrief {
    /// The debrief of a flight up to `frame`, its last, flown with `seed`; `verdict` is
    /// the oracle's.
    #[must_use]
    pub fn new(progress: &Progress, verdict: &Verdict, frame: &Frame, seed: u64) -> Self {
        let lesson = progress.lesson();
        let section = lesson.section();
        let scenario = &lesson.scenario;
        let tasks = tasks(progress);
        let slips = slips(progress);
        let expectations = progress.watch().findings(&verdict.exercised());
        let faults = progress.faults().iter().map(|(tick, index)| Said {
            at: seconds(*tick),
            what: scenario.faults[*index].words(),
        });
        let hands = progress.hands();
        Self {
            mastwright_debrief: VERSION,
            lesson: lesson.name().to_owned(),
            title: lesson.title().to_owned(),
            level: section.level,
            objectives: section.objectives.clone(),
            seed,
            flown: seconds(progress.tick()),
            cut_short: u64::from(progress.tick()) + 1 < scenario.ticks,
            score: score(&tasks, &slips, verdict, &expectations),
            tasks,
            slips,
            cues: cues(progress),
            hands: hands.moves().iter().map(hand).collect(),
            hands_lost: hands.lost(),
            faults: faults.collect(),
            end: End::of(frame),
            expectations,
            hazards: verdict.hazards.clone(),
            requirements: touched(&section.requirements, verdict),
            caution: CAUTION,
        }
    }

    /// The debrief as JSON, one document, described in `docs/lesson-format.md`.
    ///
    /// # Errors
    /// When the document cannot be made.
    pub fn json(&self) -> Result<String, Refused> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    /// Writes the debrief as JSON to `path`, in the place of an older one.
    ///
    /// # Errors
    /// When `path` holds something else, or cannot be written.
    pub fn save_json(&self, path: &Path) -> Result<(), Refused> {
        Ok(JSON.write(path, &self.json()?)?)
    }

    /// Writes the page to print to `path`, in the place of an older one.
    ///
    /// # Errors
    /// When `path` holds something else, or cannot be written.
    pub fn save_page(&self, path: &Path) -> Result<(), Refused> {
        Ok(page::PAGE.write(path, &self.page()?)?)
    }
}

fn tasks(progress: &Progress) -> Vec<Task> {
    let section = progress.lesson().section();
    let tasks = section.tasks.iter().zip(progress.outcomes()).enumerate();
    tasks
        .map(|(index, (task, outcome))| {
            let called = progress.came(task.cue);
            let (outcome, done) = match outcome {
                Outcome::InTime(tick) => (Became::InTime, Some(tick)),
                Outcome::Early(tick) => (Became::Early, Some(tick)),
                Outcome::Late(tick) => (Became::Late, Some(tick)),
                Outcome::Missed => (Became::Missed, None),
                Outcome::Open => (Became::Open, None),
                Outcome::NotCalledFor => (Became::NotCalledFor, None),
            };
            let reaction = called
                .zip(done)
                .and_then(|(cue, done)| done.checked_sub(cue));
            Task {
                gesture: task.words.clone(),
                cue: section.cues[task.cue].say.clone(),
                called: called.map(seconds),
                within: seconds(task.within),
                outcome,
                done: done.map(seconds),
                reaction: reaction.map(seconds),
                hinted: progress.hinted(index).map(seconds),
                right: task.right.clone(),
                why: task.why.clone(),
            }
        })
        .collect()
}

fn slips(progress: &Progress) -> Vec<Slip> {
    let avoid = &progress.lesson().section().avoid;
    progress
        .slips()
        .map(|slip| Slip {
            gesture: avoid[slip.index].words.clone(),
            first: seconds(slip.first),
            times: slip.times,
            why: avoid[slip.index].why.clone(),
        })
        .collect()
}

/// The cues that came, in the order in which they did.
fn cues(progress: &Progress) -> Vec<Said> {
    let cues = progress.lesson().section().cues.iter().enumerate();
    let mut came: Vec<(u32, Said)> = cues
        .filter_map(|(index, cue)| {
            let tick = progress.came(index)?;
            let what = cue.say.clone();
            let at = seconds(tick);
            Some((tick, Said { at, what }))
        })
        .collect();
    came.sort_by_key(|(tick, _)| *tick);
    came.into_iter().map(|(_, said)| said).collect()
}

fn hand(one: &Move) -> Hand {
    Hand {
        began: seconds(one.began),
        ended: seconds(one.ended),
        what: words::moved(one),
    }
}

/// The requirements a lesson is about and those put to the test.
fn touched(about: &[String], verdict: &Verdict) -> Vec<Row> {
    let rows = verdict.requirements.iter();
    rows.filter(|row| match row.outcome {
        flight::Outcome::Held | flight::Outcome::Broken { .. } => true,
        flight::Outcome::NotExercised | flight::Outcome::JudgedElsewhere { .. } => {
            about.contains(&row.id)
        }
    })
    .cloned()
    .collect()
}

fn score(tasks: &[Task], slips: &[Slip], verdict: &Verdict, findings: &[Finding]) -> Score {
    let mut score = Score::default();
    for task in tasks {
        score.expected += 1;
        score.hints += u32::from(task.hinted.is_some());
        *match task.outcome {
            Became::InTime => &mut score.in_time,
            Became::Early => &mut score.early,
            Became::Late => &mut score.late,
            Became::Missed => &mut score.missed,
            Became::Open => &mut score.open,
            Became::NotCalledFor => &mut score.not_called_for,
        } += 1;
    }
    let broken = |rows: &[Row]| {
        rows.iter()
            .map(|row| u32::from(matches!(row.outcome, flight::Outcome::Broken { .. })))
            .sum()
    };
    score.slips = slips.iter().map(|slip| slip.times).sum();
    score.hazards = broken(&verdict.hazards);
    score.requirements_broken = broken(&verdict.requirements);
    score.otherwise = findings
        .iter()
        .map(|found| u32::from(found.instead.is_some()))
        .sum();
    score
}
