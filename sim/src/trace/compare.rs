//! Two traces side by side: where they part, and what follows.
//!
//! What holds is compared tick by tick: which readings, outputs, permissions and states
//! are first unlike, and when. What happened is aligned by event instead, in order: an
//! event that came later in one of the two stands in one row where the events around it
//! came in the same order in both.

mod apart;
mod happened;

use serde::Serialize;

use super::read::Trace;
use crate::frame::told_seconds;
use crate::report::timeline::Kind;
use crate::scenario::problem::Problem;
use apart::unlike;
use happened::{aligned, happened};

/// What comparing two traces found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Ticks that both have, up to where one of them could not be read.
    pub ticks: u64,
    /// How many ticks each has.
    pub lengths: [u64; 2],
    /// How many ticks of each were looked at: up to its end, or to where it could not be
    /// read.
    pub read: [u64; 2],
    /// Where they first part, each in its own regard; the earliest first, and within a
    /// tick causes before effects.
    pub first: Vec<Parting>,
    /// What happened in both, aligned.
    pub rows: Vec<Row>,
    /// Why it was compared no further, if either could not be read on.
    pub broken_off: Option<String>,
}

impl Comparison {
    /// True when both are alike in every tick, and as long.
    #[must_use]
    pub fn is_equal(&self) -> bool {
        self.first.is_empty() && self.lengths[0] == self.lengths[1] && self.broken_off.is_none()
    }

    /// The first row in which they are unlike: in whether it came, when, or in words.
    #[must_use]
    pub fn parted(&self) -> Option<usize> {
        let unlike = |row: &Row| row.times[0] != row.times[1] || row.text_b.is_some();
        self.rows.iter().position(unlike)
    }

    /// The same events came in both, in the same order.
    #[must_use]
    pub fn same_events(&self) -> bool {
        self.rows.iter().all(|row| !row.times.contains(&None))
    }
}

/// In what two ticks can be unlike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Regard {
    /// What began or ended, and the controller's supply.
    World,
    /// The pilot's hands.
    Hands,
    /// What the controller was told.
    Readings,
    /// The controller's state: what it shows, or what is behind it.
    State,
    /// What the readings prove, and what was denied and why.
    Permissions,
    /// What the controller drives.
    Outputs,
}

impl Regard {
    /// Every regard, from causes to effects.
    pub const ALL: [Self; 6] = [
        Self::World,
        Self::Hands,
        Self::Readings,
        Self::State,
        Self::Permissions,
        Self::Outputs,
    ];

    /// It in a word or two.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::World => "what began or ended",
            Self::Hands => "the pilot's hands",
            Self::Readings => "readings",
            Self::State => "controller's state",
            Self::Permissions => "permissions",
            Self::Outputs => "outputs",
        }
    }
}

/// Where two traces first part in one regard.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Parting {
    /// In what.
    pub regard: Regard,
    /// When.
    pub tick: u64,
    /// When, s.
    pub time: f64,
    /// What is unlike: its name, what the first says and what the second.
    pub unlike: Vec<(String, String, String)>,
}

/// An event of one of them or of both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// When it came in each, s; none where it did not come in its turn.
    pub times: [Option<f64>; 2],
    /// The one in which it did not come was not read up to then: it may have come.
    pub untold: bool,
    /// Of what kind.
    pub kind: Kind,
    /// In words: of the first, if it has it.
    pub text: String,
    /// In words of the second, where both have it and measured something else at it.
    pub text_b: Option<String>,
}

/// Why two traces cannot be compared.
#[derive(Debug, thiserror::Error)]
pub enum CannotCompare {
    /// This build cannot read the scenario of one of them.
    #[error("the scenario in {file} cannot be read by this program: {why}")]
    Scenario {
        /// Which trace.
        file: String,
        /// Why.
        why: Box<Problem>,
    },
}

/// Compares two traces.
///
/// # Errors
/// When the scenario of one of them cannot be read any more, which names its actions and
/// faults.
pub fn compare(a: &Trace, b: &Trace) -> Result<Comparison, CannotCompare> {
    let (of_a, of_b) = (happened(a)?, happened(b)?);
    let read = [of_a.read, of_b.read];
    let common = read[0].min(read[1]);
    let broken_off = [&of_a, &of_b]
        .into_iter()
        .filter(|told| told.read == common)
        .find_map(|told| told.broken_off.clone());
    Ok(Comparison {
        ticks: common,
        lengths: [a.len(), b.len()],
        read,
        first: partings(a, b),
        rows: aligned(&of_a, &of_b),
        broken_off,
    })
}

fn place(regard: Regard) -> usize {
    let place = Regard::ALL.iter().position(|other| *other == regard);
    place.unwrap_or(Regard::ALL.len())
}

/// Where they first part in each regard, tick by tick, as far as both can be read.
fn partings(a: &Trace, b: &Trace) -> Vec<Parting> {
    let same_form = a.header().waking == b.header().waking;
    let mut first: Vec<Parting> = Vec::new();
    for (one, other) in a.ticks().zip(b.ticks()) {
        let (Ok(one), Ok(other)) = (one, other) else {
            break;
        };
        if one == other {
            continue;
        }
        for regard in Regard::ALL {
            if first.iter().any(|known| known.regard == regard) {
                continue;
            }
            let unlike = unlike(regard, &one, &other, same_form);
            if !unlike.is_empty() {
                first.push(Parting {
                    regard,
                    tick: one.frame.tick,
                    time: told_seconds(one.frame.tick),
                    unlike,
                });
            }
        }
        if first.len() == Regard::ALL.len() {
            // Nothing is left to be found first.
            break;
        }
    }
    first.sort_by_key(|parting| (parting.tick, place(parting.regard)));
    first
}
