//! One tick on its way from the flight to the packing thread.

use mastwright_core::interlock::Conditions;
use mastwright_core::outputs::{Drives, Indications, Outputs};
use mastwright_core::{Inputs, Sequencer};

use super::columns::Row;
use crate::controls::Controls;
use crate::frame::Frame;
use crate::plant::truth::Truth;

/// One tick, but for the lists of its outputs, which are empty in most: plain data, so that
/// many are copied at once.
#[derive(Clone, Copy, Debug, Default)]
#[repr(align(64))]
pub(super) struct Sample {
    pub(super) tick: u64,
    powered: bool,
    heat_warning: bool,
    events_lost: u8,
    controls: Controls,
    truth: Truth,
    inputs: Inputs,
    drives: Drives,
    indications: Indications,
    proven: Conditions,
    /// The controller after the tick.
    pub(super) sequencer: Sequencer,
}

impl Sample {
    /// Takes a tick in place, and the controller as it is after it.
    #[inline]
    pub(super) fn take(&mut self, frame: &Frame, sequencer: &Sequencer) {
        let Frame {
            tick,
            powered,
            controls,
            truth,
            inputs,
            outputs,
            heat_warning,
        } = frame;
        let Outputs {
            drives,
            indications,
            proven,
            denials: _,
            events: _,
            events_lost,
        } = outputs;
        self.tick = *tick;
        self.powered = *powered;
        self.heat_warning = *heat_warning;
        self.events_lost = *events_lost;
        self.controls = *controls;
        self.truth = *truth;
        self.inputs = *inputs;
        self.drives = *drives;
        self.indications = *indications;
        self.proven = *proven;
        self.sequencer = *sequencer;
    }

    /// What is led over of it.
    pub(super) const fn row(&mut self) -> Row<'_> {
        Row {
            powered: &mut self.powered,
            heat_warning: &mut self.heat_warning,
            controls: &mut self.controls,
            inputs: &mut self.inputs,
            truth: &mut self.truth,
        }
    }

    /// Its outputs, their lists empty.
    pub(super) fn outputs(&self) -> Outputs {
        Outputs {
            drives: self.drives,
            indications: self.indications,
            proven: self.proven,
            events_lost: self.events_lost,
            ..Outputs::default()
        }
    }

    /// True when these are its outputs, their lists empty.
    pub(super) fn answers(&self, outputs: &Outputs) -> bool {
        outputs.denials.is_empty()
            && outputs.events.is_empty()
            && self.drives == outputs.drives
            && self.indications == outputs.indications
            && self.proven == outputs.proven
            && self.events_lost == outputs.events_lost
    }
}
