//! One tick on its way from the flight to the packing thread.

use mastwright_core::outputs::Outputs;
use mastwright_core::{Config, Faults, Inputs, Sequencer};

use crate::controls::Controls;
use crate::frame::Frame;
use crate::plant::truth::Truth;

/// One tick, as it is handed over from one processor to another.
///
/// In the order in which it stands here its large parts begin with lines of their caches,
/// and it fills as few of them as it can.
#[derive(Clone, Debug)]
#[repr(C, align(64))]
pub(super) struct Sample {
    truth: Truth,
    /// Ticks since the start.
    pub(super) tick: u64,
    inputs: Inputs,
    powered: bool,
    heat_warning: bool,
    controls: Controls,
    /// What the controller answered.
    pub(super) outputs: Outputs,
    /// The controller after the tick.
    pub(super) sequencer: Sequencer,
}

impl Sample {
    /// Of no tick.
    pub(super) fn blank() -> Self {
        let frame = Frame::default();
        Self {
            truth: frame.truth,
            tick: frame.tick,
            inputs: frame.inputs,
            powered: frame.powered,
            heat_warning: frame.heat_warning,
            controls: frame.controls,
            outputs: frame.outputs,
            sequencer: Sequencer::wake(Faults::empty(), &Config::default()),
        }
    }

    /// Takes a tick in place: the controller as it is after it, and of lists only what is
    /// in them.
    #[inline]
    pub(super) fn take(&mut self, frame: &Frame, sequencer: &Sequencer) {
        self.truth = frame.truth;
        self.tick = frame.tick;
        self.inputs = frame.inputs;
        self.powered = frame.powered;
        self.heat_warning = frame.heat_warning;
        self.controls = frame.controls;
        copy(&frame.outputs, &mut self.outputs);
        self.sequencer = *sequencer;
    }

    /// Gives its frame back.
    pub(super) fn give(&self, frame: &mut Frame) {
        frame.truth = self.truth;
        frame.tick = self.tick;
        frame.inputs = self.inputs;
        frame.powered = self.powered;
        frame.heat_warning = self.heat_warning;
        frame.controls = self.controls;
        copy(&self.outputs, &mut frame.outputs);
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
