//! Variants beside the states: what is found must be what is found with the variant as a
//! part of the state, only with each state kept once.

use std::fs;
use std::path::{Path as FilePath, PathBuf};

use mastwright_sim::explore::engine::{
    Ended, Found, Limits, Longest, Options, Path, Reached, Save, Space, Store, Variants, explore,
    longest, path_to, shortest,
};
use mastwright_tests::spaces::varied::{Edge, Varied, Within};

const THREADS: [usize; 3] = [1, 2, 4];
const COMPACT: Store = Store::Compact { bits: 64, seed: 0 };

fn explored<S: Space>(space: &S, options: &Options<'_>) -> Found<S> {
    explore(space, options, &mut |_| ()).expect("the file can be used")
}

fn on(threads: usize, store: Store) -> Options<'static> {
    Options {
        threads,
        store,
        ..Options::default()
    }
}

/// Levels wide enough that all threads get some, states that are reached in some variants
/// early and in others late.
fn wide() -> Varied {
    Varied::drawn(12_000, 9, 1)
}

/// Asserts that both counted the same.
fn assert_same(beside: &Found<Varied>, within: &Found<Within<'_>>) {
    assert_eq!(beside.ended, within.ended);
    assert_eq!(beside.levels, within.levels);
    assert_eq!(beside.transitions, within.transitions);
    assert_eq!(beside.broken, within.broken);
    assert_eq!(beside.tally, within.tally);
}

/// A level's states in each of their variants, in order.
fn pairs(reached: &Reached<u32>, level: usize) -> Vec<(u32, u8)> {
    let each =
        |(state, variants): (u32, Variants)| variants.iter().map(move |variant| (state, variant));
    let mut pairs: Vec<_> = reached.level(level).flatten().flat_map(each).collect();
    pairs.sort_unstable();
    pairs
}

fn joined(reached: &Reached<u64>, level: usize) -> Vec<(u32, u8)> {
    let states = reached.level(level).flatten();
    let mut pairs: Vec<_> = states.map(|(state, _)| Within::part(state)).collect();
    pairs.sort_unstable();
    pairs
}

fn kept<S: Space>(found: &Found<S>) -> &Reached<S::State> {
    found.reached.as_ref().expect("states are kept")
}

#[test]
fn variants_beside_the_states_count_as_variants_within_them() {
    let space = wide();
    let within = explored(&Within(&space), &on(1, Store::Exact));
    assert!(within.states() > 80_000 && within.broken.checks() == 0b11111);
    for threads in THREADS {
        for store in [Store::Exact, COMPACT] {
            assert_same(&explored(&space, &on(threads, store)), &within);
            assert_same(
                &explored(&space, &on(threads, store)),
                &explored(&Within(&space), &on(threads, store)),
            );
        }
    }
}

#[test]
fn each_level_holds_the_same_states_in_the_same_variants() {
    let space = wide();
    let within = explored(&Within(&space), &on(2, Store::Exact));
    for threads in THREADS {
        let beside = explored(&space, &on(threads, Store::Exact));
        let (beside, within) = (kept(&beside), kept(&within));
        assert_eq!(beside.levels(), within.levels());
        for level in 0..beside.levels() {
            assert_eq!(pairs(beside, level), joined(within, level));
        }
        // Each state once, with all its variants.
        let mut states: Vec<_> = beside.parts().flatten().collect();
        states.sort_unstable();
        assert!(states.is_sorted_by(|a, b| a.0 < b.0));
        let all: u64 = states.iter().map(|(_, variants)| variants.len()).sum();
        let one_each = within.parts().map(|part| part.len() as u64);
        assert_eq!(all, one_each.sum::<u64>());
        for &(state, variants) in states.iter().step_by(997) {
            assert_eq!(beside.variants_of(&state), variants);
            for variant in 0..10 {
                let level = within.level_of(&Within::join(state, variant), 0);
                assert_eq!(beside.level_of(&state, variant), level);
            }
        }
    }
}

