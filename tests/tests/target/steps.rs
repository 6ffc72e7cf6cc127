//! What the controller weighs, takes and answers, tick by tick.

use mastwright_sim::link::log;
use mastwright_tests::target::counts::Counts;
use mastwright_tests::target::figures::{self, Group, Limits, Weights};
use mastwright_tests::target::images::{self, Image};

use super::{emulator, flight, ok, tools};

#[test]
#[ignore = "needs a compiler for the target"]
fn no_path_to_a_panic_is_left_and_a_path_would_be_seen() {
    // Images that do not link when one is left, and they are built.
    ok(images::build(tools(), Image::Step, &[]));
    ok(images::build(tools(), Image::Whole, &[]));
    ok(images::build(tools(), Image::Example, &[]));
    let refused = images::build(tools(), Image::Step, &["panics"]);
    let why = refused.expect_err("a step that can panic must not link");
    assert!(why.contains("a_path_to_a_panic_is_left"), "{why}");
}

#[test]
#[ignore = "needs a compiler for the target"]
fn the_linter_finds_nothing_in_the_images() {
    ok(images::lint(tools()));
}

#[test]
#[ignore = "needs a compiler for the target"]
fn the_controller_and_its_image_weigh_less_than_their_limits() {
    let limits = ok(Limits::read());
    let weights = ok(Weights::of_images(tools()));
    println!("{weights:#?}");
    assert!(weights.core.flash < limits.core.flash);
    assert!(weights.core.ram < limits.core.ram);
    assert!(weights.image.flash < limits.image.flash);
    assert!(weights.image.ram < limits.image.ram);
    // A weight that is none would pass all of the above.
    assert!(weights.step.flash > 1_000, "{weights:?}");
    assert!(weights.core.ram > 1_000, "{weights:?}");
}

/// Every step was measured, and none was out of its limits.
fn within_limits(counts: &Counts) {
    let limits = ok(Limits::read()).step;
    let measured: u64 = counts.steps.values().sum();
    assert_eq!(measured, counts.ticks);
    assert!(counts.median() > 100, "{counts:?}");
    assert!(counts.worst() < limits.instructions, "{}", counts.worst());
    assert!(counts.stack_of_step > 100, "{}", counts.stack_of_step);
    assert!(
        counts.stack_of_step < limits.stack,
        "{}",
        counts.stack_of_step
    );
}

fn told(group: &Group) {
    println!(
        "{}: {} flights, {} ticks, {} power cuts, {} sampled alike, {} to {} instructions",
        group.name,
        group.flights,
        group.counts.ticks,
        group.resets,
        group.counts.sampled,
        group.counts.median(),
        group.counts.worst()
    );
}

#[test]
#[ignore = "needs the emulator"]
fn every_shipped_scenario_that_is_short_is_flown_alike_on_host_and_target() {
    let mut emulator = emulator();
    let group = ok(figures::short(&mut emulator));
    told(&group);
    within_limits(&group.counts);
    assert!(group.counts.ticks > 50_000);
    // Without faults that delay readings, the board's own sampling comes to the same.
    assert!(
        group.counts.sampled * 10 > group.counts.ticks * 9,
        "{group:?}"
    );
}

#[test]
#[ignore = "needs the emulator"]
fn random_readings_are_answered_alike_on_host_and_target_through_power_cuts() {
    let mut emulator = emulator();
    let group = ok(figures::random(&mut emulator));
    told(&group);
    within_limits(&group.counts);
    assert!(group.counts.ticks >= figures::RANDOM);
    assert!(group.resets > 0);
}

#[test]
#[ignore = "needs the emulator"]
fn the_targets_log_tells_what_the_controller_did_in_words() {
    let mut emulator = emulator();
    ok(figures::random(&mut emulator));
    let lines = ok(log::decode(&flight(), &emulator.log().bytes()));
    assert_eq!(lines.first().map(|line| &*line.words), Some("started"));
    let latched = |line: &log::Line| line.words.contains("Latched") && line.level == "info";
    assert!(lines.iter().any(latched), "{lines:?}");
    assert!(lines.iter().any(|line| line.tick > 0));
}
