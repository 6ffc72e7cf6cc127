//! The controller's unit: the controller, its journal and their memory, with or without
//! supply.

use mastwright_core::journal::{Journal, Stamp};
use mastwright_core::{Config, Inputs, Outputs};

use super::Controller;
use crate::memory::Memory;

/// A controller with what it needs to live through a loss of power.
#[derive(Clone, Debug)]
pub struct Unit<C> {
    config: Config,
    controller: C,
    journal: Journal,
    memory: Memory,
    /// Ticks since the controller last woke; none while it has no supply.
    awake: Option<u32>,
}

impl<C: Controller> Unit<C> {
    /// A unit that has just been given power for the first time: its memory is blank.
    #[must_use]
    pub fn new(config: &Config) -> Self {
        let mut memory = Memory::default();
        let (journal, recovered) = Journal::recover(&mut memory);
        Self {
            config: *config,
            controller: C::wake(recovered.retained.faults, config),
            journal,
            memory,
            awake: Some(0),
        }
    }

    /// The controller, as it was when it last had its supply.
    #[must_use]
    pub const fn controller(&self) -> &C {
        &self.controller
    }

    /// What outlives a loss of power.
    #[must_use]
    pub const fn memory(&self) -> &Memory {
        &self.memory
    }

    /// A tick without supply: the outputs fall to their fail-safe values.
    pub fn rest(&mut self) -> Outputs {
        self.awake = None;
        Outputs::default()
    }

    /// A tick with supply: wakes if it had none, flips these bits of the controller's
    /// memory, lets it answer, and lets its journal keep what must not be forgotten.
    pub fn answer(&mut self, inputs: &Inputs, flips: &[u32]) -> Outputs {
        let awake = match self.awake {
            Some(ticks) => ticks,
            None => {
                let (journal, recovered) = Journal::recover(&mut self.memory);
                self.journal = journal;
                self.controller = C::wake(recovered.retained.faults, &self.config);
                0
            }
        };
        self.awake = Some(awake.saturating_add(1));
        for bit in flips {
            self.controller = self.controller.with_bit_flipped(*bit);
        }
        let outputs = self.controller.step(inputs, &self.config);
        self.journal.note(Stamp::new(awake), &outputs);
        // The memory of the simulation takes every byte; what a real one does when it
        // does not is tested with the journal.
        if self.journal.is_due() {
            let _ = self.journal.save(&mut self.memory);
        }
        outputs
    }
}
