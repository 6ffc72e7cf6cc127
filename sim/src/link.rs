//! The controller elsewhere: on an emulator, on a board, or for tests in this process,
//! stepped in lock step with the host's own.
//!
//! Responsibilities:
//! 1. [`Line`]: anything that carries bytes both ways. [`inline`], [`serial`] and
//!    [`emulator`] are such lines; [`faulty`] spoils one on purpose.
//! 2. [`Host`]: the host's side of the protocol, which tells what happened to a frame,
//!    and where.
//! 3. [`Mirror`]: every tick goes to the host's own controller and to the target, and
//!    their outputs and states are compared.
//! 4. [`trial`]: whole runs for tests: a scenario, random ticks, power cuts.
//!
//! What goes over the line is described in `docs/link-protocol.md`.

#[cfg(unix)]
pub mod emulator;
pub mod faulty;
pub mod host;
pub mod inline;
pub mod line;
pub mod log;
pub mod mirror;
pub mod random;
pub mod serial;
pub mod tell;
pub mod trial;

pub use host::{Host, LinkError, What};
pub use line::{Line, Via};
pub use mirror::{Difference, Failure, Mirror, Summary};
pub use trial::{lock_step, random_ticks};
