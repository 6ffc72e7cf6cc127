//! The rows that are to show each condition's effect do so against the real predicate,
//! and find a predicate that is wrong; what is said not to come about does not.
//!
//! Modified condition/decision coverage, unique-cause form: ECSS-E-ST-40C;
//! NASA/TM-2001-210876 (both quoted by a third party).

mod readings;

use enumset::EnumSet;
use mastwright_core::interlock::{Clause, Condition, Conditions, Permission, Reason};
use mastwright_core::{Config, Faults, Sequencer};
use mastwright_sim::campaign::swarm;
use mastwright_sim::permits::all;
use mastwright_sim::permits::coupling::{COUPLINGS, Coupling};
use mastwright_sim::permits::findings::Finding;
use mastwright_sim::permits::study::{Predicate, Study};
use mastwright_sim::scenario::Scenario;
use mastwright_tests::draw::Draw;
use mastwright_tests::flown;

/// What is proven in each row of the set, once with nothing besides and once with every
/// condition the permission does not look at.
fn shown(study: &Study) -> Vec<Conditions> {
    let others = Conditions::all() - study.rows.concerned();
    let rows = study.cover.rows.iter().map(|row| study.rows.proven(*row));
    rows.flat_map(|proven| [proven, proven | others]).collect()
}

/// The reasons of the clauses none of whose conditions is proven.
fn failing(clauses: &[Clause], proven: Conditions) -> EnumSet<Reason> {
    let mut reasons = EnumSet::empty();
    for clause in clauses {
        if !met(clause, proven) {
            reasons.insert(clause.reason);
        }
    }
    reasons
}

fn met(clause: &Clause, proven: Conditions) -> bool {
    clause.any_of.iter().any(|one| proven.contains(one))
}

/// True when permitted; checks decision and reasons against the clauses.
fn decided(permission: Permission, proven: Conditions) -> bool {
    let reasons = failing(permission.clauses(), proven);
    assert_eq!(
        permission.reasons(proven),
        reasons,
        "{permission:?} {proven:?}"
    );
    assert_eq!(
        permission.permitted(proven),
        reasons.is_empty(),
        "{permission:?}"
    );
    reasons.is_empty()
}

#[test]
fn the_real_predicate_decides_each_row_of_the_sets_as_its_clauses_say() {
    for permission in all() {
        let sets = shown(&Study::of(permission));
        let permitted = sets.iter().filter(|proven| decided(permission, **proven));
        let permitted = permitted.count();
        assert!(permitted > 0 && permitted < sets.len(), "{permission:?}");
    }
}

#[test]
fn in_every_row_of_every_table_the_reasons_are_those_of_the_clauses_that_fail() {
    for permission in all() {
        let study = Study::of(permission);
        let rows = 0..study.rows.count();
        let permitted = rows.filter(|row| decided(permission, study.rows.proven(*row)));
        assert_eq!(permitted.count(), study.permitting(), "{permission:?}");
    }
}

/// A permission decided wrongly.
struct Mutant {
    name: String,
    permitted: Box<dyn Fn(Conditions) -> bool>,
}

impl Mutant {
    fn new(name: String, permitted: impl Fn(Conditions) -> bool + 'static) -> Self {
        let permitted = Box::new(permitted);
        Self { name, permitted }
    }
}

/// Wrappers around the real predicate: each condition dropped or turned round; each that
/// it does not look at needed besides, or made enough.
fn wrapped(permission: Permission, concerned: Conditions) -> Vec<Mutant> {
    let mut mutants = Vec::new();
    for one in Conditions::all() {
        let name = |what: &str| format!("{permission:?} {what} {one:?}");
        mutants.extend([
            Mutant::new(name("taking for proven"), move |p| {
                permission.permitted(p | one)
            }),
            Mutant::new(name("never seeing"), move |p| permission.permitted(p - one)),
            Mutant::new(name("turning round"), move |p| {
                permission.permitted(p ^ one)
            }),
        ]);
        if !concerned.contains(one) {
            mutants.push(needing(permission, one));
            mutants.push(Mutant::new(name("content with"), move |p| {
                permission.permitted(p) || p.contains(one)
            }));
        }
    }
    mutants
}

