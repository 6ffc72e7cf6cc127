//! The longest way through a part of a space: by hand, and against plain counting.

use std::collections::BTreeMap;

use mastwright_sim::explore::engine::{Longest, Options, Space, Variants, explore, longest};
use mastwright_tests::spaces::Counters;
use mastwright_tests::spaces::drawn::Drawn;
use proptest::prelude::*;

/// States from here on are outside.
const OUTSIDE: u32 = 100;

fn longest_of(space: &Drawn, threads: usize) -> Longest<u32> {
    let found = explore(space, &Options::default(), &mut |_| ()).expect("no file is in use");
    let reached = found.reached.expect("states are kept");
    let weight = |from: &u32, to: &u32| space.weight(*from, *to);
    longest(space, &reached, |state| *state < OUTSIDE, weight, threads)
}

fn of(edges: &[(u32, u32, u32)]) -> Longest<u32> {
    longest_of(&Drawn::weighted(edges), 2)
}

#[test]
fn the_heaviest_way_counts_the_step_outside() {
    let found = of(&[
        (0, 1, 2),
        (0, 2, 1),
        (1, 3, 1),
        (2, 3, 5),
        (3, 100, 10),
        (1, 100, 1),
    ]);
    let (weight, way) = (1 + 5 + 10, vec![0, 2, 3, 100]);
    assert_eq!(
        found,
        Longest::Bounded {
            weight,
            way,
            inside: 4
        }
    );
}

#[test]
fn what_happens_outside_does_not_count() {
    let found = of(&[(0, 100, 1), (100, 101, 50), (101, 5, 0), (5, 102, 7)]);
    let way = vec![5, 102];
    assert_eq!(
        found,
        Longest::Bounded {
            weight: 7,
            way,
            inside: 2
        }
    );
}

#[test]
fn a_circle_without_weight_is_passed_through() {
    let found = of(&[
        (0, 1, 3),
        (1, 2, 0),
        (2, 3, 0),
        (3, 1, 0),
        (3, 100, 4),
        (1, 101, 5),
    ]);
    let (weight, way) = (3 + 5, vec![0, 1, 101]);
    assert_eq!(
        found,
        Longest::Bounded {
            weight,
            way,
            inside: 4
        }
    );
    let found = of(&[(0, 1, 3), (1, 2, 0), (2, 3, 0), (3, 1, 0), (3, 100, 4)]);
    let (weight, way) = (3 + 4, vec![0, 1, 2, 3, 100]);
    assert_eq!(
        found,
        Longest::Bounded {
            weight,
            way,
            inside: 4
        }
    );
}

#[test]
fn a_circle_with_a_weight_has_no_end() {
    let found = of(&[(0, 1, 1), (1, 2, 0), (2, 3, 4), (3, 1, 2), (3, 100, 1)]);
    // From the smallest weighted step, 2 to 3, back to 2.
    let circle = vec![3, 1, 2];
    assert_eq!(found, Longest::Unbounded { circle, weight: 6 });
}

#[test]
fn waiting_in_one_state_has_no_end() {
    let found = of(&[(0, 1, 1), (1, 1, 1), (1, 100, 1)]);
    assert_eq!(
        found,
        Longest::Unbounded {
            circle: vec![1],
            weight: 1
        }
    );
}

#[test]
fn a_state_that_leads_nowhere_is_stuck() {
    assert_eq!(of(&[(0, 1, 1), (0, 100, 1)]), Longest::Stuck { state: 1 });
    // Round and round without weight, and without an exit.
    let found = of(&[(0, 4, 1), (0, 100, 1), (4, 3, 0), (3, 4, 0)]);
    assert_eq!(found, Longest::Stuck { state: 3 });
}

#[test]
fn a_part_that_is_never_entered_is_empty() {
    let space = Drawn::weighted(&[(0, 1, 0), (1, 0, 0)]);
    let found = explore(&space, &Options::default(), &mut |_| ()).expect("no file is in use");
    let reached = found.reached.expect("states are kept");
    let none = longest(&space, &reached, |_| false, |_, _| 1, 1);
    assert_eq!(none, Longest::Empty);
}

#[test]
fn counters_take_as_many_steps_as_there_is_to_count() {
    let space = Counters { most: 5 };
    let found = explore(&space, &Options::default(), &mut |_| ()).expect("no file is in use");
    let reached = found.reached.expect("states are kept");
    let sum = |state: &u128| Counters::values(*state).map(u32::from).sum::<u32>();
    let weight = |from: &u128, to: &u128| sum(to) - sum(from);
    for threads in [1, 2, 4] {
        let Longest::Bounded {
            weight,
            way,
            inside,
        } = longest(&space, &reached, |state| sum(state) < 25, weight, threads)
        else {
            panic!("counters only count on");
        };
        assert_eq!((weight, inside, way.len()), (25, 6_u64.pow(5) - 1, 26));
    }
}

