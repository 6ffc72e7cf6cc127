//! The top.
use crate::{Config, Inputs, Outputs};

/// The sequencer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Sequencer {}

impl Sequencer {
    /// One tick.
    pub fn step(&mut self, _inputs: &Inputs, _config: &Config) -> Outputs {
        Outputs::default()
    }
}
