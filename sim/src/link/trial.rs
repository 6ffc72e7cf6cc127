//! Whole runs in lock step.

use mastwright_core::Config;

use super::line::Line;
use super::mirror::{Failure, Mirror, Summary};
use super::random::Random;
use crate::scenario::Scenario;
use crate::world::World;

/// Flies `scenario` with the controller here and lets the target take every tick too.
///
/// # Errors
/// The first difference, or what happened to the line.
pub fn lock_step(scenario: &Scenario, seed: u64, line: impl Line) -> Result<Summary, Failure> {
    let mut mirror = Mirror::begin(line, &scenario.config)?;
    let mut world = World::new(scenario, seed);
    for _ in 0..scenario.ticks {
        let frame = world.step();
        mirror.tick(frame.tick, frame.powered, &frame.inputs)?;
    }
    mirror.finish()
}

/// Takes `ticks` ticks of random readings, and cuts power before each of the ticks in
/// `cuts`, which rise.
///
/// # Errors
/// The first difference, or what happened to the line.
pub fn random_ticks(
    seed: u64,
    ticks: u64,
    cuts: &[u64],
    line: impl Line,
) -> Result<Summary, Failure> {
    let mut mirror = Mirror::begin(line, &Config::default())?;
    let mut random = Random::new(seed);
    let mut cuts = cuts.iter().peekable();
    for tick in 0..ticks {
        while cuts.next_if(|cut| **cut == tick).is_some() {
            mirror.cut_power(tick)?;
        }
        mirror.tick(tick, true, &random.tick())?;
    }
    mirror.finish()
}

/// `count` ticks below `ticks` at which power is cut, by seed, in rising order.
#[must_use]
pub fn random_cuts(seed: u64, ticks: u64, count: usize) -> Vec<u64> {
    let mut random = Random::new(seed);
    let mut cuts: Vec<u64> = (0..count).map(|_| random.below(ticks)).collect();
    cuts.sort_unstable();
    cuts
}