#[test]
fn small_graphs_in_up_to_all_variants_count_the_same() {
    let mut deep = 0;
    for seed in 0..60 {
        let variants = [1, 2, 7, 43, 64][seed as usize % 5];
        let space = Varied::drawn(30, variants, seed);
        let within = explored(&Within(&space), &on(1, Store::Exact));
        for store in [Store::Exact, COMPACT] {
            assert_same(&explored(&space, &on(2, store)), &within);
        }
        deep += usize::from(within.depth() > 5);
    }
    assert!(deep > 30);
}

/// The same path in the space with variants within.
fn joined_path(path: &Path<u32>) -> Vec<(u64, u8)> {
    let joined = |&(state, variant): &(u32, u8)| (Within::join(state, variant), 0);
    path.states.iter().map(joined).collect()
}

#[test]
fn paths_are_those_of_variants_within_the_states() {
    let space = wide();
    let within = explored(&Within(&space), &on(2, Store::Exact));
    let last = pairs(
        kept(&explored(&space, &on(1, Store::Exact))),
        within.depth(),
    );
    for threads in THREADS {
        let beside = explored(&space, &on(threads, Store::Exact));
        for check in 0..5 {
            let path = shortest(&space, &beside, check, threads).expect("each check is broken");
            let same = shortest(&Within(&space), &within, check, 1).expect("here too");
            // State before variant, both before the successor: the order is the same.
            assert_eq!(joined_path(&path), same.states);
        }
        for &end in last.iter().take(3) {
            let path = path_to(&space, kept(&beside), end, threads).expect("it was reached");
            let joined = (Within::join(end.0, end.1), 0);
            let same = path_to(&Within(&space), kept(&within), joined, 1).expect("here too");
            assert_eq!((path.len(), same.len()), (within.depth(), within.depth()));
            assert_eq!(joined_path(&path), same.states);
        }
    }
}

const fn edge(to: u32, within: u64, becomes: Option<u8>, checks: u64) -> Edge {
    Edge {
        to,
        within: Variants::from_bits(within),
        becomes,
        checks,
    }
}

/// 1 is reached from 0 at once in variant 0, in variant 1 only by way of 2, where
/// something changes.
fn late() -> Varied {
    Varied {
        edges: vec![
            vec![edge(1, 0b001, None, 0), edge(2, 0b001, None, 0)],
            vec![edge(3, 0b011, None, 0), edge(3, 0b110, None, 1)],
            vec![edge(1, 0b001, Some(1), 0), edge(1, 0b001, Some(2), 0)],
            vec![],
        ],
        begin: Variants::FIRST,
    }
}

#[test]
fn a_state_is_on_each_level_at_which_it_is_reached_in_new_variants() {
    let found = explored(&late(), &on(1, Store::Exact));
    let reached = kept(&found);
    // 0; 1 and 2; 1 in two more and 3; 3 in two more.
    assert_eq!(found.levels, [1, 2, 3, 2]);
    assert_eq!(pairs(reached, 1), [(1, 0), (2, 0)]);
    assert_eq!(pairs(reached, 2), [(1, 1), (1, 2), (3, 0)]);
    assert_eq!(pairs(reached, 3), [(3, 1), (3, 2)]);
    // Out of 1: to 3 in variant 0 once, in 1 twice, in 2 once.
    assert_eq!(found.transitions, 2 + 2 + 4);
    let broken = found
        .broken
        .get(0)
        .expect("it is broken in variants 1 and 2");
    assert_eq!((broken.depth, broken.transitions), (3, 2));
    assert_eq!(reached.variants_of(&1), Variants::from_bits(0b111));
    assert_eq!(reached.variants_of(&9), Variants::EMPTY);
    let levels = [0, 1, 2, 3].map(|variant| reached.level_of(&1, variant));
    assert_eq!(levels, [Some(1), Some(2), Some(2), None]);
}