/// The permission, needing this condition besides.
fn needing(permission: Permission, one: Condition) -> Mutant {
    Mutant::new(format!("{permission:?} needing also {one:?}"), move |p| {
        permission.permitted(p) && p.contains(one)
    })
}

/// What the criterion does not promise to find: a condition of the permission needed, or
/// enough, where it was not.
fn misplaced(permission: Permission, concerned: Conditions) -> Vec<Mutant> {
    let mut mutants = lenient(permission, concerned);
    mutants.extend(concerned.iter().map(|one| needing(permission, one)));
    mutants
}

/// True when every clause but those at these places holds.
fn rest(clauses: &[Clause], but: [usize; 2], proven: Conditions) -> bool {
    let mut each = clauses.iter().enumerate();
    each.all(|(at, clause)| but.contains(&at) || met(clause, proven))
}

/// Clauses put together wrongly: one left out, one that needs all of its conditions, two
/// of which one will do.
fn misjoined(permission: Permission) -> Vec<Mutant> {
    let clauses = permission.clauses();
    let mut mutants = Vec::new();
    for (place, clause) in clauses.iter().enumerate() {
        let name = |what: &str| format!("{permission:?} {what} {:?}", clause.reason);
        mutants.push(Mutant::new(name("without"), move |p| {
            rest(clauses, [place, place], p)
        }));
        mutants.push(Mutant::new(name("needing all of"), move |p| {
            rest(clauses, [place, place], p) && clause.any_of.is_subset(p)
        }));
        for (second, other) in clauses.iter().enumerate().skip(place + 1) {
            let name = name(&format!("content with {:?} or", other.reason));
            mutants.push(Mutant::new(name, move |p| {
                rest(clauses, [place, second], p) && (met(clause, p) || met(other, p))
            }));
        }
    }
    mutants
}

/// One clause that is content with a further condition, of those in `with`.
fn lenient(permission: Permission, with: Conditions) -> Vec<Mutant> {
    let clauses = permission.clauses();
    let mut mutants = Vec::new();
    for (place, clause) in clauses.iter().enumerate() {
        for more in with - clause.any_of {
            let name = format!(
                "{permission:?} content with {more:?} in {:?}",
                clause.reason
            );
            mutants.push(Mutant::new(name, move |p| {
                rest(clauses, [place, place], p) && (met(clause, p) || p.contains(more))
            }));
        }
    }
    mutants
}

/// True when the mutant decides otherwise than the permission somewhere in `sets`.
fn differs(permission: Permission, mutant: &Mutant, sets: &[Conditions]) -> bool {
    let real = |proven: &Conditions| permission.permitted(*proven);
    sets.iter()
        .any(|proven| (mutant.permitted)(*proven) != real(proven))
}

/// Every row, with nothing besides and with every other condition.
fn whole(study: &Study) -> Vec<Conditions> {
    let others = Conditions::all() - study.rows.concerned();
    let rows = (0..study.rows.count()).map(|row| study.rows.proven(row));
    rows.flat_map(|proven| [proven, proven | others]).collect()
}

/// How many mutants the rows find, of those that decide otherwise anywhere in the table;
/// and the names of those they do not.
fn hunt(mutants: impl Fn(Permission, Conditions) -> Vec<Mutant>) -> (u32, Vec<String>) {
    let (mut found, mut missed) = (0, Vec::new());
    for permission in all() {
        let study = Study::of(permission);
        let (few, every) = (shown(&study), whole(&study));
        for mutant in mutants(permission, study.rows.concerned()) {
            if differs(permission, &mutant, &few) {
                found += 1;
            } else if differs(permission, &mutant, &every) {
                missed.push(mutant.name);
            }
        }
    }
    (found, missed)
}

#[test]
fn the_rows_find_every_condition_dropped_added_or_turned_round() {
    let (found, missed) = hunt(wrapped);
    assert!(missed.is_empty(), "missed: {missed:#?}");
    assert!(found > 500, "only {found} were wrong at all");
}

