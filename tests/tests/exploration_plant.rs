//! Whether the abstract world of the exploration takes in every way of the simulated
//! aircraft: real flights, followed tick by tick in it, and its facts about time, held
//! against them.
//!
//! `MASTWRIGHT_CASES=20` flies twenty times as many random missions; `MASTWRIGHT_FLIGHT`
//! flies the one of that name alone.

use std::collections::BTreeMap;

use mastwright_core::{Config, State};
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::faults::{Entry, Kind, MechanicsId, Target, catalogue};
use mastwright_tests::abstraction::facts::Seen;
use mastwright_tests::abstraction::flights::{self, Flight};
use mastwright_tests::abstraction::follow::Follower;
use mastwright_tests::abstraction::troubles::{self, Covered};
use mastwright_tests::flown::bit;

fn is_covered(entry: &Entry) -> bool {
    troubles::of(entry) != Covered::Not
}

/// Follows flights, those with the same troubles in one space; all the states they were in.
fn followed(flights: Vec<Flight>) -> u32 {
    let mut groups: BTreeMap<Vec<Trouble>, Vec<Flight>> = BTreeMap::new();
    for flight in flights::asked(flights) {
        if let Some(troubles) = flight.troubles.clone() {
            groups.entry(troubles).or_default().push(flight);
        }
    }
    let mut states = 0;
    for (troubles, flights) in groups {
        let mut follower = Follower::new(&Config::default(), &troubles);
        for flight in flights {
            match follower.follow(&flight) {
                Ok(came) => states |= came.states,
                Err(lost) => panic!("{lost}"),
            }
        }
    }
    states
}

fn every_state() -> u32 {
    State::ALL.iter().fold(0, |all, state| all | bit(*state))
}

fn named(name: &str) -> Flight {
    let mut shipped = flights::shipped().into_iter();
    let found = shipped.find(|flight| flight.name == name);
    found.expect("a shipped scenario")
}

#[test]
fn every_shipped_flight_is_a_way_of_the_abstract_world() {
    let flights = flights::shipped();
    let known = |flight: &&Flight| flight.troubles.is_some();
    let unknown: Vec<&Flight> = flights.iter().filter(|flight| !known(flight)).collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    followed(flights);
}

#[test]
fn random_missions_are_ways_of_the_abstract_world() {
    let states = followed(flights::sound(200));
    if std::env::var("MASTWRIGHT_FLIGHT").is_err() {
        assert_eq!(states, every_state(), "every state is followed");
    }
}

#[test]
fn missions_with_any_fault_that_the_abstract_world_covers_are_ways_of_it() {
    followed(flights::with_fault(1, is_covered));
}

#[test]
fn most_faults_of_the_catalogue_are_covered() {
    let all = catalogue().count();
    let covered = catalogue().filter(is_covered).count();
    assert!(covered * 10 > all * 8, "{covered} of {all}");
}

#[test]
fn a_flight_with_a_fault_is_no_way_of_the_sound_world() {
    let mut flights = vec![named("welded-contactor")];
    let sinks = |entry: &Entry| entry.target == Target::Mechanics(MechanicsId::SpindleFree);
    flights.extend(flights::with_fault(12, sinks));
    let mut sound = Follower::new(&Config::default(), &[]);
    let lost = flights.into_iter().filter(|flight| {
        let flight = Flight {
            troubles: Some(Vec::new()),
            ..flight.clone()
        };
        sound.follow(&flight).is_err()
    });
    let lost = lost.count();
    assert!(lost >= 2, "{lost}");
}

/// Timers of the facts: each must have begun to run more often than this.
const BEGUN: &[(&str, u64)] = &[
    ("Lock", 100),
    ("BusDrained", 100),
    ("BusChecked", 100),
    ("BusStage", 100),
    ("BusWelded", 50),
    ("MastRun", 100),
    ("DoorRun", 100),
    ("DoorOverload", 100),
    ("DoorUnpressed", 100),
];

#[test]
fn the_facts_that_are_taken_for_granted_hold_in_real_flights() {
    let mut seen = Seen::default();
    let mut all = flights::shipped();
    all.extend(flights::sound(100));
    let plain = [Kind::Dropout, Kind::StuckOpen, Kind::Dead, Kind::Acts];
    all.extend(flights::with_fault(1, |entry| {
        is_covered(entry) && plain.contains(&entry.kind)
    }));
    for flight in flights::asked(all) {
        seen.watch(&flight);
    }
    assert!(seen.broken.is_empty(), "{}", seen.broken.join("\n"));
    if std::env::var("MASTWRIGHT_FLIGHT").is_err() {
        for (timer, least) in BEGUN {
            let [begun, _] = seen.timers[*timer];
            assert!(begun > *least, "{timer}: {begun}");
        }
    }
}

#[test]
fn a_fact_that_does_not_hold_is_seen() {
    let mut seen = Seen::default();
    for name in ["mast-jams", "door-jams", "welded-contactor"] {
        seen.watch(&Flight {
            troubles: Some(Vec::new()),
            ..named(name)
        });
    }
    assert!(!seen.broken.is_empty());
}
