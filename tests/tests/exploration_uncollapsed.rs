//! Whether the exploration loses nothing by collapsing time: the real controller, every
//! counter of it exact, explored breadth-first in the same abstract world under the same
//! hands; each state that it comes to must, packed, be a node of the exploration.
//!
//! Time limits are a few ticks, so that all of them run out often. What is taken for granted
//! in the uncollapsed run:
//!
//! - the facts of `facts.rs`, and no others: where a limit is too short for one to be so by
//!   itself, ways on which its timer would run out are not taken;
//! - what was driven has come to rest when the dead time of its drive is over, which the
//!   exploration makes a move of its own;
//! - a sound mast follows its drive, and rests without: the abstract plant has no position
//!   within a class by which the controller could judge that;
//! - what is read first of the selector after power-up counts at once, since the abstract
//!   memory is ahead by that time. After that a control counts when it has been read for its
//!   time, and the observer sees of it what counts. A selector on its way arrives.
//!
//! Of states that are packed to the same node, with the same countdowns under way, only the
//! first two are expanded; without that there would be too many.

use mastwright_core::walk::{Flag, Timer};
use mastwright_core::{Config, Sequencer, State};
use mastwright_sim::explore::explored::{Explored, NoMind};
use mastwright_sim::explore::hands::{Air, Hands, Heat, Push};
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_tests::flown::bit;
use mastwright_tests::uncollapsed::collapsed::{Forgets, Handed, Never, Tried};
use mastwright_tests::uncollapsed::limits::Limits;
use mastwright_tests::uncollapsed::search::{Bounds, Found, Search};

/// Every stage ends in three ticks: most give up before they have come to anything.
const SHORT: Limits = Limits {
    most: 2,
    of: &[
        (Timer::State, 3),
        (Timer::MastOverload, 3),
        (Timer::DoorOverload, 3),
    ],
    settle: 4,
    debounce: 1,
    clear: 2,
};

/// A stage lasts long enough for the bus to be made live, and for the mast to go all its way.
const LONG: Limits = Limits {
    most: 2,
    of: &[
        (Timer::State, 24),
        (Timer::MastRun, 12),
        (Timer::DoorRun, 7),
        (Timer::BusStage, 7),
        (Timer::MastOverload, 3),
        (Timer::DoorOverload, 4),
        (Timer::DoorUnpressed, 5),
    ],
    settle: 4,
    debounce: 1,
    clear: 2,
};

/// How many states are expanded at most: enough to come to every state of the sequencer.
const MANY: usize = 200_000;
/// Enough for what one thing broken adds, and to see what is wrong.
const FEWER: usize = 120_000;

/// Deploys, thrusts, stows, jogs and charges.
fn flies(hands: &Hands) -> bool {
    !hands.key && !hands.stop && hands.air == Air::Within && hands.heat == Heat::Cool
}

/// Deploys, and charges.
fn deploys(hands: &Hands) -> bool {
    flies(hands) && hands.selector != Push::Stow
}

/// Deploys, stops, and charges; the throttle is closed.
fn stops(hands: &Hands) -> bool {
    let unstopped = Hands {
        stop: false,
        ..*hands
    };
    deploys(&unstopped) && !hands.throttle
}

/// Moves the mast in on the bench, and stows; the throttle is closed.
fn maintains(hands: &Hands) -> bool {
    let fast = hands.air == Air::Fast || hands.heat != Heat::Cool;
    !fast && !hands.stop && !hands.throttle && hands.selector != Push::Deploy
}

fn searched<C: Explored<Mind = NoMind>>(
    tried: Tried,
    broken: Option<Trouble>,
    limits: Limits,
    states: usize,
) -> Found {
    let among: Vec<Trouble> = broken.into_iter().collect();
    let handed: Handed<C> = Handed {
        space: Aircraft::new(&Config::default(), among.len(), among),
        tried,
    };
    let reached = handed.reached();
    let search = Search {
        handed: &handed,
        reached: &reached,
        limits,
        bounds: Bounds {
            of_a_node: 2,
            states,
        },
    };
    search.run()
}

fn missing_none(found: &Found, least: usize) {
    assert_eq!(found.missed, 0, "{}", found.first.join("\n\n"));
    assert!(found.nodes > least, "{}", found.nodes);
}

#[test]
fn with_nothing_broken_each_exact_state_is_a_node_of_the_exploration() {
    let mut seen = 0;
    for (tried, limits, least) in [
        (flies as Tried, LONG, 2_000),
        (flies, SHORT, 600),
        (stops, LONG, 2_500),
        (maintains, LONG, 600),
    ] {
        let found = searched::<Sequencer>(tried, None, limits, MANY);
        missing_none(&found, least);
        seen |= found.seen;
    }
    let every = State::ALL.iter().fold(0, |all, state| all | bit(*state));
    assert_eq!(seen, every, "every state is come to");
}

#[test]
fn with_one_thing_broken_each_exact_state_is_a_node_of_the_exploration() {
    for trouble in [Trouble::LockSwitch, Trouble::DoorCurrent, Trouble::StopA] {
        let found = searched::<Sequencer>(deploys, Some(trouble), LONG, FEWER);
        missing_none(&found, 700);
    }
}

#[test]
fn a_packing_that_forgets_what_decides_is_caught() {
    let gripped = searched::<Forgets<{ Flag::Gripped as u32 }>>(flies, None, LONG, FEWER);
    let locked = searched::<Forgets<{ Flag::LockProven as u32 }>>(flies, None, LONG, FEWER);
    assert!(gripped.missed > 0);
    assert!(locked.missed > 0);
}

#[test]
fn an_exploration_with_a_fact_too_many_is_caught() {
    let lock = searched::<Never<{ Timer::Lock as u32 }>>(flies, None, LONG, FEWER);
    let state = searched::<Never<{ Timer::State as u32 }>>(flies, None, SHORT, FEWER);
    for found in [lock, state] {
        assert!(found.missed > 0);
    }
}
