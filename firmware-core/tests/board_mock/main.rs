//! The board on mock pins: sampling, order of switching, and what is left on when
//! something fails (SR-03, SR-11, SR-16).
#![allow(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used)]
#![allow(clippy::arithmetic_side_effects, clippy::panic)]

mod any_failure;
mod rig;
mod sampling;
mod switching;
