//! Exhaustive exploration of the real controller in an abstract world.
//!
//! A bench and training tool; not certified, not airworthy.

pub mod bound;
pub mod cases;
pub mod checks;
pub mod engine;
pub mod explored;
pub mod facts;
pub mod hands;
pub mod lies;
pub mod memory;
pub mod node;
mod pack;
pub mod plant;
pub mod report;
mod scratch;
pub mod sense;
pub mod space;
pub mod tally;
mod tick;
pub mod told;
pub mod tried;
pub mod trouble;
pub mod watch;
pub mod way_out;
