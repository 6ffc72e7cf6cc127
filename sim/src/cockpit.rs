//! The cockpit: a session at the terminal in which a person flies, breaks, rewinds and
//! learns.
//!
//! Responsibilities:
//! 1. [`timeline`]: the flight, back and forth: any instant of it can be seen again and
//!    left by another branch.
//! 2. [`desk`]: time, hands and faults, as a person orders them.
//! 3. [`keys`]: one table of actions and keys, from which help and hints are made.
//! 4. [`app`]: what a key, a click or the passing of time does; no clock, no terminal.
//! 5. [`screen`]: one picture of what there is to see.
//! 6. [`shell`]: the terminal around it. [`plain`]: the same story line by line.
//!    [`still`]: a picture taken without a terminal.
//! 7. [`trainer`]: faults let in from another terminal, out of the trainee's sight.
//!
//! It reads and orders; it never decides what the controller may do. A bench and
//! training tool; not certified, not airworthy.

pub mod app;
mod ask;
mod command;
pub mod desk;
pub mod faults;
pub mod keys;
pub mod plain;
pub mod screen;
pub mod shell;
pub mod speed;
pub mod still;
pub mod timeline;
#[cfg(unix)]
pub mod trainer;
