//! Whether the abstract world of the exploration takes in every way of the simulated
//! aircraft: real flights, followed tick by tick.

use std::collections::BTreeMap;

use mastwright_core::Config;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_tests::abstraction::flights::{self, Flight};
use mastwright_tests::abstraction::follow::Follower;
use mastwright_tests::abstraction::{facts, troubles};

/// Follows flights, those with the same troubles in one space; what could not be followed.
fn lost(flights: &[Flight]) -> Vec<String> {
    let mut groups: BTreeMap<Vec<Trouble>, Vec<&Flight>> = BTreeMap::new();
    for flight in flights {
        let troubles = flight
            .troubles
            .clone()
            .expect("a flight that can be followed");
        groups.entry(troubles).or_default().push(flight);
    }
    let mut lost = Vec::new();
    let mut ticks = 0;
    for (troubles, flights) in groups {
        let mut follower = Follower::new(&Config::default(), &troubles);
        for flight in flights {
            match follower.follow(flight) {
                Ok(followed) => ticks += followed.ticks,
                Err(problem) => lost.push(problem),
            }
        }
    }
    println!("{ticks} ticks");
    lost
}

fn none_is_lost(flights: Vec<Flight>) {
    let flights = flights::asked(flights);
    let lost = lost(&flights);
    let told: Vec<&String> = lost.iter().take(6).collect();
    for one in lost.iter() {
        println!("LOST {}", one.lines().next().unwrap());
    }
    for one in told {
        println!("{one}");
    }
    assert!(lost.is_empty(), "{} of {}", lost.len(), flights.len());
}

#[test]
fn shipped_flights_are_ways_of_the_abstract_world() {
    let flights = flights::shipped();
    none_is_lost(
        flights
            .into_iter()
            .filter(|f| f.troubles.is_some())
            .collect(),
    );
}

#[test]
fn random_missions_are_ways_of_the_abstract_world() {
    let flights = flights::sound(300);
    none_is_lost(
        flights
            .into_iter()
            .filter(|f| f.troubles.is_some())
            .collect(),
    );
}

#[test]
fn flights_with_one_fault_are_ways_of_the_abstract_world() {
    let flights = flights::with_fault(600, |entry| troubles::of(entry) != troubles::Covered::Not);
    none_is_lost(
        flights
            .into_iter()
            .filter(|f| f.troubles.is_some())
            .collect(),
    );
}

#[test]
fn facts_hold() {
    let mut seen = facts::Seen::default();
    let mut all = flights::shipped();
    all.extend(flights::sound(300));
    all.extend(flights::with_fault(500, |entry| {
        troubles::of(entry) != troubles::Covered::Not
    }));
    for flight in flights::asked(all) {
        seen.watch(&flight);
    }
    for (timer, [began, out]) in &seen.timers {
        println!("{timer}: {began} {out}");
    }
    for one in &seen.broken {
        println!("BROKEN {one}");
    }
    assert!(seen.broken.is_empty());
}
