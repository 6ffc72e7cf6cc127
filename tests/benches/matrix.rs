//! How fast cells of the fault matrix are flown.
//!
//! `cargo bench -p mastwright-tests --bench matrix`. A plan is flown in part, evenly; the
//! figure is of this machine. The whole single-fault matrix is to take less than 60 s on
//! two cores.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use mastwright_core::Sequencer;
use mastwright_sim::campaign::plan::{self, Order, Plan};
use rayon::prelude::*;

/// One cell in so many is flown.
const PART: usize = 100;

fn main() {
    divan::main();
}

fn whole() -> Plan<Sequencer> {
    Plan::new(
        Order::default(),
        plan::missions().expect("missions are in order"),
    )
}

#[divan::bench(sample_count = 5)]
fn missions_flown_and_cells_listed() -> usize {
    whole().len()
}

#[divan::bench(sample_count = 5)]
fn one_cell_in_a_hundred_on_every_core(bencher: Bencher<'_, '_>) {
    let plan = whole();
    let cells = plan.len().div_ceil(PART);
    bencher.counter(ItemsCount::new(cells)).bench_local(|| {
        (0..cells).into_par_iter().for_each(|index| {
            black_box(plan.fly(index * PART));
        });
    });
}
