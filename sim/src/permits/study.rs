//! A permission studied over its whole truth table.

use enumset::EnumSet;
use mastwright_core::interlock::{Clause, Condition, Conditions, Permission, Reason};

use super::coupling::possible;
use super::cover::{Cover, Pair, cover};
use super::explained;
use super::findings::Finding;
use super::rows::{Row, Rows, flipped, is_proven};

/// A permission as it is decided: the real one, or a changed one in a test.
pub struct Predicate<'a> {
    /// What it is said to need.
    pub clauses: &'a [Clause],
    /// Whether it is permitted.
    pub permitted: &'a dyn Fn(Conditions) -> bool,
    /// Why it is denied.
    pub reasons: &'a dyn Fn(Conditions) -> EnumSet<Reason>,
}

/// What a condition does in its permission.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// These rows, which can come about, show its independent effect.
    Shown(Pair),
    /// Only rows like these show it, of which one cannot come about; why it is kept, if
    /// that is explained.
    Coupled(Pair, Option<&'static str>),
    /// No rows show any.
    None,
}

/// What the table of a permission shows.
#[derive(Clone, Debug)]
pub struct Study {
    /// The permission.
    pub permission: Permission,
    /// Its clauses.
    pub clauses: Vec<Clause>,
    /// Its conditions and rows.
    pub rows: Rows,
    /// Whether each row permits, as the predicate decides.
    pub decides: Vec<bool>,
    /// Why each row is denied, as the predicate says.
    pub reasons: Vec<EnumSet<Reason>>,
    /// Rows that show every condition's effect, and the pairs they form.
    pub cover: Cover,
    /// What each condition does, by its place.
    pub effects: Vec<Effect>,
    /// What is wrong.
    pub findings: Vec<Finding>,
}

impl Study {
    /// Studies the controller's own predicate.
    #[must_use]
    pub fn of(permission: Permission) -> Self {
        let predicate = Predicate {
            clauses: permission.clauses(),
            permitted: &|proven| permission.permitted(proven),
            reasons: &|proven| permission.reasons(proven),
        };
        Self::examine(permission, &predicate)
    }

    /// Studies `predicate` in the place of `permission`.
    #[must_use]
    pub fn examine(permission: Permission, predicate: &Predicate<'_>) -> Self {
        let rows = Rows::of(predicate.clauses);
        let concerned = rows.concerned();
        let sets: Vec<Conditions> = (0..rows.count()).map(|row| rows.proven(row)).collect();
        let decides: Vec<bool> = sets.iter().map(|set| (predicate.permitted)(*set)).collect();
        let can_be: Vec<bool> = sets.iter().map(|set| possible(*set, concerned)).collect();
        let cover = cover(rows.conditions().len(), &decides, &can_be);
        let effects: Vec<Effect> = rows
            .conditions()
            .iter()
            .zip(&cover.pairs)
            .map(|(condition, pair)| match pair {
                None => Effect::None,
                Some(pair) if can_be[pair.with] && can_be[pair.without] => Effect::Shown(*pair),
                Some(pair) => Effect::Coupled(*pair, explained::kept(permission, *condition)),
            })
            .collect();
        let mut findings = ineffective(permission, rows.conditions(), &effects);
        findings.extend(disagreement(predicate, &sets, concerned));
        findings.extend(masked(predicate.clauses, &rows, &sets));
        findings.extend(shared(permission, predicate.clauses));
        Self {
            permission,
            clauses: predicate.clauses.to_vec(),
            reasons: sets.iter().map(|set| (predicate.reasons)(*set)).collect(),
            decides,
            rows,
            cover,
            effects,
            findings,
        }
    }

    /// How many rows permit.
    #[must_use]
    pub fn permitting(&self) -> usize {
        self.decides.iter().filter(|permits| **permits).count()
    }

    /// True when no coupling rules `row` out.
    #[must_use]
    pub fn possible(&self, row: Row) -> bool {
        possible(self.rows.proven(row), self.rows.concerned())
    }
}

/// The reasons of the clauses that fail: none of their conditions is proven. Written out
/// anew, to hold the controller's own evaluation against.
fn failing(clauses: &[Clause], proven: Conditions) -> EnumSet<Reason> {
    let fails = |clause: &&Clause| clause.any_of.iter().all(|one| !proven.contains(one));
    let failing = clauses.iter().filter(fails);
    failing.map(|clause| clause.reason).collect()
}

fn ineffective(
    permission: Permission,
    conditions: &[Condition],
    effects: &[Effect],
) -> Vec<Finding> {
    let each = conditions.iter().zip(effects);
    each.filter_map(|(condition, effect)| match effect {
        Effect::None => Some(Finding::Redundant(*condition)),
        Effect::Coupled(_, None) => Some(Finding::Unexplained(*condition)),
        Effect::Coupled(_, Some(_)) => None,
        Effect::Shown(_) => explained::kept(permission, *condition)
            .map(|_| Finding::NeedlesslyExplained(*condition)),
    })
    .collect()
}

/// The first row in which the decision, and the first in which the reasons, are not those
/// of the clauses; each row with no condition besides its own proven, and with all.
fn disagreement(
    predicate: &Predicate<'_>,
    sets: &[Conditions],
    concerned: Conditions,
) -> Vec<Finding> {
    let others = Conditions::all() - concerned;
    let every = || sets.iter().flat_map(|set| [*set, *set | others]);
    let wrong_decision = |proven: &Conditions| {
        (predicate.permitted)(*proven) != failing(predicate.clauses, *proven).is_empty()
    };
    let wrong_reasons =
        |proven: &Conditions| (predicate.reasons)(*proven) != failing(predicate.clauses, *proven);
    let decision = every().find(wrong_decision).map(Finding::Undecided);
    let reasons = every().find(wrong_reasons).map(Finding::WrongReasons);
    decision.into_iter().chain(reasons).collect()
}

/// Conditions that in a clause of theirs never decide alone: there is no row in which
/// only this clause fails and proving the condition permits.
fn masked(clauses: &[Clause], rows: &Rows, sets: &[Conditions]) -> Vec<Finding> {
    let holds = |clause: &Clause, row: Row| !clause.any_of.is_disjoint(sets[row]);
    let mut findings = Vec::new();
    for (place, clause) in clauses.iter().enumerate() {
        let alone = |row: &Row| {
            let mut each = clauses.iter().enumerate();
            each.all(|(other, clause)| holds(clause, *row) == (other != place))
        };
        let alone: Vec<Row> = (0..sets.len()).filter(alone).collect();
        for (index, condition) in rows.conditions().iter().enumerate() {
            let decides = alone.iter().any(|row| {
                let with = flipped(*row, index);
                is_proven(with, index) && clauses.iter().all(|clause| holds(clause, with))
            });
            if clause.any_of.contains(*condition) && !decides {
                findings.push(Finding::Masked(*condition, clause.reason));
            }
        }
    }
    findings
}

fn shared(permission: Permission, clauses: &[Clause]) -> Vec<Finding> {
    let given: EnumSet<Reason> = clauses.iter().map(|clause| clause.reason).collect();
    let each = given.into_iter().map(|reason| {
        let several = clauses.iter().filter(|one| one.reason == reason).count() > 1;
        match (several, explained::shared(permission, reason)) {
            (true, None) => Some(Finding::SharedReason(reason)),
            (false, Some(_)) => Some(Finding::NeedlesslyShared(reason)),
            (true, Some(_)) | (false, None) => None,
        }
    });
    each.flatten().collect()
}

#[cfg(test)]
mod tests;
