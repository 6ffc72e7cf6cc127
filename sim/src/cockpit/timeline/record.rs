//! A branch that was flown, kept as a trace.

use super::{Order, Timeline};
use crate::flight::Flight;
use crate::trace::{Note, Noted, Recorder};

impl Timeline {
    /// Goes through this branch from the earliest tick to its end and hands every tick to
    /// `recorder`, with what was ordered; afterwards its end is shown. Of a branch whose
    /// beginning has been forgotten ([`Timeline::earliest`]) the trace has no beginning
    /// either, and cannot be replayed.
    pub fn record(&mut self, recorder: &mut Recorder) {
        self.seek(0);
        for given in &self.orders {
            let tick = u32::try_from(given.at + 1).unwrap_or(u32::MAX);
            if let Some(noted) = noted(&given.order) {
                recorder.note(Note { tick, noted });
            }
        }
        recorder.tick(self.present.world(), self.present.flight().begun());
        while self.now() < self.end() {
            self.step();
            recorder.tick(self.present.world(), self.present.flight().begun());
        }
    }
}

/// An order as it is noted; the recorder itself notes a fault that begins.
fn noted(order: &Order) -> Option<Noted> {
    match order {
        Order::Do(deed) => Some(Noted::Deed {
            words: deed.to_string(),
        }),
        Order::Clear(number) => Some(Noted::Ended {
            number: u32::try_from(*number).unwrap_or(u32::MAX),
        }),
        Order::ClearAll => Some(Noted::AllEnded),
        Order::Inject(_) | Order::Arm(_) | Order::Disarm(_) => None,
    }
}
