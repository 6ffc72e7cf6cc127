//! The physical truth, model by model.

pub mod truth;
