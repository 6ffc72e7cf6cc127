//! Exhaustive exploration.

pub mod memory;
