//! How fast the explorer is beside stateright: on spaces that cost nothing to expand, and on
//! the real one, that of the real controller with nothing broken, or one of five sensors.
//!
//! `cargo bench -p mastwright-tests --bench explore`, all on two threads. The figures are
//! transitions per second; the number of states of each made-up space is counted in
//! [`mastwright_tests::spaces`], that of the real one is what both engines must find.
//! stateright keeps hashes of 64 bits, as our compact mode does, so the exact mode is
//! measured beside a peer that keeps less. Memory is what `/usr/bin/time -v` says of a run
//! of one bench alone (`-- aircraft::exact`).

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::engine::{Ended, Options, Space, Store, explore};
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_tests::spaces::adapter::Adapter;
use mastwright_tests::spaces::{Counters, Scatter};
use stateright::{Checker, Model};

/// All are given the same.
const THREADS: usize = 2;

fn main() {
    divan::main();
}

fn ours<S: Space>(bencher: Bencher<'_, '_>, space: &S, store: Store, expected: (u64, u64)) {
    let options = Options {
        threads: THREADS,
        store,
        ..Options::default()
    };
    bencher
        .counter(ItemsCount::new(expected.1))
        .bench_local(|| {
            let found = explore(space, &options, &mut |_| ()).expect("no file is in use");
            assert_eq!(found.ended, Ended::Whole);
            assert_eq!((found.states(), found.transitions), expected);
            found
        });
}

/// Its states are kept as hashes of 64 bits: what our compact mode keeps. It counts the
/// initial states among those that it generates.
fn theirs<S>(bencher: Bencher<'_, '_>, space: S, expected: (u64, u64))
where
    S: Space + Clone + Send + 'static,
{
    bencher
        .counter(ItemsCount::new(expected.1))
        .bench_local(|| {
            let model = Adapter(space.clone());
            let checker = model.checker().threads(THREADS).spawn_bfs().join();
            assert_eq!(checker.unique_state_count() as u64, expected.0);
            let mut initial = 0;
            space.initial(&mut |_, variants| initial += variants.len());
            assert_eq!(checker.state_count() as u64, initial + expected.1);
            black_box(checker)
        });
}

const COMPACT: Store = Store::Compact { bits: 64, seed: 0 };

macro_rules! benches {
    ($name:ident, $space:expr, $sizes:expr) => {
        mod $name {
            use super::*;

            #[divan::bench(args = $sizes, sample_count = 1, sample_size = 1)]
            fn exact(bencher: Bencher<'_, '_>, size: u32) {
                let space = $space(size);
                ours(
                    bencher,
                    &space,
                    Store::Exact,
                    (space.states(), space.transitions()),
                );
            }

            #[divan::bench(args = $sizes, sample_count = 1, sample_size = 1)]
            fn compact(bencher: Bencher<'_, '_>, size: u32) {
                let space = $space(size);
                ours(
                    bencher,
                    &space,
                    COMPACT,
                    (space.states(), space.transitions()),
                );
            }

            #[divan::bench(args = $sizes, sample_count = 1, sample_size = 1)]
            fn stateright(bencher: Bencher<'_, '_>, size: u32) {
                let space = $space(size);
                theirs(bencher, space, (space.states(), space.transitions()));
            }
        }
    };
}

benches!(
    counters,
    |most: u32| Counters { most: most as u8 },
    [14, 24, 34]
);
benches!(scatter, |bits: u32| Scatter { bits }, [20, 23, 25]);

/// The real controller in the abstract world; see `docs/exploration.md`.
mod aircraft {
    use super::*;

    /// What may break, and the states and transitions of the whole space then.
    #[derive(Clone, Copy)]
    struct Breaks(&'static [Trouble], (u64, u64));

    impl std::fmt::Display for Breaks {
        fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            match self.0.len() {
                0 => f.write_str("nothing broken"),
                many => write!(f, "one of {many} broken"),
            }
        }
    }

    const SPACES: [Breaks; 2] = [
        Breaks(&[], (195_880, 7_413_060)),
        Breaks(
            &[
                Trouble::AngleA,
                Trouble::AngleB,
                Trouble::ShaftSpeed,
                Trouble::ThrottleA,
                Trouble::MastCurrent,
            ],
            (958_237, 40_598_176),
        ),
    ];

    fn space(Breaks(among, _): Breaks) -> Aircraft<Sequencer> {
        Aircraft::new(&Config::default(), among.len().min(1), among.to_vec())
    }

    #[divan::bench(args = SPACES, sample_count = 1, sample_size = 1)]
    fn exact(bencher: Bencher<'_, '_>, breaks: Breaks) {
        ours(bencher, &space(breaks), Store::Exact, breaks.1);
    }

    #[divan::bench(args = SPACES, sample_count = 1, sample_size = 1)]
    fn compact(bencher: Bencher<'_, '_>, breaks: Breaks) {
        ours(bencher, &space(breaks), COMPACT, breaks.1);
    }

    #[divan::bench(args = SPACES, sample_count = 1, sample_size = 1)]
    fn stateright(bencher: Bencher<'_, '_>, breaks: Breaks) {
        theirs(bencher, space(breaks), breaks.1);
    }
}
