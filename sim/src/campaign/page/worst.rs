//! The worst cells, one for each way of going wrong: harm, then broken requirements, then
//! accepted harm, then the least margins.

use std::collections::BTreeMap;

use crate::campaign::accepted::Accepted;
use crate::campaign::record::{Outcome, Record};

/// How bad, the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Why {
    /// Harm that is not accepted.
    Harm,
    /// A requirement was broken.
    Broken,
    /// Harm that is accepted.
    Accepted,
    /// No harm, but harm was near.
    Margin,
}

impl Why {
    /// In words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Harm => "harm",
            Self::Broken => "requirement broken",
            Self::Accepted => "accepted harm",
            Self::Margin => "small margin",
        }
    }
}

/// Cells that went wrong in the same way: how bad, what broke, what failed, how.
type Key = (Why, String, String, String);

/// For each way of going wrong, the cell that did so soonest.
#[derive(Clone, Debug, Default)]
pub(super) struct Worst {
    kept: BTreeMap<Key, (i64, Record)>,
}

impl Worst {
    /// Sees one record.
    pub(super) fn see(&mut self, record: &Record) {
        let after = |time: Option<crate::campaign::record::Ticks>| {
            time.map_or(i64::MAX, |time| i64::try_from(time.0).unwrap_or(i64::MAX))
        };
        let (why, broke, time) = match record.outcome {
            Outcome::Harm => {
                let accepted = Accepted::find(record).is_some();
                let why = if accepted { Why::Accepted } else { Why::Harm };
                (why, record.hazards.as_str(), after(record.harm_after))
            }
            Outcome::Broken => (
                Why::Broken,
                record.requirements.as_str(),
                after(record.broken_after),
            ),
            Outcome::Detected | Outcome::Undetected | Outcome::NoEffect => {
                let Some(margin) = record.frozen_margin() else {
                    return;
                };
                (Why::Margin, "", margin)
            }
        };
        let key = (
            why,
            broke.to_owned(),
            record.target.clone(),
            record.kind.clone(),
        );
        match self.kept.get_mut(&key) {
            Some((soonest, kept)) if time < *soonest => {
                *soonest = time;
                *kept = record.clone();
            }
            Some(_) => {}
            None => {
                self.kept.insert(key, (time, record.clone()));
            }
        }
    }

    /// The worst `count` of them, the worst first.
    pub(super) fn cells(&self, count: usize) -> Vec<(Why, &Record)> {
        let mut cells: Vec<(Why, i64, &Record)> = self
            .kept
            .iter()
            .map(|((why, ..), (time, record))| (*why, *time, record))
            .collect();
        cells.sort_by(|a, b| (a.0, a.1, &a.2.cell).cmp(&(b.0, b.1, &b.2.cell)));
        let cells = cells.into_iter().take(count);
        cells.map(|(why, _, record)| (why, record)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::campaign::record::Ticks;

    #[test]
    fn harm_comes_before_a_broken_requirement_and_that_before_a_small_margin() {
        let mut worst = Worst::default();
        let margin = Record {
            cell: "margin".to_owned(),
            frozen_harm_after: Some(Ticks(5)),
            reacted_after: Some(Ticks(4)),
            outcome: Outcome::Detected,
            ..Record::example()
        };
        let broken = Record {
            cell: "broken".to_owned(),
            outcome: Outcome::Broken,
            broken_after: Some(Ticks(3)),
            ..Record::example()
        };
        let harm = |cell: &str, after| Record {
            cell: cell.to_owned(),
            outcome: Outcome::Harm,
            hazards: "HZ-2".to_owned(),
            harm_after: Some(Ticks(after)),
            ..Record::example()
        };
        for record in [margin, broken, harm("late", 90), harm("soon", 9)] {
            worst.see(&record);
        }
        let names: Vec<&str> = worst
            .cells(9)
            .iter()
            .map(|(_, r)| r.cell.as_str())
            .collect();
        assert_eq!(names, ["soon", "broken", "margin"]);
    }
}
