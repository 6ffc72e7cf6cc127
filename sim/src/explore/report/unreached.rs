//! What of the sequencer was never reached.

use mastwright_core::State;
use mastwright_core::walk::Choice;

use super::super::tally::Tally;

/// Why a transition cannot be taken while at most one thing is broken.
const WHY: &[(&str, &str)] = &[
    ("Deployed -> StowDoors", TWO_LIE),
    ("Armed -> StowDoors", TWO_LIE),
    ("Thrust -> StowDoors", TWO_LIE),
];
const TWO_LIE: &str = "needs position and end switches of a locked mast to lie alike";

/// Why a state or transition that [`unreached`] names cannot be reached while at most one
/// thing is broken, if that is known.
#[must_use]
pub fn why(name: &str) -> Option<&'static str> {
    let known = WHY.iter().find(|(known, _)| *known == name);
    known.map(|(_, why)| *why)
}

/// The states and documented transitions that `tally` does not show. Safe halts count
/// each for itself as states, together as ends of a transition.
#[must_use]
pub fn unreached(tally: &Tally) -> Vec<String> {
    let states = (0..State::COUNT)
        .filter(|number| !tally.entered(*number))
        .map(|number| name(State::numbered(number)));
    let ways = State::ALL
        .into_iter()
        .flat_map(|from| State::ALL.map(|to| (from, to)))
        .filter(|(from, to)| from.leads_to(*to) && !went(tally, *from, *to))
        .map(|(from, to)| format!("{} -> {}", from.name(), to.name()));
    states.chain(ways).collect()
}

/// The transitions that were taken and are not documented.
#[must_use]
pub fn undocumented(tally: &Tally) -> Vec<String> {
    let all = || (0..State::COUNT).map(State::numbered);
    let pairs = all().flat_map(|from| all().map(move |to| (from, to)));
    let taken = pairs.filter(|(from, to)| {
        let bit = tally.went[usize::from(from.number())] >> to.number() & 1;
        bit == 1 && from != to && !from.leads_to(*to)
    });
    let mut names: Vec<String> = taken
        .map(|(from, to)| format!("{} -> {}", from.name(), to.name()))
        .collect();
    // Each reason of a halt is a state of its own here, and one name.
    names.sort_unstable();
    names.dedup();
    names
}

/// Whether a transition was taken; a halt stands for each of its reasons. From one halt
/// to another counts only if the reason is another, since to stay is no transition.
fn went(tally: &Tally, from: State, to: State) -> bool {
    let numbers = |state: State| {
        (0..State::COUNT).filter(move |number| State::numbered(*number).name() == state.name())
    };
    numbers(from).any(|from| {
        numbers(to).any(|to| from != to && tally.went[usize::from(from)] >> to & 1 == 1)
    })
}

fn name(state: State) -> String {
    if let State::Halted(halt) = state {
        format!("Halted ({halt:?})")
    } else {
        state.name().to_owned()
    }
}
