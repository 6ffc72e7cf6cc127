//! How fast the controller steps, and the whole world around it.
//!
//! `cargo bench -p mastwright-tests --bench speed`. Figures are of this machine; what is
//! quoted is the ratio to real time (10 ms a tick), given as throughput.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use mastwright_core::{Config, Faults, Inputs, Sequencer};
use mastwright_sim::oracle::{Limits, Oracle};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
use mastwright_sim::world::World;

fn main() {
    divan::main();
}

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

/// Every tick's inputs of a whole emergency stow: all phases, weighed as they last.
fn inputs_of_an_emergency() -> Vec<Inputs> {
    let scenario = scenario("emergency-stow");
    let mut world = World::new(&scenario, scenario.seed);
    (0..scenario.ticks).map(|_| world.step().inputs).collect()
}

#[divan::bench]
fn controller_step(bencher: Bencher<'_, '_>) {
    let inputs = inputs_of_an_emergency();
    let config = Config::default();
    bencher
        .counter(ItemsCount::new(inputs.len()))
        .with_inputs(|| Sequencer::wake(Faults::empty(), &config))
        .bench_local_values(|mut sequencer| {
            for inputs in &inputs {
                black_box(sequencer.step(black_box(inputs), &config));
            }
            sequencer
        });
}

#[divan::bench(args = ["emergency-stow", "normal-flight"])]
fn whole_world_with_oracle(bencher: Bencher<'_, '_>, name: &str) {
    let scenario = scenario(name);
    bencher
        .counter(ItemsCount::new(scenario.ticks))
        .with_inputs(|| {
            (
                World::new(&scenario, scenario.seed),
                Oracle::new(&Limits::default()),
            )
        })
        .bench_local_values(|(mut world, mut oracle)| {
            for _ in 0..scenario.ticks {
                oracle.judge(world.step());
            }
            oracle.finish()
        });
}
