//! The exploration of the real controller, as far as it goes in a test.

use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::checks::CHECKS;
use mastwright_sim::explore::engine::{Ended, Found, Limits, Options, explore, shortest};
use mastwright_sim::explore::report::retrace::retrace;
use mastwright_sim::explore::report::steer::steer;
use mastwright_sim::explore::report::story::Story;
use mastwright_sim::explore::report::unreached::undocumented;
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::scenario::Scenario;

type Space = Aircraft<Sequencer>;

/// How far the test goes.
const DEPTH: u32 = 9;
/// Checks that are known to be broken as far as the test goes. The aim is none.
const OPEN: &[&str] = &[];

fn space(among: &[Trouble]) -> Space {
    Aircraft::new(&Config::default(), among.len().min(1), among.to_vec())
}

fn explored(space: &Space, threads: usize, depth: u32) -> Found<Space> {
    let options = Options {
        threads,
        limits: Limits {
            depth: Some(depth),
            ..Limits::default()
        },
        ..Options::default()
    };
    explore(space, &options, &mut |_| {}).expect("no file is used")
}

#[test]
fn with_nothing_broken_no_check_breaks_and_two_threads_find_what_one_finds() {
    let space = space(&[]);
    let one = explored(&space, 1, DEPTH);
    let two = explored(&space, 2, DEPTH);
    assert!(matches!(one.ended, Ended::DepthLimit | Ended::Whole));
    assert_eq!(one.levels, two.levels);
    assert_eq!(one.transitions, two.transitions);
    assert_eq!(one.broken, two.broken);
    assert_eq!(one.tally, two.tally);
    let broken = one.broken.iter().map(|(bit, _)| CHECKS[bit as usize].id);
    let broken: Vec<&str> = broken.collect();
    assert_eq!(broken, OPEN);
    assert_eq!(undocumented(&one.tally), [] as [&str; 0]);
}

#[test]
fn every_counterexample_can_be_told_and_steered() {
    let space = space(&[Trouble::BladeTurned]);
    let found = explored(&space, 2, 3);
    let hazard = CHECKS.iter().position(|check| check.id == "HZ-1");
    let hazard = u32::try_from(hazard.expect("a check of the blade")).expect("a small number");
    let path = shortest(&space, &found, hazard, 2).expect("a blade turned by hand strikes");
    let (begin, legs) = retrace(&space, &path, hazard).expect("each step can be told");
    assert_eq!(legs.len(), path.len());
    let story = Story::of(hazard, &begin, &legs);
    let breaks = story
        .steps
        .iter()
        .flatten()
        .find(|line| line.who == "breaks");
    assert_eq!(breaks.map(|line| line.what.as_str()), Some("blade-turned"));
    let text = steer(story.id, &begin, &legs).text;
    let scenario = Scenario::parse("story.toml", &text).expect("a scenario in order");
    assert_eq!(scenario.faults.len(), 1);
}
