//! One tick on its way from the flight to the packing thread.

use mastwright_core::outputs::Outputs;
use mastwright_core::{Config, Faults, Sequencer};

use crate::frame::Frame;

/// One tick, as it is handed over from one processor to another: it begins with a line of
/// their caches.
#[derive(Clone, Debug)]
#[repr(align(64))]
pub(super) struct Sample {
    /// The tick as it was flown.
    pub(super) frame: Frame,
    /// The controller after the tick.
    pub(super) sequencer: Sequencer,
}

impl Sample {
    /// Of no tick.
    pub(super) fn blank() -> Self {
        Self {
            frame: Frame::default(),
            sequencer: Sequencer::wake(Faults::empty(), &Config::default()),
        }
    }

    /// Takes a tick in place: the controller as it is after it, and of lists only what is
    /// in them.
    #[inline]
    pub(super) fn take(&mut self, frame: &Frame, sequencer: &Sequencer) {
        self.frame.tick = frame.tick;
        self.frame.powered = frame.powered;
        self.frame.controls = frame.controls;
        self.frame.truth = frame.truth;
        self.frame.inputs = frame.inputs;
        self.frame.heat_warning = frame.heat_warning;
        copy(&frame.outputs, &mut self.frame.outputs);
        self.sequencer = *sequencer;
    }
}

/// Copies outputs in place.
#[inline]
fn copy(from: &Outputs, to: &mut Outputs) {
    to.drives = from.drives;
    to.indications = from.indications;
    to.proven = from.proven;
    to.events_lost = from.events_lost;
    to.denials.clear();
    to.events.clear();
    // The lists are as long as those they come from.
    let _ = to.denials.extend_from_slice(&from.denials);
    let _ = to.events.extend_from_slice(&from.events);
}