#[test]
fn a_path_goes_back_by_state_and_variant() {
    let space = late();
    let found = explored(&space, &on(1, Store::Exact));
    let path = shortest(&space, &found, 0, 1).expect("it is broken");
    // Of the variants 1 and 2 the smaller.
    assert_eq!(path.states, [(0, 0), (2, 0), (1, 1), (3, 1)]);
    let path = path_to(&space, kept(&found), (3, 2), 2).expect("it is reached");
    assert_eq!(path.states, [(0, 0), (2, 0), (1, 2), (3, 2)]);
    let path = path_to(&space, kept(&found), (3, 0), 2).expect("it is reached");
    assert_eq!(path.states, [(0, 0), (1, 0), (3, 0)]);
    assert_eq!(path_to(&space, kept(&found), (2, 1), 2), None);
}

/// In variant 0 by way of 2 and 4 to 3, in variant 1 by way of 1 and 2: three transitions
/// each. Only in a variant that is not reached it would go round.
fn two_ways() -> Varied {
    Varied {
        edges: vec![
            vec![edge(2, 0b01, None, 0), edge(1, 0b01, Some(1), 0)],
            vec![edge(2, 0b10, None, 0)],
            vec![
                edge(4, 0b01, None, 0),
                edge(3, 0b10, None, 0),
                edge(0, 0b100, None, 0),
            ],
            vec![],
            vec![edge(3, 0b01, None, 0)],
        ],
        begin: Variants::FIRST,
    }
}

#[test]
fn the_longest_way_takes_the_transitions_of_all_variants() {
    let space = two_ways();
    let found = explored(&space, &on(1, Store::Exact));
    let reached = kept(&found);
    let Longest::Bounded {
        weight,
        way,
        inside,
    } = longest(&space, reached, |state| *state != 3, |_, _| 1, 2)
    else {
        panic!("every way ends in 3");
    };
    // Longer than each: it changes its variant in 2.
    assert_eq!((weight, way, inside), (4, vec![0, 1, 2, 4, 3], 4));
    // It may end in any variant too, but not by a transition that is in none.
    let among = |state: &u32| [1, 2].contains(state);
    let Longest::Bounded { way, .. } = longest(&space, reached, among, |_, _| 1, 2) else {
        panic!("every way ends in 3 or 4");
    };
    assert_eq!(way, [1, 2, 3]);
}

/// An empty place for the file of one test.
fn file(name: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("variants-{name}.levels"));
    if path.exists() {
        fs::remove_file(&path).expect("an old file can be removed");
    }
    path
}

fn saving(path: &FilePath, threads: usize, store: Store, resume: bool) -> Options<'static> {
    Options {
        save: Some(Save {
            path: path.to_owned(),
            fingerprint: "a test of variants".to_owned(),
            resume,
        }),
        ..on(threads, store)
    }
}

#[test]
fn a_resumed_exploration_has_the_same_variants_and_the_file_the_same_bytes() {
    let space = wide();
    let within = explored(&Within(&space), &on(1, Store::Exact));
    for store in [Store::Exact, COMPACT] {
        let mut bytes = Vec::new();
        for threads in THREADS {
            let file = file(&format!("{store:?}-{threads}"));
            let depth = Some(6);
            let limits = Limits {
                depth,
                ..Limits::default()
            };
            let begun = explored(
                &space,
                &Options {
                    limits,
                    ..saving(&file, threads, store, false)
                },
            );
            assert_eq!((begun.ended, begun.depth()), (Ended::DepthLimit, 6));
            let found = explored(&space, &saving(&file, threads, store, true));
            let resumed = found.resumed.expect("it was resumed");
            assert_eq!((resumed.levels, resumed.states), (7, begun.states()));
            assert_same(&found, &within);
            if let Some(reached) = &found.reached {
                for level in 0..reached.levels() {
                    assert_eq!(pairs(reached, level), joined(kept(&within), level));
                }
            }
            bytes.push(fs::read(&file).expect("it was written"));
            fs::remove_file(&file).expect("it can be removed");
        }
        assert!(bytes[0] == bytes[1] && bytes[0] == bytes[2]);
    }
}