/// One state after another, so many.
#[derive(Debug)]
struct Line(u32);

impl Space for Line {
    type State = u32;
    type Tally = ();

    fn initial(&self, found: &mut impl FnMut(u32, Variants)) {
        found(0, Variants::FIRST);
    }

    fn expand(
        &self,
        state: &u32,
        variants: Variants,
        (): &mut (),
        found: &mut impl FnMut(u32, Variants, u64),
    ) {
        if *state < self.0 {
            found(state + 1, variants, 0);
        }
    }
}

#[test]
fn a_way_may_be_very_long() {
    let space = Line(20_000);
    let found = explore(&space, &Options::default(), &mut |_| ()).expect("no file is in use");
    assert_eq!(found.depth(), 20_000);
    let reached = found.reached.expect("states are kept");
    let Longest::Bounded { weight, .. } = longest(&space, &reached, |at| *at < 20_000, |_, _| 2, 2)
    else {
        panic!("a line has an end");
    };
    assert_eq!(weight, 40_000);
}

/// The answer by plain counting.
#[derive(Debug, PartialEq, Eq)]
enum Plain {
    Unbounded,
    Stuck,
    Bounded(u64),
}

/// From 0 all 8 states are reached at once; the edges among them are drawn.
fn plainly(edges: &BTreeMap<(u32, u32), u32>) -> Plain {
    let mut reach = [[false; 8]; 8];
    for (from, row) in reach.iter_mut().enumerate() {
        row[from] = true;
    }
    for _ in 0..8 {
        for &(from, to) in edges.keys().filter(|(_, to)| *to < OUTSIDE) {
            for row in &mut reach {
                row[to as usize] |= row[from as usize];
            }
        }
    }
    let inside = |(&(from, to), &weight): (&(u32, u32), &u32)| {
        to < OUTSIDE && weight > 0 && reach[to as usize][from as usize]
    };
    if edges.iter().any(inside) {
        return Plain::Unbounded;
    }
    let exits = |state: usize| edges.range((state as u32, OUTSIDE)..=(state as u32, u32::MAX));
    let leaves = |from: usize| (0..8).any(|to| reach[from][to] && exits(to).count() > 0);
    if !(0..8).all(leaves) {
        return Plain::Stuck;
    }
    let mut most = [0_u64; 8];
    for _ in 0..64 {
        for (&(from, to), &weight) in edges {
            let after = if to < OUTSIDE { most[to as usize] } else { 0 };
            let way = &mut most[from as usize];
            *way = (*way).max(u64::from(weight) + after);
        }
    }
    Plain::Bounded(most.into_iter().max().unwrap_or(0))
}

proptest! {
    #[test]
    fn drawn_graphs_have_the_answer_of_plain_counting(
        drawn in prop::collection::btree_map((0..8_u32, 0..8_u32), 0..4_u32, 0..14),
        forward in any::<bool>(),
        exits in prop::collection::btree_map(0..8_u32, 0..9_u32, 0..8),
    ) {
        let mut edges: BTreeMap<(u32, u32), u32> = (1..8).map(|to| ((0, to), 1)).collect();
        edges.extend(drawn.into_iter().filter(|&((from, to), _)| !forward || from < to));
        edges.extend(exits.into_iter().map(|(from, weight)| ((from, OUTSIDE + from), weight)));
        let list: Vec<_> = edges.iter().map(|(&(from, to), &weight)| (from, to, weight)).collect();
        let space = Drawn::weighted(&list);
        let found = longest_of(&space, 2);
        prop_assert_eq!(&found, &longest_of(&space, 1));
        let along = |way: &[u32]| -> Option<u64> {
            let steps = way.windows(2).map(|step| edges.get(&(step[0], step[1])).copied());
            steps.map(|weight| weight.map(u64::from)).sum()
        };
        match (plainly(&edges), found) {
            (Plain::Bounded(most), Longest::Bounded { weight, way, inside }) => {
                prop_assert_eq!((weight, inside), (most, 8));
                prop_assert_eq!(along(&way), Some(weight));
                let (last, before) = way.split_last().expect("a way has states");
                prop_assert!(*last >= OUTSIDE && before.iter().all(|state| *state < OUTSIDE));
            }
            (Plain::Unbounded, Longest::Unbounded { mut circle, weight }) => {
                circle.push(circle[0]);
                prop_assert_eq!(along(&circle), Some(weight));
                prop_assert!(weight > 0);
            }
            (Plain::Stuck, Longest::Stuck { .. }) => {}
            (plain, found) => prop_assert!(false, "{plain:?}, not {found:?}"),
        }
    }
}
