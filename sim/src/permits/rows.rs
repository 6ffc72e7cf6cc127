//! The rows of a permission's truth table.

use enumset::EnumSet;
use mastwright_core::interlock::{Clause, Condition, Conditions};

/// One row: bit `i` is set when condition `i` of the permission is proven.
pub type Row = usize;

/// Most conditions of one permission: its table has at most 2^16 rows.
pub const MOST: usize = 16;

/// The conditions of a permission and the rows they span.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rows {
    conditions: Vec<Condition>,
}

impl Rows {
    /// The rows over the conditions of `clauses`, in the order they first stand there.
    ///
    /// # Panics
    /// When there are more than [`MOST`] conditions.
    #[must_use]
    pub fn of(clauses: &[Clause]) -> Self {
        let mut conditions: Vec<Condition> = Vec::new();
        for condition in clauses.iter().flat_map(|clause| clause.any_of) {
            if !conditions.contains(&condition) {
                conditions.push(condition);
            }
        }
        assert!(conditions.len() <= MOST, "{} conditions", conditions.len());
        Self { conditions }
    }

    /// The conditions, by place.
    #[must_use]
    pub fn conditions(&self) -> &[Condition] {
        &self.conditions
    }

    /// The conditions as a set.
    #[must_use]
    pub fn concerned(&self) -> Conditions {
        self.conditions.iter().copied().collect()
    }

    /// How many rows there are: 2 to the number of conditions.
    #[must_use]
    pub fn count(&self) -> usize {
        1 << self.conditions.len()
    }

    /// What is proven in `row`.
    #[must_use]
    pub fn proven(&self, row: Row) -> Conditions {
        let here = self.conditions.iter().enumerate();
        here.filter(|(index, _)| is_proven(row, *index))
            .map(|(_, condition)| *condition)
            .collect::<EnumSet<_>>()
    }
}

/// True when the condition at this place is proven in `row`.
#[must_use]
pub const fn is_proven(row: Row, index: usize) -> bool {
    row >> index & 1 == 1
}

/// `T` or `F`, as the condition at this place is proven in `row` or not.
#[must_use]
pub const fn truth(row: Row, index: usize) -> &'static str {
    if is_proven(row, index) { "T" } else { "F" }
}

/// `row` with the condition at this place the other way.
#[must_use]
pub const fn flipped(row: Row, index: usize) -> Row {
    row ^ (1 << index)
}

#[cfg(test)]
mod tests {
    use super::*;
    use mastwright_core::interlock::Permission;

    #[test]
    fn a_condition_of_two_clauses_is_one_column() {
        let rows = Rows::of(Permission::Retract.clauses());
        let listed = rows.conditions();
        assert_eq!(listed.len(), rows.concerned().len());
        assert!(listed.contains(&Condition::Restrained));
        assert_eq!(rows.count(), 1 << listed.len());
    }

    #[test]
    fn rows_differ_and_a_flip_changes_one_condition() {
        let rows = Rows::of(Permission::CloseMain.clauses());
        let sets: std::collections::HashSet<Conditions> =
            (0..rows.count()).map(|row| rows.proven(row)).collect();
        assert_eq!(sets.len(), rows.count());
        let changed = rows.proven(5) ^ rows.proven(flipped(5, 1));
        assert_eq!(changed, Conditions::only(rows.conditions()[1]));
    }
}