#[test]
fn a_level_that_is_dropped_leaves_no_variants_behind() {
    let space = wide();
    let whole = explored(&space, &on(1, Store::Exact));
    let middle = whole.levels.len() / 2;
    let states = whole.levels[..middle].iter().sum::<u64>();
    for threads in THREADS {
        let limits = Limits {
            states: Some(states + 1),
            ..Limits::default()
        };
        let found = explored(
            &space,
            &Options {
                limits,
                ..on(threads, Store::Exact)
            },
        );
        assert_eq!((found.ended, found.states()), (Ended::StateLimit, states));
        let all = kept(&found).parts().flatten();
        assert_eq!(all.map(|(_, variants)| variants.len()).sum::<u64>(), states);
        for level in 0..middle {
            assert_eq!(pairs(kept(&found), level), pairs(kept(&whole), level));
        }
    }
}

#[test]
fn memory_depends_on_what_is_found_and_not_on_who_came_first() {
    let space = wide();
    for store in [Store::Exact, COMPACT] {
        let one = explored(&space, &on(1, store));
        let half = Some(one.cost.bytes / 2);
        let limited = |threads| {
            let limits = Limits {
                bytes: half,
                ..Limits::default()
            };
            let options = Options {
                limits,
                ..on(threads, store)
            };
            explored(&space, &options)
        };
        let least = limited(1);
        for threads in THREADS {
            let found = explored(&space, &on(threads, store));
            let held = |found: &Found<Varied>| found.reached.as_ref().map(Reached::bytes);
            assert_eq!(held(&found), held(&one));
            let found = limited(threads);
            assert_eq!((found.ended, &found.levels), (least.ended, &least.levels));
        }
    }
}

#[test]
fn too_short_hashes_miss_the_same_at_any_thread_count_and_invent_nothing() {
    let space = wide();
    let whole = explored(&space, &on(1, Store::Exact));
    let short = Store::Compact { bits: 14, seed: 0 };
    let one = explored(&space, &on(1, short));
    assert!(one.states() < whole.states() && one.states() > whole.states() / 4);
    for threads in THREADS {
        let found = explored(&space, &on(threads, short));
        assert_eq!(found.levels, one.levels);
        assert_eq!(found.transitions, one.transitions);
        assert_eq!((&found.broken, found.tally), (&one.broken, one.tally));
    }
    for (check, found) in one.broken.iter() {
        let first = whole
            .broken
            .get(check)
            .expect("what is not there is not found");
        assert!(first.depth <= found.depth);
    }
}

/// Two states that lead to each other, each transition in no variant at all.
struct Nowhere;

impl Space for Nowhere {
    type State = u32;
    type Tally = ();

    fn initial(&self, found: &mut impl FnMut(u32, Variants)) {
        found(0, Variants::FIRST);
        found(1, Variants::EMPTY);
    }

    fn expand(
        &self,
        state: &u32,
        variants: Variants,
        (): &mut (),
        found: &mut impl FnMut(u32, Variants, u64),
    ) {
        found(1 - state, variants - Variants::FIRST, 1);
    }
}

#[test]
fn what_is_found_in_no_variant_is_not_found() {
    for store in [Store::Exact, COMPACT] {
        let found = explored(&Nowhere, &on(1, store));
        assert_eq!((&found.levels[..], found.transitions), (&[1][..], 0));
        assert_eq!(found.broken.checks(), 0);
        if store == Store::Exact {
            assert_eq!(kept(&found).parts().flatten().count(), 1);
            // It has no exit either.
            let stuck = longest(&Nowhere, kept(&found), |state| *state == 0, |_, _| 1, 1);
            assert_eq!(stuck, Longest::Stuck { state: 0 });
        }
    }
}
