//! The cockpit in a terminal: see it, break it, rewind it, teach it.
//!
//! It reads and tells; it decides nothing. A bench and training tool; not certified,
//! not airworthy.

pub mod screen;
