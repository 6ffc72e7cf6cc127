//! Explores a [`Space`] exhaustively, and finds what a search for proof asks of it.
//!
//! Responsibilities:
//! 1. Reach every state of a space once, level by level, on all cores.
//! 2. Say which checks are broken, and at which least number of transitions.
//! 3. Give the same answer at any thread count and in any run; only time, rate and
//!    memory are of the run.

pub mod space;

pub use space::{Packed, Space, Tally};
