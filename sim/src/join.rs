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
    vec![("SR-06", "placeholder"), ("SR-07", "placeholder")]
}
