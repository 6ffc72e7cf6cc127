//! The controller on a target: what builds its images, runs them and measures them.
//!
//! Responsibilities:
//! 1. Find what builds and runs an image, and say which way was found ([`tools`]).
//! 2. Build the images of `tests/target` ([`images`]).
//! 3. Read from an image what it weighs and whether it can panic ([`weight`]).

pub mod images;
pub mod tools;
