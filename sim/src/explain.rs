//! Why something happened in a recorded flight, backwards from what was seen.
//!
//! Responsibilities:
//! 1. Find the tick a [`Question`] asks about.
//! 2. Lay open the chain: what was denied, which condition was not proven, which reading
//!    stood against it, each since when, and which faults were at work.
//! 3. Find the smallest change of readings that would have made it otherwise, by asking
//!    the real controller: its state before is made anew from the trace, and it is told
//!    something else.
//!
//! Nothing here judges by a table of its own. What holds is told by the recorded outputs;
//! what would have held is told by the controller of this build.

mod knob;
mod question;
mod search;
mod story;

use mastwright_core::Config;
use mastwright_core::interlock::Permission;
use serde::Serialize;

pub use question::{Question, UnknownQuestion};
pub use search::{Change, Setting};

use crate::frame::{Frame, told_seconds as seconds};
use crate::report::timeline::Entry;
use crate::report::why::Why;
use crate::report::witness::Speaks;
use crate::report::{CAUTION, words};
use crate::scenario::problem::Problem;
use crate::trace::{Trace, Unreadable};
use question::Found;
use story::Story;

/// Why something happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    /// What was asked.
    pub question: String,
    /// The tick in which it happened.
    pub tick: u64,
    /// When, s.
    pub time: f64,
    /// What happened.
    pub what: String,
    /// The controller's state after it, in words.
    pub state: String,
    /// The transition of that tick, if there was one, and what takes the controller there.
    pub transition: Option<Transition>,
    /// The permission looked at.
    pub permission: Permission,
    /// What it allows, in words.
    pub allows: &'static str,
    /// It was asked for in this tick and denied.
    pub denied: bool,
    /// What is asked is what let it happen: the readings behind what holds matter too.
    pub let_happen: bool,
    /// The first denial, or that nothing forbids it, in one sentence.
    pub sentence: String,
    /// The clauses of the permission.
    pub clauses: Vec<Clause>,
    /// The faults that were injected up to then.
    pub faults: Vec<Fault>,
    /// What happened last before it, and in it.
    pub before: Vec<Entry>,
    /// What would have made it otherwise.
    pub otherwise: Otherwise,
    /// What it may not be read without.
    pub caution: &'static str,
}

/// A transition of the controller.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Transition {
    /// The state left.
    pub from: String,
    /// The state entered.
    pub to: String,
    /// Every way from the one to the other in the table of states.
    pub when: Vec<&'static str>,
}

/// A clause of a permission, in one tick.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Clause {
    /// Its conditions in words.
    pub words: String,
    /// It holds.
    pub holds: bool,
    /// Since when, s.
    pub since: f64,
    /// The readings behind it.
    pub readings: Vec<Reading>,
}

/// A reading behind a condition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Which, and what it says.
    pub words: String,
    /// How that bears on the condition.
    pub speaks: Speaks,
    /// Since when it bears on it so, s; only of what does not hold.
    pub since: Option<f64>,
}

/// An injected fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// Its number, from 1.
    pub number: u32,
    /// What it is, if that is known.
    pub words: String,
    /// When it began, s.
    pub began: f64,
    /// When it ended, s; none if it still acted.
    pub ended: Option<f64>,
}

/// What would have made it otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Otherwise {
    /// What was looked for.
    pub goal: String,
    /// It held as it was: there is nothing to change.
    pub held: bool,
    /// The smallest changes that were found: every one of them would have done.
    pub changes: Vec<Change>,
    /// How many more there are that are as small.
    pub more: usize,
    /// How many changes the controller was asked about.
    pub asked: u64,
    /// Why nothing was looked for, if nothing was.
    pub not_asked: Option<String>,
    /// The controller of this build answered this tick otherwise than the one recorded:
    /// what it would have done is no proof of what that one would have done.
    pub other_controller: bool,
}

/// Why there is no explanation.
#[derive(Debug, thiserror::Error)]
pub enum CannotExplain {
    /// What was asked about never happened.
    #[error("{file}: {question}: that did not happen up to {until:.2} s")]
    Never {
        /// Which file.
        file: String,
        /// What was asked.
        question: String,
        /// Up to when, s.
        until: f64,
    },
    /// The trace cannot be read there.
    #[error(transparent)]
    Trace(#[from] Unreadable),
    /// The settings of the trace are refused.
    #[error("{file}: the controller refuses the settings of the trace: {why}")]
    Settings {
        /// Which file.
        file: String,
        /// Why.
        why: String,
    },
    /// The scenario of the trace cannot be read, which names its faults.
    #[error("{file}: the scenario in the trace cannot be read by this program: {why}")]
    Scenario {
        /// Which file.
        file: String,
        /// Why.
        why: Box<Problem>,
    },
}

/// Explains what `question` asks about: where it happened last, or, with `at`, last up to
/// that tick.
///
/// # Errors
/// When it did not happen, or the trace cannot be read that far.
pub fn explain(
    trace: &Trace,
    question: Question,
    at: Option<u64>,
) -> Result<Explanation, CannotExplain> {
    let file = || trace.file().to_owned();
    let config = trace.header().config();
    let (config, _) = config.map_err(|why| CannotExplain::Settings { file: file(), why })?;
    let scenario = trace.header().scenario();
    let scenario = scenario.map_err(|why| CannotExplain::Scenario {
        file: file(),
        why: Box::new(why),
    })?;
    let found = question::find(trace, question, at, &config)?;
    let story = Story::told(trace, &found, &config, &scenario)?;
    let why = Why::about(found.permission, &story.tick().frame, &config);
    Ok(put_together(question, &found, &story, why, &config))
}

fn put_together(
    question: Question,
    found: &Found,
    story: &Story,
    why: Why,
    config: &Config,
) -> Explanation {
    let frame = &story.tick().frame;
    Explanation {
        question: question.words(),
        tick: frame.tick,
        time: seconds(frame.tick),
        what: found.what.clone(),
        state: if frame.powered {
            words::state(frame.outputs.indications.state)
        } else {
            "no supply".to_owned()
        },
        transition: story.transition(),
        permission: why.permission,
        allows: words::permission(why.permission),
        denied: why.denied,
        let_happen: question == Question::MastMoved,
        clauses: story.clauses(&why),
        sentence: unforbidden(question, &why, frame).unwrap_or(why.sentence),
        faults: story.faults.clone(),
        before: story.before.clone(),
        otherwise: search::otherwise(found, story, config),
        caution: CAUTION,
    }
}

/// Why something ended that nothing forbade: it was not asked for any more.
fn unforbidden(question: Question, why: &Why, frame: &Frame) -> Option<String> {
    let what = match question {
        Question::MastStopped => "drive the mast on",
        Question::DoorsStopped => "drive the doors on",
        Question::BusOpened => "keep the main contactor closed",
        Question::NoThrust => "propel",
        Question::Then | Question::MastMoved | Question::Halted | Question::Alert(_) => {
            return None;
        }
    };
    let state = frame.outputs.indications.state;
    let ended = frame.powered && why.permitted();
    ended.then(|| {
        format!(
            "nothing forbade it to {what}: the sequencer does not ask for it in state {}, {}",
            state.name(),
            words::meaning(state)
        )
    })
}
