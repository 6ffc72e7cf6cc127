//! A fault as a scenario orders it: what fails, and when it begins.

use super::Cue;
use crate::join::Fault;

/// A fault ordered by a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Injection {
    /// When it begins.
    pub cue: Cue,
    /// What fails, how, how much and for how long.
    pub fault: Fault,
}
