//! Where scenarios meet the fault catalogue.

use crate::scenario::injection::Injection;

/// The part of an ordered fault that was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What fails.
    Target,
    /// How.
    Kind,
    /// How much.
    Strength,
    /// For how long.
    Duration,
    /// How often it comes and goes.
    Cycle,
}

/// Why an ordered fault is refused, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaultRefusal {
    /// What was refused.
    pub part: Part,
    /// Why.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

/// Checks an ordered fault against the catalogue.
///
/// # Errors
/// The part that the catalogue does not know or its target cannot have.
pub fn check_fault(_injection: &Injection) -> Result<(), FaultRefusal> {
    Ok(())
}

/// The requirements judged in a run: id and statement.
pub fn requirements() -> Vec<(&'static str, &'static str)> {
    (1..=22).map(|n| (ID[n - 1], "statement")).collect()
}

/// The hazards judged in a run: id and statement.
pub fn hazards() -> Vec<(&'static str, &'static str)> {
    Vec::new()
}

/// Every fault that can be ordered: its target and kind, and what it does.
pub fn fault_rows() -> Vec<(String, String)> {
    Vec::new()
}

/// The world of a scenario, ready for its first tick.
///
/// # Errors
/// When no such world can be made.
pub fn take_off(_scenario: &crate::scenario::Scenario, _seed: u64) -> miette::Result<Nowhere> {
    Err(miette::miette!("this build has no world to fly in"))
}

/// A flight that cannot exist.
#[derive(Debug)]
pub enum Nowhere {}

impl crate::flight::Flight for Nowhere {
    fn step(&mut self) {
        match *self {}
    }
    fn frame(&self) -> &crate::frame::Frame {
        match *self {}
    }
    fn begun(&self) -> crate::flight::Begun {
        match *self {}
    }
    fn verdict(&self) -> crate::flight::Verdict {
        match *self {}
    }
}

const ID: [&str; 22] = [
    "SR-01", "SR-02", "SR-03", "SR-04", "SR-05", "SR-06", "SR-07", "SR-08", "SR-09", "SR-10",
    "SR-11", "SR-12", "SR-13", "SR-14", "SR-15", "SR-16", "SR-17", "SR-18", "SR-19", "SR-20",
    "SR-21", "SR-22",
];

/// The ways out of a state.
pub fn ways_out(_state: mastwright_core::State) -> &'static [mastwright_core::state::WayOut] {
    &[]
}
