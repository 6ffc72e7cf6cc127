use mastwright_core::interlock::Permission;

use super::*;
use crate::permits::all;
use crate::permits::explained::{KEPT, SHARED};

#[test]
fn nothing_is_wrong_with_the_permissions_of_the_controller() {
    for permission in all() {
        assert_eq!(Study::of(permission).findings, [], "{permission:?}");
    }
}

#[test]
fn every_condition_has_a_pair_in_which_it_alone_changes_the_decision() {
    for permission in all() {
        let study = Study::of(permission);
        for (condition, effect) in study.rows.conditions().iter().zip(&study.effects) {
            let (Effect::Shown(pair) | Effect::Coupled(pair, _)) = effect else {
                panic!("{permission:?}: no pair of {condition:?}");
            };
            let (without, with) = (
                study.rows.proven(pair.without),
                study.rows.proven(pair.with),
            );
            assert_eq!(
                with - without,
                Conditions::only(*condition),
                "{permission:?}"
            );
            assert!(without.is_subset(with), "{permission:?}");
            assert!(permission.permitted(with), "{permission:?} {condition:?}");
            assert!(
                !permission.permitted(without),
                "{permission:?} {condition:?}"
            );
        }
    }
}

#[test]
fn the_rows_are_as_few_as_they_can_be_and_one_more_at_most_where_clauses_have_alternatives() {
    for permission in all() {
        let study = Study::of(permission);
        let conditions = study.rows.conditions().len();
        let rows = study.cover.rows.len();
        // Couplings can keep pairs from hanging together: a blade out of its place is not
        // parked, so that only Bench, with the blade restrained, shows what its place does.
        let alternatives = study.clauses.iter().any(|one| one.any_of.len() > 1);
        let most = conditions + 1 + usize::from(alternatives);
        assert!(rows > conditions && rows <= most, "{permission:?}: {rows}");
    }
}

#[test]
fn what_is_explained_stands_in_the_permission_it_is_explained_for() {
    for kept in KEPT {
        let rows = Rows::of(kept.permission.clauses());
        assert!(kept.conditions.is_subset(rows.concerned()), "{kept:?}");
    }
    for shared in SHARED {
        let clauses = shared.permission.clauses();
        assert!(
            clauses.iter().any(|clause| clause.reason == shared.reason),
            "{shared:?}"
        );
    }
}

/// Close-main with its clauses changed, decided by just these clauses.
fn changed(change: impl Fn(&mut Vec<Clause>)) -> Vec<Finding> {
    let mut clauses = Permission::CloseMain.clauses().to_vec();
    change(&mut clauses);
    let predicate = Predicate {
        clauses: &clauses,
        permitted: &|proven| failing(&clauses, proven).is_empty(),
        reasons: &|proven| failing(&clauses, proven),
    };
    Study::examine(Permission::CloseMain, &predicate).findings
}

#[test]
fn a_condition_swallowed_by_another_clause_is_found_redundant() {
    let findings = changed(|clauses| {
        clauses.push(Clause {
            any_of: Condition::Precharged | Condition::BusDead,
            reason: Reason::DeadTime,
        });
    });
    assert!(
        findings.contains(&Finding::Redundant(Condition::BusDead)),
        "{findings:?}"
    );
    let masked = Finding::Masked(Condition::BusDead, Reason::DeadTime);
    assert!(findings.contains(&masked), "{findings:?}");
}

#[test]
fn a_condition_that_a_coupling_makes_idle_must_be_explained_and_no_other_may_be() {
    let idle = changed(|clauses| {
        for (condition, reason) in [
            (Condition::MastStowed, Reason::MastNotStowed),
            (Condition::MastConsistent, Reason::MastNotConsistent),
        ] {
            clauses.push(Clause {
                any_of: condition.into(),
                reason,
            });
        }
    });
    assert_eq!(idle, [Finding::Unexplained(Condition::MastConsistent)]);
    let busy = changed(|clauses| clauses.retain(|clause| clause.reason != Reason::NotPrecharged));
    assert_eq!(
        busy,
        [
            Finding::NeedlesslyExplained(Condition::Pack1Usable),
            Finding::NeedlesslyExplained(Condition::Pack2Usable)
        ]
    );
}

#[test]
fn one_reason_of_two_clauses_is_found() {
    let findings = changed(|clauses| {
        clauses.push(Clause {
            any_of: Condition::BusDead.into(),
            reason: Reason::Bench,
        });
    });
    assert_eq!(findings, [Finding::SharedReason(Reason::Bench)]);
}

#[test]
fn a_decision_or_a_reason_that_is_not_of_the_clauses_is_found() {
    let permission = Permission::OpenDoors;
    let clauses = permission.clauses();
    // A condition that no clause names decides, and a reason is kept back.
    let bench_too =
        |proven: Conditions| permission.permitted(proven) && !proven.contains(Condition::NotBench);
    let never_late = |proven: Conditions| permission.reasons(proven) - Reason::Late;
    let predicate = Predicate {
        clauses,
        permitted: &bench_too,
        reasons: &never_late,
    };
    let findings = Study::examine(permission, &predicate).findings;
    assert!(
        matches!(
            findings[..],
            [Finding::Undecided(_), Finding::WrongReasons(_)]
        ),
        "{findings:?}"
    );
}

#[test]
fn a_permission_names_only_requirements_there_are() {
    for permission in all() {
        assert!(!permission.requirements().is_empty(), "{permission:?}");
        for id in permission.requirements() {
            let known = crate::oracle::REQUIREMENTS.iter().any(|one| one.id == *id);
            assert!(known, "{permission:?}: {id}");
        }
    }
}
