//! The sequencer against hand-made inputs.
