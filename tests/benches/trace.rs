//! What traces cost: recording, size, replay, opening at an instant.
//!
//! `cargo bench -p mastwright-tests --bench trace`. Figures are of this machine; what is
//! quoted are ratios: recorded to not recorded, and to real time (10 ms a tick).

use std::path::Path;

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use mastwright_sim::flight::Flight;
use mastwright_sim::join::take_off;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
use mastwright_sim::trace::{Header, Recorded, Trace, replay};
use mastwright_tests::recording::record_at;

/// An hour at 10 ms.
const HOUR: u64 = 360_000;

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = hour(&folder.path().join("hour.mwt"));
    println!("an hour of normal-flight: {bytes} bytes (limit 20 MiB)");
    paid_in_the_tick();
    divan::main();
}

/// What a flight itself pays for being recorded, in processor time of its own thread: a
/// figure that other work on the machine does not spoil. The packing thread is apart, and so
/// is the wait for the file at the end, which is in the time of a whole command
/// (`docs/traces.md`).
fn paid_in_the_tick() {
    let scenario = scenario("normal-flight");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hour.mwt");
    let header = Header::new(&scenario, scenario.seed, "a benchmark");
    let (mut flown, mut recorded) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..5 {
        let flight = take_off(&scenario, scenario.seed);
        flown = flown.min(processor_time(|| fly(flight)));
        let flight = take_off(&scenario, scenario.seed);
        let flight = Recorded::new(flight, &path, &header).expect("a new file");
        recorded = recorded.min(processor_time(|| fly(flight).finish().expect("kept")));
    }
    println!(
        "processor time of the flying thread: {flown:.3} s, recorded {recorded:.3} s: {:+.1} % \
         (limit 10 %)",
        100.0 * (recorded / flown - 1.0)
    );
}

/// Processor time this thread takes for `work`, s; nothing where the system does not say.
fn processor_time<T>(work: impl FnOnce() -> T) -> f64 {
    let now = || {
        let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
        let nanoseconds = told
            .split(' ')
            .next()
            .and_then(|number| number.parse().ok());
        nanoseconds.unwrap_or(f64::NAN) * 1e-9
    };
    let before = now();
    black_box(work());
    now() - before
}

fn fly<F: Flight>(mut flight: F) -> F {
    for _ in 0..HOUR {
        flight.step();
    }
    flight
}

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

#[divan::bench(sample_count = 10)]
fn hour_flown(bencher: Bencher<'_, '_>) {
    let scenario = scenario("normal-flight");
    bencher
        .counter(ItemsCount::new(HOUR))
        .bench_local(|| fly(take_off(&scenario, scenario.seed)));
}

#[divan::bench(sample_count = 10)]
fn hour_flown_and_recorded(bencher: Bencher<'_, '_>) {
    let scenario = scenario("normal-flight");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hour.mwt");
    let header = Header::new(&scenario, scenario.seed, "a benchmark");
    bencher.counter(ItemsCount::new(HOUR)).bench_local(|| {
        let flight = take_off(&scenario, scenario.seed);
        let flight = Recorded::new(flight, &path, &header).expect("a new file");
        fly(flight).finish().expect("kept")
    });
}

fn hour(path: &Path) -> u64 {
    record_at(path, &scenario("normal-flight"), HOUR);
    std::fs::metadata(path).expect("kept").len()
}

#[divan::bench(sample_count = 10)]
fn hour_replayed(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hour.mwt");
    hour(&path);
    bencher.counter(ItemsCount::new(HOUR)).bench_local(|| {
        let trace = Trace::open(&path).expect("a trace");
        let replayed = replay(&trace).expect("it begins");
        assert!(replayed.is_identical());
        replayed
    });
}

#[divan::bench(sample_count = 10)]
fn hour_opened_at_its_middle(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("hour.mwt");
    let bytes = hour(&path);
    bencher.counter(BytesCount::new(bytes)).bench_local(|| {
        let trace = Trace::open(&path).expect("a trace");
        black_box(trace.at(HOUR / 2).expect("it is there"))
    });
}
