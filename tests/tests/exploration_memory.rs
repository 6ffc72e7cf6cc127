//! Whether the reduced memory of the exploration, and its tables of what matters in which
//! state, leave out nothing that decides: tried on the real controller in real flights.

use std::collections::BTreeMap;

use mastwright_core::{Config, Sequencer, State};
use mastwright_sim::explore::memory::pack;
use mastwright_sim::plant::truth::Truth;
use mastwright_tests::abstraction::flights::{self, Flight, Watched, fly};
use mastwright_tests::abstraction::idle::{Found, Idle};
use mastwright_tests::abstraction::twin::Twin;
use mastwright_tests::abstraction::{lies, troubles};
use mastwright_tests::draw::Draw;
use mastwright_tests::flown::bit;

/// Every state, as bits.
fn every_state() -> u32 {
    State::ALL.iter().fold(0, |all, state| all | bit(*state))
}

#[test]
fn a_reduced_memory_does_what_the_whole_one_does() {
    let mut states = 0;
    let mut flights = flights::sound(150);
    flights.extend(flights::shipped());
    for flight in flights::asked(flights) {
        let flown = fly::<Twin>(&flight.scenario, |frame, twin| {
            states |= twin.states;
            match &twin.differs {
                Some(differs) if frame.powered => Err(format!(
                    "{} (MASTWRIGHT_FLIGHT={} flies it alone), tick {}: {differs}",
                    flight.name, flight.name, frame.tick
                )),
                Some(_) | None => Ok(()),
            }
        });
        assert_eq!(flown, Ok(()));
    }
    if std::env::var("MASTWRIGHT_FLIGHT").is_err() {
        assert_eq!(states, every_state(), "every state is tried");
    }
}

fn varied(flights: Vec<Flight>) -> Found {
    let mut all = Found::default();
    for flight in flights::asked(flights) {
        let mut found = Found::default();
        let flown = fly::<Idle>(&flight.scenario, |_, idle| {
            found.clone_from(&idle.found);
            Ok(())
        });
        assert_eq!(flown, Ok(()));
        all.add(&flight.name, &found);
    }
    all
}

#[test]
fn what_the_table_leaves_out_changes_nothing() {
    let mut flights = flights::sound(60);
    flights.extend(flights::with_fault(120, |entry| {
        !entry.target.to_string().contains("mast")
    }));
    let found = varied(flights);
    for ((what, state), [times, changed]) in &found.varied {
        println!("{what} {state}: {times} {changed}");
    }
    for (key, first) in &found.first {
        println!("FIRST {key:?} {first}\n");
    }
    let changed: Vec<_> = found
        .varied
        .iter()
        .filter(|(_, [_, changed])| *changed > 0)
        .collect();
    assert!(changed.is_empty(), "{changed:?}");
}

#[test]
fn any_lie_comes_to_what_one_that_is_tried_comes_to() {
    let config = Config::default();
    let mut found = lies::Found::default();
    let mut draw = Draw::new(1);
    let mut seen: BTreeMap<u128, u32> = BTreeMap::new();
    let mut flights = flights::sound(40);
    flights.extend(flights::with_fault(150, |entry| {
        troubles::of(entry) != troubles::Covered::Not
    }));
    for flight in flights::asked(flights) {
        let mut look = |controller: &Sequencer, truth: &Truth| {
            let times = seen
                .entry(pack(*controller, true, &config).bits)
                .or_default();
            *times += 1;
            if times.is_power_of_two() && *times <= 4 {
                found.try_all(controller, truth, &config, &mut draw);
            }
        };
        let flown = fly::<Watched>(&flight.scenario, |frame, controller| {
            if frame.powered {
                look(&controller.before, &frame.truth);
            }
            Ok(())
        });
        assert_eq!(flown, Ok(()));
    }
    println!("{} memories, {:?}", seen.len(), found.told);
    for (key, (times, first)) in &found.missed {
        println!("MISSED {key:?} {times}: {first}\n");
    }
    assert!(
        found.missed.is_empty(),
        "{:?}",
        found.missed.keys().collect::<Vec<_>>()
    );
}
