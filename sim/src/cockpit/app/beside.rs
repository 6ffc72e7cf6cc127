//! Orders that a trainer gives beside the screen.

use super::{App, Over};
use crate::cockpit::desk::Desk;
use crate::cockpit::trainer::{self, Trainee, Word};

impl Trainee for App {
    fn flown(&self) -> &Desk {
        &self.desk
    }

    fn heed(&mut self, order: &str) -> Word {
        let heeded = trainer::heed(&mut self.desk, order);
        if let Some(text) = heeded.tell {
            // A text that covers a flight which moves on would not be true any more.
            if matches!(self.over, Over::Debrief { .. })
                || (self.over == Over::Briefing && self.desk.is_running())
            {
                self.over = Over::Nothing;
            }
            self.say(format!("the trainer: {text}"));
        }
        heeded.word
    }
}
