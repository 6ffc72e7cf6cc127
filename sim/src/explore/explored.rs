//! What can be explored: the real controller, or the real one tampered with.

use mastwright_core::sequencer::Sense;
use mastwright_core::{Config, Inputs, Outputs, Sequencer};

use super::engine::Packed;

/// A controller that can be explored: the real one, or the real one tampered with.
pub trait Explored: Clone + Send + Sync {
    /// What it remembers beside the real controller's memory.
    type Mind: Packed + Default;

    /// The limits it works with, given those it ought to.
    #[must_use]
    fn limits(config: &Config) -> Config {
        *config
    }

    /// The controller of a memory.
    fn recall(real: Sequencer, mind: Self::Mind) -> Self;

    /// Its memory.
    fn memory(&self) -> (Sequencer, Self::Mind);

    /// One tick.
    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs;

    /// Begins a tick: what its readings come to. Of those that come to the same and leave the
    /// same memory one is tried. A controller that was tampered with may make more of them, and
    /// is tried with all.
    fn sense(&mut self, _inputs: &Inputs, _config: &Config) -> Option<Sense> {
        None
    }
}

/// Nothing to remember.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NoMind;

impl Packed for NoMind {
    type Bytes = [u8; 0];

    fn to_bytes(&self) -> Self::Bytes {
        []
    }

    fn from_bytes(_bytes: &Self::Bytes) -> Self {
        Self
    }
}

impl Explored for Sequencer {
    type Mind = NoMind;

    fn recall(real: Sequencer, _mind: NoMind) -> Self {
        real
    }

    fn memory(&self) -> (Sequencer, NoMind) {
        (*self, NoMind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        Self::step(self, inputs, config)
    }

    fn sense(&mut self, inputs: &Inputs, config: &Config) -> Option<Sense> {
        Some(Self::sense(self, inputs, config))
    }
}
