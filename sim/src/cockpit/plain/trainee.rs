//! A line-by-line session that a trainer sits beside.

use std::io::Write;

use super::Plain;
use crate::cockpit::desk::Desk;
use crate::cockpit::trainer::{self, Trainee, Word};

impl<W: Write> Trainee for Plain<W> {
    fn flown(&self) -> &Desk {
        &self.desk
    }

    fn heed(&mut self, order: &str) -> Word {
        let heeded = trainer::heed(&mut self.desk, order);
        if let Some(text) = heeded.tell {
            // Output that is gone shows with the next tick, which is told with an answer.
            let _ = self.say(&format!("the trainer: {text}"));
        }
        heeded.word
    }
}
