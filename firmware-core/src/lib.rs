//! The controller of a folding propeller mast, in one page.
//!
//! An electric self-launching sailplane carries motor and propeller on a mast. To stow
//! it, the propeller is stopped, parked within a narrow angle, held, and proven to stay
//! there by itself; then the mast swings into its bay and doors close over it. This crate
//! decides, tick by tick, what may be driven:
//!
//! ```text
//! Inputs ──▶ Sequencer::step ──▶ Outputs
//!            │ command    controls      ─▶ intentions
//!            │ mast, doors, propeller,
//!            │ bus, packs, thermal      ─▶ proven Conditions, active Faults
//!            │ transitions              ─▶ the next State
//!            │ commands ─▶ interlock    ─▶ permission, or a denial with its reasons
//! ```
//!
//! - [`Sequencer::step`] is the whole controller: once per tick of 10 ms, total,
//!   deterministic, integers only. It never reads a clock and never allocates.
//! - [`interlock`] is the one place that decides; its table can be read as it stands.
//! - [`state`] says why each state is entered, and how it is left.
//! - [`config`] holds every limit with its unit, range and source.
//! - Around it: [`journal`] keeps what happened, [`board`] binds it to a real board,
//!   [`heat_warning`] works on a supply of its own; with the feature `link`, `link`
//!   lets it be asked from elsewhere, frame by frame.
//!
//! A bench and training tool: not certified, not airworthy. Local codes, the flight
//! manual and licensed practice come first. Keep clear of propellers.

#![no_std]
#![cfg_attr(test, allow(clippy::arithmetic_side_effects))]

#[cfg(test)]
extern crate std;

pub mod axis;
pub mod board;
pub mod bus;
pub mod command;
pub mod config;
pub mod doors;
pub mod fault;
pub mod heat_warning;
pub mod inputs;
pub mod interlock;
pub mod journal;
#[cfg(feature = "link")]
pub mod link;
mod log;
pub mod mast;
pub mod outputs;
pub mod packs;
pub mod propeller;
pub mod sequencer;
pub mod signal;
pub mod state;
pub mod thermal;
pub mod timer;
pub mod units;
#[cfg(feature = "walk")]
pub mod walk;

pub use command::{Intention, Mode};
pub use config::{Config, Settings};
pub use fault::{Class, Fault, Faults};
pub use inputs::Inputs;
pub use outputs::Outputs;
pub use sequencer::Sequencer;
pub use state::{Halt, State};