#[test]
fn the_rows_find_clauses_left_out_or_joined_wrongly() {
    let (found, missed) = hunt(|permission, _| misjoined(permission));
    assert!(missed.is_empty(), "missed: {missed:#?}");
    assert!(found > 200, "only {found} were wrong at all");
}

#[test]
fn the_rows_find_a_clause_content_with_a_condition_the_permission_does_not_look_at() {
    let (found, missed) =
        hunt(|permission, concerned| lenient(permission, Conditions::all() - concerned));
    assert!(missed.is_empty(), "missed: {missed:#?}");
    assert!(found > 1000, "only {found} were wrong at all");
}

#[test]
fn the_whole_table_finds_a_condition_misplaced_where_the_rows_need_not() {
    let (found, missed) = hunt(misplaced);
    assert!(
        found as usize > 5 * missed.len() && !missed.is_empty(),
        "the page says what the rows do not find: found {found}, missed {missed:#?}"
    );
    for permission in all() {
        let concerned = Study::of(permission).rows.concerned();
        for mutant in misplaced(permission, concerned) {
            let predicate = Predicate {
                clauses: permission.clauses(),
                permitted: &mutant.permitted,
                reasons: &|proven| permission.reasons(proven),
            };
            let study = Study::examine(permission, &predicate);
            let every = whole(&study);
            let told = study
                .findings
                .iter()
                .any(|finding| matches!(finding, Finding::Undecided(_)));
            assert_eq!(
                told,
                differs(permission, &mutant, &every),
                "{}",
                mutant.name
            );
        }
    }
}

/// Counts, for each coupling, the ticks in which it had something to rule out.
#[derive(Default)]
struct Held([u32; COUPLINGS.len()]);

impl Held {
    fn see(&mut self, proven: Conditions, place: impl Fn() -> String) {
        for (count, coupling) in self.0.iter_mut().zip(COUPLINGS) {
            assert!(
                coupling.allows(proven),
                "{}: {coupling:?}: {proven:?}",
                place()
            );
            *count += u32::from(is_tried(coupling, proven));
        }
    }

    fn all_tried(&self) {
        for (count, coupling) in self.0.iter().zip(COUPLINGS) {
            assert!(*count > 0, "never put to the test: {coupling:?}");
        }
    }
}

/// True when a tick that proves this could have shown the coupling false.
fn is_tried(coupling: &Coupling, proven: Conditions) -> bool {
    if coupling.if_all.is_empty() {
        !proven.contains(Condition::TorqueOff)
    } else if coupling.then_any.is_empty() {
        !proven.is_disjoint(coupling.if_all)
    } else {
        proven.is_superset(coupling.if_all)
    }
}

#[test]
fn what_cannot_be_proven_together_is_not_in_random_missions() {
    let mut held = Held::default();
    for seed in 1..=30 {
        let text = swarm::text(seed);
        let scenario = Scenario::parse("random.toml", &text).expect("a run is in order");
        flown::fly_scenario(&scenario, |frame| {
            if frame.powered {
                held.see(frame.outputs.proven, || format!("run {seed}"));
            }
        });
    }
    held.all_tried();
}

#[test]
fn what_cannot_be_proven_together_is_not_under_random_readings() {
    let config = Config::default();
    let mut held = Held::default();
    for seed in 0..300 {
        let mut draw = Draw::new(seed);
        let mut sequencer = Sequencer::wake(Faults::empty(), &config);
        let mut inputs = readings::sound(&mut draw);
        for tick in 0..400 {
            readings::disturb(&mut inputs, &mut draw);
            let outputs = sequencer.step(&inputs, &config);
            held.see(outputs.proven, || format!("seed {seed}, tick {tick}"));
        }
    }
    // Thrust and restraint take an order of events that chance does not bring; the
    // missions do.
    for (count, coupling) in held.0.iter().zip(COUPLINGS) {
        let by_order = coupling.if_all.is_empty();
        assert!(
            *count > 0 || by_order,
            "never put to the test: {coupling:?}"
        );
    }
}
