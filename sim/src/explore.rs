//! Exhaustive exploration of the real controller in an abstract world.
//!
//! A bench and training tool; not certified, not airworthy.

pub mod checks;
pub mod engine;
pub mod explored;
pub mod facts;
pub mod hands;
pub mod memory;
pub mod node;
mod outcome;
mod pack;
pub mod plant;
pub mod report;
pub mod sense;
pub mod space;
pub mod tally;
pub mod trouble;
pub mod watch;
