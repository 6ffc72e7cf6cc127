use super::*;

#[test]
fn nothing_proven_permits_nothing() {
    for permission in EnumSet::<Permission>::all() {
        assert!(!permission.permitted(Conditions::empty()), "{permission:?}");
    }
}

#[test]
fn everything_proven_permits_everything() {
    for permission in EnumSet::<Permission>::all() {
        assert!(permission.permitted(Conditions::all()), "{permission:?}");
    }
    assert_eq!(EnumSet::<Permission>::all().len(), Permission::COUNT);
}

#[test]
fn more_proof_never_takes_a_permission_away() {
    for permission in EnumSet::<Permission>::all() {
        for absent in Conditions::all() {
            let fewer = Conditions::all() - absent;
            let reasons = permission.reasons(fewer);
            assert!(
                permission.reasons(fewer | absent).is_subset(reasons),
                "{permission:?} without {absent:?}"
            );
        }
    }
}

#[test]
fn every_condition_of_a_clause_can_alone_decide_it() {
    for permission in EnumSet::<Permission>::all() {
        for clause in permission.clauses() {
            for condition in clause.any_of {
                let without = Conditions::all() - clause.any_of;
                let with = without | condition;
                assert!(
                    permission.reasons(without).contains(clause.reason),
                    "{permission:?} is not denied without {:?}",
                    clause.any_of
                );
                assert!(
                    !permission.reasons(with).contains(clause.reason),
                    "{permission:?}: {condition:?} does not satisfy its clause"
                );
            }
        }
    }
}

#[test]
fn a_denial_lists_every_reason_it_has() {
    let proven = Conditions::all() - Condition::Parked - Condition::DoorsOpen;
    assert_eq!(
        Permission::Retract.reasons(proven - Condition::Restrained),
        Reason::DoorsNotOpen | Reason::NotParked
    );
}

#[test]
fn a_permission_names_the_requirements_its_clauses_serve() {
    for permission in EnumSet::<Permission>::all() {
        let needs = |reason| permission.clauses().iter().any(|c| c.reason == reason);
        let serves = |id| permission.requirements().contains(&id);
        assert_eq!(needs(Reason::Late), serves("SR-16"), "{permission:?}");
        assert_eq!(needs(Reason::DeadTime), serves("SR-03"), "{permission:?}");
        assert_eq!(
            needs(Reason::AirspeedOutOfRange),
            serves("SR-23"),
            "{permission:?}"
        );
        assert_eq!(
            needs(Reason::MastNotLocked),
            serves("SR-25"),
            "{permission:?}"
        );
    }
}

#[test]
fn a_meaning_is_the_doc_of_its_variant_on_one_line() {
    assert_eq!(Permission::Extend.meaning(), "Raise the mast.");
    assert_eq!(
        Condition::BladeInPlace.meaning(),
        "At least one blade angle source is heard, and every one that is heard sees the \
         blade in its park window. Weaker than `Parked`; what restraint by hand needs."
    );
    for condition in Conditions::all() {
        assert!(condition.meaning().ends_with('.'), "{condition:?}");
    }
}

#[test]
fn every_reason_has_words_of_its_own() {
    let words: std::collections::BTreeSet<_> =
        EnumSet::<Reason>::all().iter().map(Reason::words).collect();
    assert_eq!(words.len(), EnumSet::<Reason>::all().len());
    assert!(words.iter().all(|words| words.contains(' ')), "{words:?}");
}

#[test]
fn doors_wait_for_a_mast_that_was_just_raised_to_come_to_rest() {
    let coasting = Conditions::all() - Condition::RetractRested;
    assert_eq!(Permission::CloseDoors.reasons(coasting), Reason::DeadTime);
}
