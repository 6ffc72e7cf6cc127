//! Tests of the module above, by itself.

use std::collections::BTreeSet;

use super::*;

#[test]
fn every_halt_says_in_words_of_its_own_why_and_what_to_do() {
    let words: BTreeSet<_> = Halt::ALL.into_iter().map(Halt::words).collect();
    assert_eq!(words.len(), Halt::ALL.len());
    for halt in Halt::ALL {
        assert!(halt.words().contains(' '), "{halt:?}");
        let way_out = halt.way_out();
        let moves = ["ask", "deploy", "stow", "land"];
        assert!(
            moves.iter().any(|word| way_out.contains(word)),
            "{halt:?}: {way_out}"
        );
    }
}

#[test]
fn only_a_halt_has_a_reason() {
    for state in State::ALL {
        assert_eq!(state.halt().is_some(), state.name() == "Halted");
    }
    assert_eq!(State::Halted(Halt::Doors).halt(), Some(Halt::Doors));
}

#[test]
fn each_regime_has_its_states() {
    let named = |holds: fn(State) -> bool| {
        let states = State::ALL.into_iter().filter(|state| holds(*state));
        states.map(State::name).collect::<std::vec::Vec<_>>()
    };
    let deploying = ["DeployPower", "DeployPark", "DeployDoors", "DeployMast"];
    let stowing = [
        "StowPower",
        "StowBrake",
        "StowPark",
        "StowProve",
        "StowMast",
        "StowDoors",
    ];
    assert_eq!(named(State::is_deploying), deploying);
    assert_eq!(named(State::is_stowing), stowing);
    let moving = [&deploying[..], &stowing[..]].concat();
    assert_eq!(named(State::is_moving), moving);
}

#[test]
fn a_state_leads_where_its_table_says_and_nowhere_else() {
    assert!(State::Armed.leads_to(State::Thrust));
    assert!(
        State::Armed.leads_to(State::Halted(Halt::LockLost)),
        "any reason"
    );
    assert!(!State::Armed.leads_to(State::Bench));
    assert!(!State::Stowed.leads_to(State::StowMast));
}
