//! What a table of records comes to, counted as the records come.

mod text;

pub use text::{Faultless, print};

use std::collections::BTreeMap;

use super::accepted::{ACCEPTED, Accepted};
use super::record::{End, Family, Outcome, Record};

/// How many of the worst margins are kept.
pub const WORST: usize = 8;
/// How many cells of one kind are named.
pub const NAMED: usize = 6;

/// Counts of outcomes.
pub type Counts = BTreeMap<Outcome, u64>;

/// Cells that broke the same things by the same fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// How many.
    pub cells: u64,
    /// States they began in.
    pub phases: BTreeMap<String, u64>,
    /// The first of them, [`NAMED`] at most.
    pub named: Vec<String>,
}

/// What a group of cells has in common: what broke, by what, how.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// Hazards, or requirements where no hazard came about.
    pub broke: String,
    /// What failed.
    pub target: String,
    /// How.
    pub kind: String,
}

/// The counts of a table.
#[derive(Clone, Debug, Default)]
pub struct Summary {
    /// Every cell.
    pub cells: u64,
    /// By outcome.
    pub outcomes: Counts,
    /// By family of faults.
    pub families: BTreeMap<Family, Counts>,
    /// By state at the onset, then by family.
    pub phases: BTreeMap<String, BTreeMap<Family, Counts>>,
    /// By how they ended.
    pub ends: BTreeMap<End, u64>,
    /// Cells whose fault was told of, whatever came of them.
    pub told: u64,
    /// Cells with harm that were told of.
    pub harm_told: u64,
    /// Cells in which harm came sooner or later with the reaction withheld.
    pub threatened: u64,
    /// Of those, cells that came to no harm.
    pub averted: u64,
    /// Of those again, cells whose fault was told of.
    pub averted_told: u64,
    /// Harm, grouped.
    pub harm: BTreeMap<Key, Group>,
    /// Requirements broken without harm, grouped.
    pub broken: BTreeMap<Key, Group>,
    /// Harm that is not accepted.
    pub unaccepted: u64,
    /// For each entry of [`ACCEPTED`], the cells it accepts.
    pub accepted: Vec<u64>,
    /// Cells without harm of the least margin against frozen outputs, least first.
    pub frozen: Vec<(i64, Record)>,
    /// The same against the faultless mission's outputs continued.
    pub blind: Vec<(i64, Record)>,
    /// Cells in which something still moved when they were given up.
    pub moving: Vec<String>,
    moving_count: u64,
}

impl Summary {
    /// Adds one record.
    pub fn see(&mut self, record: &Record) {
        self.cells += 1;
        *self.outcomes.entry(record.outcome).or_default() += 1;
        let count = |counts: &mut Counts| *counts.entry(record.outcome).or_default() += 1;
        count(self.families.entry(record.family).or_default());
        let phase = self.phases.entry(record.phase.clone()).or_default();
        count(phase.entry(record.family).or_default());
        *self.ends.entry(record.end).or_default() += 1;
        if record.end == End::Moving {
            self.moving_count += 1;
            if self.moving.len() < WORST {
                self.moving.push(record.cell.clone());
            }
        }
        self.see_detection(record);
        self.see_breaches(record);
        self.see_margin(record);
    }

    fn see_detection(&mut self, record: &Record) {
        let told = record.detected_after.is_some();
        let harm = record.outcome == Outcome::Harm;
        self.told += u64::from(told);
        self.harm_told += u64::from(told && harm);
        if record.tolerance().is_some() {
            self.threatened += 1;
            self.averted += u64::from(!harm);
            self.averted_told += u64::from(!harm && told);
        }
    }

    fn see_breaches(&mut self, record: &Record) {
        let (groups, broke) = match record.outcome {
            Outcome::Harm => (&mut self.harm, &record.hazards),
            Outcome::Broken => (&mut self.broken, &record.requirements),
            Outcome::Detected | Outcome::Undetected | Outcome::NoEffect => return,
        };
        let key = Key {
            broke: broke.clone(),
            target: record.target.clone(),
            kind: record.kind.clone(),
        };
        let group = groups.entry(key).or_insert_with(|| Group {
            cells: 0,
            phases: BTreeMap::new(),
            named: Vec::new(),
        });
        group.cells += 1;
        *group.phases.entry(record.phase.clone()).or_default() += 1;
        if group.named.len() < NAMED {
            group.named.push(record.cell.clone());
        }
        if record.outcome == Outcome::Harm {
            self.accepted.resize(ACCEPTED.len(), 0);
            match Accepted::find(record) {
                Some(index) => self.accepted[index] += 1,
                None => self.unaccepted += 1,
            }
        }
    }

    fn see_margin(&mut self, record: &Record) {
        if record.outcome != Outcome::Harm {
            keep_least(&mut self.frozen, record.frozen_margin(), record);
            keep_least(&mut self.blind, record.blind_margin(), record);
        }
    }

    /// How many cells came to this outcome.
    #[must_use]
    pub fn count(&self, outcome: Outcome) -> u64 {
        self.outcomes.get(&outcome).copied().unwrap_or_default()
    }

    /// How many cells still moved when they were given up.
    #[must_use]
    pub const fn still_moving(&self) -> u64 {
        self.moving_count
    }
}

/// Keeps the [`WORST`] least margins, of equal ones those that came first.
fn keep_least(kept: &mut Vec<(i64, Record)>, margin: Option<i64>, record: &Record) {
    let Some(margin) = margin else { return };
    let place = kept.partition_point(|(other, _)| *other <= margin);
    if place < WORST {
        kept.insert(place, (margin, record.clone()));
        kept.truncate(WORST);
    }
}
