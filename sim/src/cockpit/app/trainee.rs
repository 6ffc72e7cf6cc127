//! A screen that a trainer sits beside: the faults are the trainer's.

use super::App;
use crate::cockpit::keys::View;

impl App {
    /// Hides the faults until the end, and takes none: the trainer does.
    pub const fn hide_faults(&mut self) {
        self.trainee = true;
        self.locked = true;
    }

    /// Why a view is not for this trainee now.
    pub(super) fn withheld(&self, view: View) -> Option<&'static str> {
        if !self.locked {
            return None;
        }
        match view {
            View::Faults | View::ClearFaults | View::Trainee => {
                Some("the faults are the trainer's")
            }
            View::Debrief if self.desk.frame().tick < self.desk.last_tick() => {
                Some("the debrief comes at the end of the flight: it names the faults")
            }
            View::Debrief
            | View::Compare
            | View::Help
            | View::Restart
            | View::Quit
            | View::LeaveNow => None,
        }
    }
}
