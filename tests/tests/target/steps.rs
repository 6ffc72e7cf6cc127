//! What the controller weighs, takes and answers, tick by tick.

use mastwright_sim::campaign::mission::MISSIONS;
use mastwright_sim::link::{Via, log};
use mastwright_sim::scenario::shipped::{LESSONS, SHIPPED};
use mastwright_tests::target::counts::Counts;
use mastwright_tests::target::figures::{Limits, STEP, Weights};
use mastwright_tests::target::flights::{self, FAULTY, Group, RANDOM, SEEDS};
use mastwright_tests::target::frames::frame;
use mastwright_tests::target::images::{self, Image};
use mastwright_tests::target::tools::{Compiler, Problem};

use super::{emulator, flight, ok, reached, tools};

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

#[test]
#[ignore = "needs the emulator"]
fn the_stack_that_is_measured_is_not_less_than_the_frame_of_the_step() {
    // A compiler that is installed is not asked for frames.
    let is_asked = matches!(tools().compiler, Compiler::Unpacked { .. });
    let frame = ok(frame(&flight(), STEP));
    assert_eq!(frame.is_some(), is_asked);
    let group = ok(flights::random(&mut [reached(Via::Files)], 100));
    let measured = group.counts.stack_of_step;
    println!("frame {frame:?}, measured {measured}");
    assert!(frame.is_none_or(|frame| frame > 100 && frame <= measured.into()));
}

/// Cells of the fault matrix here; the command for the figures flies more of them.
const CELLS: usize = 25;

/// Every step was measured, and none was out of its limits.
fn within_limits(counts: &Counts) {
    let limits = ok(Limits::read()).step;
    let measured: u64 = counts.steps.values().sum();
    assert_eq!(measured, counts.ticks);
    assert_eq!(counts.barked_after, 0, "the watchdog barked in between");
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

/// The flights of a group are done, and every figure is in its limits.
fn flown(flights: usize, group: Result<Group, Problem>) -> Group {
    let group = ok(group);
    told(&group);
    assert_eq!(group.flights, flights);
    within_limits(&group.counts);
    // Where a fault stops or delays readings, the board's own sampling comes to others.
    assert!(
        group.counts.sampled * 10 > group.counts.ticks * 9,
        "{group:?}"
    );
    group
}

#[test]
#[ignore = "needs the emulator"]
fn every_shipped_scenario_is_flown_alike_on_host_and_target_to_its_end() {
    let group = flown(
        SHIPPED.len(),
        flights::scenarios(&mut [reached(Via::Files)]),
    );
    assert!(group.resets > 0);
    assert!(group.counts.ticks > 300_000);
}

#[test]
#[ignore = "needs the emulator"]
fn every_shipped_lesson_is_flown_alike_on_host_and_target_to_its_end() {
    flown(LESSONS.len(), flights::lessons(&mut [reached(Via::Files)]));
}

#[test]
#[ignore = "needs the emulator"]
fn missions_and_cells_of_the_fault_matrix_are_flown_alike_on_host_and_target() {
    let mut boards = [reached(Via::Files)];
    flown(MISSIONS.len(), flights::faultless(&mut boards));
    flown(CELLS, flights::cells(&mut boards, CELLS));
}

#[test]
#[ignore = "needs the emulator"]
fn random_missions_with_faults_are_flown_alike_on_host_and_target() {
    let group = ok(flights::faulty(&mut [reached(Via::Files)], FAULTY));
    told(&group);
    within_limits(&group.counts);
}

#[test]
#[ignore = "needs the emulator"]
fn random_readings_are_answered_alike_on_host_and_target_through_power_cuts() {
    for (via, ticks) in [(Via::Port, 5_000), (Via::Files, RANDOM)] {
        let group = ok(flights::random(&mut [reached(via)], ticks));
        told(&group);
        within_limits(&group.counts);
        assert_eq!(group.counts.ticks, ticks * SEEDS.len() as u64);
        assert!(group.resets > 0);
    }
}

#[test]
#[ignore = "needs the emulator"]
fn the_targets_log_tells_what_the_controller_did_in_words() {
    let mut boards = [emulator()];
    ok(flights::random(&mut boards, 500));
    let lines = ok(log::decode(&flight(), &boards[0].log().bytes()));
    assert_eq!(lines.first().map(|line| &*line.words), Some("started"));
    let latched = |line: &log::Line| line.words.contains("Latched") && line.level == "info";
    assert!(lines.iter().any(latched), "{lines:?}");
    assert!(lines.iter().any(|line| line.tick > 0));
}
