//! Telling what an exploration found.
//!
//! Responsibilities:
//! 1. [`summary`] counts: states, transitions, how often each check was put to the test,
//!    what was never reached.
//! 2. [`retrace`] says how each step of a counterexample came about; [`story`] tells it,
//!    only what changed in each step.
//! 3. [`steer`] writes a scenario that leads the full world along the same way, and
//!    [`flown`] flies it and says whether it comes to the same.

pub mod answers;
pub mod flown;
pub mod retrace;
pub mod stand_in;
pub mod steer;
pub mod story;
pub mod summary;
pub mod unreached;
mod words;
