//! The explorer on spaces that can be counted by hand: sizes, checks, paths, limits.

use std::sync::atomic::AtomicBool;

use mastwright_sim::explore::engine::{
    Break, Ended, Found, Limits, Missed, Options, Path, Space, Stop, Store, explore, path_to,
    shortest,
};
use mastwright_tests::spaces::drawn::{Drawn, Expanded};
use mastwright_tests::spaces::{Counters, Scatter};

const THREADS: [usize; 3] = [1, 2, 4];

fn explored<S: Space>(space: &S, options: &Options<'_>) -> Found<S> {
    explore(space, options, &mut |_| ()).expect("no file is in use")
}

fn on(threads: usize) -> Options<'static> {
    Options {
        threads,
        ..Options::default()
    }
}

/// Enough states that all threads get some, with checks broken here and there.
fn wide() -> Drawn {
    let edges = (0..20_000_u32).flat_map(|from| {
        [7, 11, 13].map(|factor| {
            let to = (from * factor + 1) % 20_000;
            let checks = u64::from(to % 997 == 5) << 3 | u64::from(to % 4999 == 77) << 9;
            ((from, to), (0, checks))
        })
    });
    Drawn {
        edges: edges.collect(),
    }
}

#[test]
fn three_states_in_a_circle_are_three_states_three_transitions_depth_two() {
    let found = explored(&Drawn::weighted(&[(0, 1, 0), (1, 2, 0), (2, 0, 0)]), &on(2));
    assert_eq!(found.ended, Ended::Whole);
    assert_eq!(found.levels, [1, 1, 1]);
    assert_eq!(
        (found.states(), found.transitions, found.depth()),
        (3, 3, 2)
    );
    assert_eq!(found.tally, Expanded { times: 3, sum: 3 });
}

#[test]
fn what_is_not_reached_is_not_counted() {
    let found = explored(&Drawn::weighted(&[(0, 0, 0), (5, 6, 0)]), &on(2));
    assert_eq!((found.levels.as_slice(), found.transitions), (&[1][..], 1));
}

#[test]
fn counters_have_the_levels_that_counting_gives() {
    let space = Counters { most: 3 };
    for threads in THREADS {
        let found = explored(&space, &on(threads));
        // One, five, and the ways to spread two and three over five counters.
        assert_eq!(found.levels[..4], [1, 5, 15, 35]);
        assert_eq!((found.states(), found.transitions), (1024, 3840));
        assert_eq!(found.depth(), 15);
        // From the last value down the levels are the same.
        assert!(found.levels.iter().eq(found.levels.iter().rev()));
    }
}

#[test]
fn larger_spaces_are_found_whole_on_many_threads() {
    let (counters, scatter) = (Counters { most: 12 }, Scatter { bits: 19 });
    for threads in THREADS {
        let found = explored(&counters, &on(threads));
        assert_eq!(found.states(), counters.states());
        assert_eq!(found.transitions, counters.transitions());
        let found = explored(&scatter, &on(threads));
        assert_eq!(found.states(), scatter.states());
        assert_eq!(found.transitions, scatter.transitions());
    }
}

#[test]
fn everything_found_is_the_same_at_any_thread_count() {
    let space = wide();
    let one = explored(&space, &on(1));
    assert!(one.states() > 10_000 && one.broken.checks() == 1 << 3 | 1 << 9);
    for threads in THREADS {
        let found = explored(&space, &on(threads));
        assert_eq!(found.levels, one.levels);
        assert_eq!(found.transitions, one.transitions);
        assert_eq!(found.broken, one.broken);
        assert_eq!(found.tally, one.tally);
        for check in [3, 9] {
            let paths = [&one, &found].map(|found| shortest(&space, found, check, threads));
            assert!(paths[0].is_some() && paths[0] == paths[1]);
        }
    }
}

/// States in the only variant of a space without variants.
fn first<const STATES: usize>(states: [u32; STATES]) -> Vec<(u32, u8)> {
    states.iter().map(|&state| (state, 0)).collect()
}

/// Check 0 is broken on entering 7 after three transitions, in two ways from three
/// states; check 1 after four.
fn two_checks() -> Drawn {
    Drawn::breaking(&[
        (0, 2, 0),
        (0, 1, 0),
        (1, 5, 0),
        (2, 5, 0),
        (2, 4, 0),
        (5, 7, 1),
        (4, 7, 1),
        (4, 8, 0),
        (7, 9, 0b11),
        (8, 9, 0b10),
    ])
}

#[test]
fn a_check_is_broken_at_the_least_depth_with_the_count_there() {
    let found = explored(&two_checks(), &on(2));
    let first = found.broken.get(0).expect("check 0 is broken");
    assert_eq!(
        first,
        Break {
            depth: 3,
            transitions: 2
        }
    );
    let second = found.broken.get(1).expect("check 1 is broken");
    assert_eq!(
        second,
        Break {
            depth: 4,
            transitions: 2
        }
    );
    assert_eq!(found.broken.get(2), None);
    assert_eq!(found.ended, Ended::Whole);
}

#[test]
fn the_shortest_path_is_the_smallest_of_the_shortest_backwards() {
    let space = two_checks();
    let found = explored(&space, &on(2));
    for threads in THREADS {
        // Of 4 and 5, which both enter 7, the smaller; it has one predecessor.
        let path = shortest(&space, &found, 0, threads).expect("check 0 is broken");
        assert_eq!(path.states, first([0, 2, 4, 7]));
        let path = shortest(&space, &found, 1, threads).expect("check 1 is broken");
        assert_eq!(path.states, first([0, 2, 4, 7, 9]));
        assert_eq!(
            (path.len(), path.steps().last()),
            (4, Some((&(7, 0), &(9, 0))))
        );
    }
    assert_eq!(shortest(&space, &found, 2, 1), None);
}

