//! Traces: a flight kept in a file, tick by tick.
//!
//! Responsibilities:
//! 1. Record: a [`Recorder`] takes every tick of a world and streams it to a file,
//!    block by block; what is written stays readable if the program ends at any byte.
//! 2. Read: a [`Trace`] gives the [`Header`], and any [`Tick`] by its number: time,
//!    readings, hands, outputs, a fingerprint of the controller's state, the plant's
//!    truth, and what began and ended. Whatever is damaged is told, with its place.
//! 3. Outlive its program: columns and enumerations are kept by name, so that a later
//!    build reads what an earlier one wrote, and says what it no longer knows.
//!
//! The bytes are described in `docs/trace-format.md`.
//!
//! ```no_run
//! use mastwright_sim::trace::Trace;
//!
//! let trace = Trace::open("flight.mwt".as_ref())?;
//! println!("{}, {} ticks", trace.header().scenario.title, trace.len());
//! for damage in trace.damage() {
//!     println!("{damage}");
//! }
//! let tick = trace.at(1221)?;
//! println!("{} at {:.2} s", tick.frame.outputs.indications.state.name(), tick.frame.seconds());
//! for tick in trace.ticks() {
//!     let tick = tick?;
//!     for mark in &tick.marks {
//!         println!("{:.2} s {mark}", tick.frame.seconds());
//!     }
//! }
//! # Ok::<(), mastwright_sim::trace::Unreadable>(())
//! ```

mod block;
mod columns;
mod compare;
mod decode;
mod encode;
pub mod export;
mod header;
mod named;
mod pack;
mod read;
mod rebuild;
mod record;
mod replay;
mod sample;
mod scan;
mod sum;
mod sure;
mod tick;
mod trouble;
mod write;

pub use compare::{CannotCompare, Comparison, Parting, Regard, Row, compare};
pub use header::{Build, Flown, Header};
pub use read::{Iter, Trace};
pub use rebuild::{NotRebuilt, rebuild};
pub use record::{Recorded, Recorder};
pub use replay::{CannotReplay, Difference, Player, Replayed, replay};
pub use tick::{Mark, Note, Noted, Tick};
pub use trouble::{Damage, Unreadable};
pub use write::{Kept, NotKept, check};

/// The file's version. A reader refuses a later one.
pub const VERSION: u32 = 1;

/// How every trace begins; the version and a line feed follow.
pub(crate) const BEGINNING: &str = "mastwright trace ";

/// Ticks of a block, all but the last.
pub(crate) const BLOCK: usize = 512;
