//! The heat map: outcomes counted by what failed and in which state it began.

use std::collections::BTreeMap;

use mastwright_core::State;

use super::signs;
use crate::campaign::record::{Family, Outcome, Record};
use crate::faults::Target;

/// Cells by outcome, the worst first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Count([u64; 5]);

impl Count {
    fn add(&mut self, outcome: Outcome) {
        for (count, other) in self.0.iter_mut().zip(Outcome::ALL) {
            *count += u64::from(*other == outcome);
        }
    }

    fn join(&mut self, other: &Self) {
        for (count, more) in self.0.iter_mut().zip(other.0) {
            *count += more;
        }
    }

    /// All cells.
    pub(super) fn all(&self) -> u64 {
        self.0.iter().sum()
    }

    /// The counts, parted by commas.
    pub(super) fn list(&self) -> String {
        self.0.map(|count| count.to_string()).join(",")
    }

    /// The place of the worst outcome that any cell had, and how many had it.
    pub(super) fn worst(&self) -> Option<(usize, u64)> {
        let place = self.0.iter().position(|count| *count > 0)?;
        Some((place, self.0[place]))
    }

    /// The worst outcome's letter, or a dash where there is no cell.
    pub(super) fn letter(&self) -> char {
        self.worst()
            .map_or('-', |(place, _)| signs::letter(Outcome::ALL[place]))
    }

    /// The counts in words.
    pub(super) fn words(&self) -> String {
        let Some((worst, _)) = self.worst() else {
            return "no cells".to_owned();
        };
        let counts = Outcome::ALL.iter().zip(self.0).filter(|(_, n)| *n > 0);
        let counts: Vec<String> = counts
            .map(|(outcome, n)| format!("{} {n}", outcome.name()))
            .collect();
        format!(
            "worst: {}; {} of {} cells",
            Outcome::ALL[worst].name(),
            counts.join(", "),
            self.all()
        )
    }
}

/// One row: what failed, and its counts in each phase shown.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// What failed.
    pub(super) name: String,
    /// Its name without its family.
    pub(super) short: String,
    /// What it is, in words.
    pub(super) meaning: &'static str,
    /// One count for each phase shown, in their order.
    pub(super) fields: Vec<Count>,
}

/// The rows of one family, and their sum.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// Its name.
    pub(super) family: &'static str,
    /// All its rows together.
    pub(super) fields: Vec<Count>,
    /// Its rows, in the order of the catalogue.
    pub(super) rows: Vec<Row>,
}

/// Counts as they come.
#[derive(Clone, Debug, Default)]
pub(super) struct Grid {
    counts: BTreeMap<(Family, String), BTreeMap<String, Count>>,
}

impl Grid {
    /// Adds one record.
    pub(super) fn see(&mut self, record: &Record) {
        let row = (record.family, record.target.clone());
        let fields = self.counts.entry(row).or_default();
        let field = fields.entry(record.phase.clone()).or_default();
        field.add(record.outcome);
    }

    /// The phases in which any cell begins, in the order of the states.
    pub(super) fn phases(&self) -> Vec<String> {
        let mut phases: Vec<String> = self
            .counts
            .values()
            .flat_map(BTreeMap::keys)
            .cloned()
            .collect();
        let order = |phase: &String| State::ALL.iter().position(|state| state.name() == phase);
        phases.sort_by_key(|phase| (order(phase).unwrap_or(usize::MAX), phase.clone()));
        phases.dedup();
        phases
    }

    /// The rows, family by family.
    pub(super) fn blocks(&self) -> Vec<Block> {
        let phases = self.phases();
        let targets: Vec<Target> = Target::all().collect();
        Family::ALL
            .iter()
            .filter_map(|family| self.block(*family, &phases, &targets))
            .collect()
    }

    fn block(&self, family: Family, phases: &[String], targets: &[Target]) -> Option<Block> {
        let place = |name: &str| targets.iter().position(|target| target.to_string() == name);
        let mut rows: Vec<(Option<usize>, Row)> = self
            .counts
            .iter()
            .filter(|((of, _), _)| *of == family)
            .map(|((_, name), counts)| {
                let at = place(name);
                let field = |phase| counts.get(phase).copied().unwrap_or_default();
                let row = Row {
                    short: own_name(family, name).to_owned(),
                    name: name.clone(),
                    meaning: at.map_or("", |at| targets[at].meaning()),
                    fields: phases.iter().map(field).collect(),
                };
                (at, row)
            })
            .collect();
        rows.sort_by_key(|(at, _)| at.unwrap_or(usize::MAX));
        let rows: Vec<Row> = rows.into_iter().map(|(_, row)| row).collect();
        let mut fields = vec![Count::default(); phases.len()];
        for row in &rows {
            for (sum, field) in fields.iter_mut().zip(&row.fields) {
                sum.join(field);
            }
        }
        (!rows.is_empty()).then_some(Block {
            family: family.name(),
            fields,
            rows,
        })
    }
}

/// The name of a target without that of its family, where it begins with it.
fn own_name(family: Family, name: &str) -> &str {
    name.strip_prefix(family.name())
        .and_then(|rest| rest.strip_prefix('.'))
        .unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(target: &str, phase: &str, outcome: Outcome) -> Record {
        Record {
            family: Family::of(target.parse().expect("a target")),
            target: target.to_owned(),
            phase: phase.to_owned(),
            outcome,
            ..Record::example()
        }
    }

    #[test]
    fn cells_are_counted_where_they_belong_and_families_add_up() {
        let mut grid = Grid::default();
        for (target, phase, outcome) in [
            ("actuator.motor", "Thrust", Outcome::NoEffect),
            ("actuator.motor", "Thrust", Outcome::Broken),
            ("actuator.motor", "Waking", Outcome::Detected),
            ("actuator.door-drive", "Thrust", Outcome::Harm),
            ("link", "Thrust", Outcome::Undetected),
        ] {
            grid.see(&record(target, phase, outcome));
        }
        assert_eq!(grid.phases(), ["Waking", "Thrust"]);
        let blocks = grid.blocks();
        let families: Vec<&str> = blocks.iter().map(|block| block.family).collect();
        assert_eq!(families, ["actuator", "link"]);
        assert_eq!(
            blocks[0].fields,
            [Count([0, 0, 1, 0, 0]), Count([1, 1, 0, 0, 1])]
        );
        let motor = blocks[0]
            .rows
            .iter()
            .find(|row| row.short == "motor")
            .expect("a row");
        assert_eq!(
            motor.fields,
            [Count([0, 0, 1, 0, 0]), Count([0, 1, 0, 0, 1])]
        );
        assert_eq!(motor.fields[1].letter(), 'B');
        assert_eq!(
            motor.fields[1].words(),
            "worst: broken; broken 1, no-effect 1 of 2 cells"
        );
    }

    #[test]
    fn a_field_without_cells_says_so() {
        let none = Count::default();
        assert_eq!((none.letter(), none.words().as_str()), ('-', "no cells"));
    }
}