#[test]
fn a_path_leads_to_any_reached_state() {
    let space = two_checks();
    let found = explored(&space, &on(2));
    let reached = found.reached.as_ref().expect("states are kept");
    let path = path_to(&space, reached, (5, 0), 2);
    // 1 and 2 both lead to 5: the smaller.
    assert_eq!(
        path,
        Some(Path {
            states: first([0, 1, 5])
        })
    );
    let start = path_to(&space, reached, (0, 0), 1).expect("it begins there");
    assert!(start.is_empty());
    assert_eq!(path_to(&space, reached, (3, 0), 1), None);
    assert_eq!(
        (reached.level_of(&8, 0), reached.level_of(&3, 0)),
        (Some(3), None)
    );
}

#[test]
fn it_stops_at_the_first_level_that_breaks_what_was_asked() {
    let space = two_checks();
    let stopped = |stop| explored(&space, &Options { stop, ..on(2) });
    let any = stopped(Stop::Any(0b11));
    assert_eq!(
        (any.ended, any.broken.checks(), any.depth()),
        (Ended::Broken, 0b01, 3)
    );
    let each = stopped(Stop::Each(0b11));
    assert_eq!((each.ended, each.broken.checks()), (Ended::Broken, 0b11));
    let other = stopped(Stop::Any(0b100));
    assert_eq!((other.ended, other.broken.checks()), (Ended::Whole, 0b11));
    assert!(shortest(&space, &any, 0, 2).is_some());
}

#[test]
fn a_limit_ends_it_before_the_level_that_would_pass_it_and_says_so() {
    let space = Counters { most: 3 };
    for threads in THREADS {
        let limited = |limits| {
            explored(
                &space,
                &Options {
                    limits,
                    ..on(threads)
                },
            )
        };
        let states = limited(Limits {
            states: Some(25),
            ..Limits::default()
        });
        assert_eq!(
            (states.ended, states.states()),
            (Ended::StateLimit, 1 + 5 + 15)
        );
        // Out of the first two levels only: five each.
        assert_eq!(states.transitions, 30);
        let reached = states.reached.as_ref().expect("states are kept");
        assert_eq!(reached.parts().flatten().count(), 21);
        let enough = limited(Limits {
            states: Some(1024),
            ..Limits::default()
        });
        assert_eq!(enough.ended, Ended::Whole);
        let depth = limited(Limits {
            depth: Some(4),
            ..Limits::default()
        });
        assert_eq!((depth.ended, depth.depth()), (Ended::DepthLimit, 4));
    }
}

#[test]
fn a_memory_limit_ends_it_at_the_same_level_at_any_thread_count() {
    let space = Counters { most: 12 };
    let limits = Limits {
        bytes: Some(2_000_000),
        ..Limits::default()
    };
    let one = explored(&space, &Options { limits, ..on(1) });
    assert_eq!(one.ended, Ended::MemoryLimit);
    assert!(one.states() > 10_000 && one.states() < space.states());
    for threads in THREADS {
        let found = explored(
            &space,
            &Options {
                limits,
                ..on(threads)
            },
        );
        assert_eq!((found.ended, &found.levels), (one.ended, &one.levels));
        assert_eq!(found.transitions, one.transitions);
    }
}

#[test]
fn an_interrupt_drops_the_level_under_way() {
    let flag = AtomicBool::new(true);
    let interrupt = Some(&flag);
    let found = explored(&Counters { most: 3 }, &Options { interrupt, ..on(2) });
    assert_eq!(
        (found.ended, found.states(), found.transitions),
        (Ended::Interrupted, 1, 0)
    );
}

fn compact(bits: u32, threads: usize) -> Options<'static> {
    Options {
        store: Store::Compact { bits, seed: 0 },
        ..on(threads)
    }
}

#[test]
fn hashes_of_64_bits_find_the_same_as_whole_states() {
    let (drawn, counters) = (wide(), Counters { most: 9 });
    for threads in THREADS {
        let (exact, hashed) = (
            explored(&drawn, &on(threads)),
            explored(&drawn, &compact(64, threads)),
        );
        assert_eq!(hashed.levels, exact.levels);
        assert_eq!(hashed.transitions, exact.transitions);
        assert_eq!((hashed.broken, hashed.tally), (exact.broken, exact.tally));
        assert!(exact.missed.is_none() && hashed.reached.is_none());
        let hashed = explored(&counters, &compact(64, threads));
        assert_eq!(hashed.states(), counters.states());
        // 10^5 states: 10^10 / 2 pairs among 2^64.
        let missed = hashed.missed.expect("a compact run says what it may miss");
        assert!((missed.chance() * 64_f64.exp2() / 5e9 - 1.0).abs() < 1e-4);
    }
}

#[test]
fn too_short_hashes_miss_about_as_many_states_as_they_say() {
    let space = Counters { most: 6 };
    let one = explored(&space, &compact(16, 1));
    let missed = (space.states() - one.states()) as f64;
    let expected = Missed::of(space.states(), 16).expected;
    assert!(
        missed > 0.7 * expected && missed < 1.3 * expected,
        "{missed}, not {expected}"
    );
    assert_eq!(one.missed.map(Missed::chance), Some(1.0));
    for threads in THREADS {
        let found = explored(&space, &compact(16, threads));
        assert_eq!(
            (found.levels, found.transitions),
            (one.levels.clone(), one.transitions)
        );
    }
}

#[test]
fn another_seed_misses_other_states() {
    let counts = [0, 1, 2].map(|seed| {
        let store = Store::Compact { bits: 16, seed };
        explored(&Counters { most: 6 }, &Options { store, ..on(2) }).levels
    });
    assert!(counts[0] != counts[1] && counts[1] != counts[2]);
}
