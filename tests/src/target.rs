//! The controller on a target: what builds its images, runs them and measures them.
//!
//! Responsibilities:
//! 1. Find what builds and runs an image, and say which way was found ([`tools`]).
//! 2. Build the images of `tests/target` ([`images`]), weigh them ([`weight`]), and read
//!    what the compiler says of their [`frames`].
//! 3. Run one on the emulated board ([`emulator`]), read what it has counted
//!    ([`counts`]).
//! 4. Let it fly the world by itself, closed loop, through power cuts ([`aloft`]).
//! 5. Let it fly in lock step with the host ([`flights`]), make the [`figures`], and hold
//!    them against their limits.

pub mod aloft;
pub mod counts;
pub mod emulator;
pub mod figures;
pub mod flights;
pub mod frames;
pub mod images;
pub mod tools;
pub mod weight;
