//! Whether the reduced memory of the exploration, and its tables of what matters in which
//! state, leave out nothing that decides: tried on the real controller in real flights.
//!
//! `MASTWRIGHT_CASES=20` flies twenty times as many random missions; `MASTWRIGHT_FLIGHT`
//! flies the one of that name alone.

use std::collections::BTreeMap;
use std::convert::Infallible;

use mastwright_core::{Config, Sequencer, State};
use mastwright_sim::explore::cases::cases;
use mastwright_sim::explore::engine::{Limits, Options, explore};
use mastwright_sim::explore::explored::NoMind;
use mastwright_sim::explore::memory::pack;
use mastwright_sim::explore::node::Node;
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::faults::Kind;
use mastwright_sim::plant::truth::Truth;
use mastwright_tests::abstraction::blade::{self, AnyBlade};
use mastwright_tests::abstraction::flights::{self, Flight, Watched, fly};
use mastwright_tests::abstraction::twin::Twin;
use mastwright_tests::abstraction::{lies, tried, troubles};
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

#[test]
fn a_blade_that_is_left_out_changes_nothing() {
    let mut flights = flights::sound(40);
    // What is read of the mast tells here where it is.
    let plain = [Kind::Dropout, Kind::StuckOpen, Kind::Dead, Kind::Acts];
    flights.extend(flights::with_fault(1, |entry| {
        plain.contains(&entry.kind)
            && troubles::of(entry) != troubles::Covered::Not
            && !entry.target.to_string().contains("mast")
    }));
    let mut found = blade::Found::default();
    for flight in flights::asked(flights) {
        let mut here = blade::Found::default();
        let Ok(()) = fly::<AnyBlade, Infallible>(&flight.scenario, |_, any| {
            here.clone_from(&any.found);
            Ok(())
        });
        found.add(&flight.name, &here);
    }
    assert!(found.first.is_empty(), "{:#?}", found.first);
    if !is_alone() {
        assert!(found.varied.values().sum::<u64>() >= 10_000);
    }
}

/// Nodes of the exploration, drawn of all that are within so many transitions.
fn nodes(space: &Aircraft<Sequencer>, depth: u32, many: u32) -> Vec<Node<NoMind>> {
    let options = Options {
        limits: Limits {
            depth: Some(depth),
            ..Limits::default()
        },
        ..Options::default()
    };
    let found = explore(space, &options, &mut |_| {}).expect("no file is used");
    let reached = found.reached.expect("states are kept whole");
    let in_each = |(node, of): (Node<NoMind>, _)| {
        let of = cases(of).into_iter();
        of.map(move |case| node.in_case(case))
    };
    let mut all: Vec<_> = reached.parts().flatten().flat_map(in_each).collect();
    all.sort_unstable();
    let mut draw = Draw::new(1);
    (0..many).map(|_| draw.one(&all)).collect()
}

#[test]
fn of_any_hands_comes_what_comes_of_those_that_are_tried() {
    let mut found = tried::Found::default();
    let mut draw = Draw::new(2);
    let config = Config::default();
    for (faults, among, depth, many) in [
        (0, vec![], 13, 100),
        (1, vec![Trouble::MastPosition, Trouble::ShutSwitch], 6, 10),
        (1, vec![Trouble::SelectDeploy, Trouble::SelectStow], 6, 40),
        (1, vec![Trouble::StopA, Trouble::BenchKey], 6, 40),
        (1, vec![Trouble::Airspeed, Trouble::ThrottleA], 6, 40),
        (2, vec![Trouble::StopA, Trouble::StopB], 4, 20),
    ] {
        let space: Aircraft<Sequencer> = Aircraft::new(&config, faults, among);
        for node in nodes(&space, depth, many) {
            found.hold(&space, &node, 40, &mut draw);
        }
    }
    assert!(found.differs.is_empty(), "{:#?}", found.differs);
    for what in [
        "selector",
        "throttle",
        "acknowledge",
        "bench key",
        "charge request",
        "air",
        "heat",
    ] {
        let times = found
            .varied
            .iter()
            .filter(|((varied, _), _)| *varied == what);
        let states = times.filter(|(_, times)| **times > 100).count();
        assert!(states > 3, "{what} in {states} states");
    }
}

#[test]
fn any_lie_comes_to_what_one_that_is_tried_comes_to() {
    let config = Config::default();
    let mut found = lies::Found::default();
    let mut draw = Draw::new(1);
    let mut seen: BTreeMap<u64, u32> = BTreeMap::new();
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
