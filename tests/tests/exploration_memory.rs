//! Whether the reduced memory of the exploration, and its tables of what matters in which
//! state, leave out nothing that decides: tried on the real controller in real flights.
//!
//! `MASTWRIGHT_CASES=20` flies twenty times as many random missions; `MASTWRIGHT_FLIGHT`
//! flies the one of that name alone.

use std::collections::BTreeMap;
use std::convert::Infallible;

use mastwright_core::{Config, Sequencer, State};
use mastwright_sim::explore::memory::pack;
use mastwright_sim::faults::Kind;
use mastwright_sim::plant::truth::Truth;
use mastwright_tests::abstraction::flights::{self, Flight, Watched, fly};
use mastwright_tests::abstraction::idle::{Found, Idle};
use mastwright_tests::abstraction::twin::Twin;
use mastwright_tests::abstraction::{lies, troubles};
use mastwright_tests::draw::Draw;
use mastwright_tests::flown::bit;

fn is_alone() -> bool {
    std::env::var("MASTWRIGHT_FLIGHT").is_ok()
}

fn every_state() -> u32 {
    State::ALL.iter().fold(0, |all, state| all | bit(*state))
}

/// Flies with a twin; the states it was in, or where the two differ.
fn twinned<const RIPE: bool>(flight: &Flight) -> Result<u32, String> {
    let mut states = 0;
    fly::<Twin<RIPE>, String>(&flight.scenario, |frame, twin| {
        states |= twin.states;
        twin.differs.as_ref().map_or(Ok(()), |differs| {
            let name = &flight.name;
            Err(format!(
                "{name} (MASTWRIGHT_FLIGHT={name} flies it alone), tick {}: {differs}",
                frame.tick
            ))
        })
    })?;
    Ok(states)
}

#[test]
fn a_reduced_memory_does_what_the_whole_one_does() {
    let mut flights = flights::sound(100);
    flights.extend(flights::shipped());
    let mut states = 0;
    for flight in flights::asked(flights) {
        match twinned::<true>(&flight) {
            Ok(seen) => states |= seen,
            Err(differs) => panic!("{differs}"),
        }
    }
    if !is_alone() {
        assert_eq!(states, every_state(), "every state is tried");
    }
}

#[test]
fn a_memory_whose_timers_never_run_out_is_seen_to_differ() {
    assert!(twinned::<false>(&flights::sound(1)[0]).is_err());
}

/// Everything that is varied, and how often at least.
const VARIED: &[(&str, u64)] = &[
    ("throttle", 100_000),
    ("heat", 100_000),
    ("throttle of a stop", 1),
    ("bench key", 10_000),
    ("charge request", 100_000),
    ("air", 100_000),
    ("acknowledge", 100_000),
    ("blade", 10_000),
];

#[test]
fn what_the_table_leaves_out_changes_nothing() {
    let mut flights = flights::sound(40);
    // What is read of the mast tells here where it is.
    let plain = [Kind::Dropout, Kind::StuckOpen, Kind::Dead, Kind::Acts];
    flights.extend(flights::with_fault(1, |entry| {
        plain.contains(&entry.kind)
            && troubles::of(entry) != troubles::Covered::Not
            && !entry.target.to_string().contains("mast")
    }));
    let mut found = Found::default();
    for flight in flights::asked(flights) {
        let mut here = Found::default();
        let Ok(()) = fly::<Idle, Infallible>(&flight.scenario, |_, idle| {
            here.clone_from(&idle.found);
            Ok(())
        });
        found.add(&flight.name, &here);
    }
    assert!(found.first.is_empty(), "{:#?}", found.first);
    if !is_alone() {
        for (what, least) in VARIED {
            let states = found.varied.iter();
            let times: u64 = states
                .filter(|((varied, _), _)| varied == what)
                .map(|(_, [times, _])| times)
                .sum();
            assert!(times >= *least, "{what}: {times}");
        }
    }
}

#[test]
fn any_lie_comes_to_what_one_that_is_tried_comes_to() {
    let config = Config::default();
    let mut found = lies::Found::default();
    let mut draw = Draw::new(1);
    let mut seen: BTreeMap<u128, u32> = BTreeMap::new();
    let mut flights = flights::sound(40);
    flights.extend(flights::with_fault(1, |entry| {
        troubles::of(entry) != troubles::Covered::Not
    }));
    for flight in flights::asked(flights) {
        let mut look = |controller: &Sequencer, truth: &Truth| {
            let bits = pack(*controller, true, &config).bits;
            let times = seen.entry(bits).or_default();
            *times += 1;
            if times.is_power_of_two() {
                found.try_all(controller, truth, &config, &mut draw);
            }
        };
        let Ok(()) = fly::<Watched, Infallible>(&flight.scenario, |frame, controller| {
            if frame.powered {
                look(&controller.before, &frame.truth);
            }
            Ok(())
        });
    }
    assert!(found.missed.is_empty(), "{:#?}", found.missed);
    if !is_alone() {
        for (trouble, times) in &found.told {
            assert!(*times > 10_000, "{trouble}: {times}");
        }
    }
}
