#![no_std]
#![doc = "The controller of a folding propeller mast."]
#[cfg(test)]
extern crate std;

pub mod bus;
pub mod command;
pub mod config;
pub mod fault;
pub mod inputs;
pub mod interlock;
pub mod outputs;
pub mod sequencer;
pub mod signal;
pub mod state;
pub mod timer;
pub mod units;

pub use command::{Intention, Mode};
pub use config::{Config, Settings};
pub use fault::{Class, Fault, Faults};
pub use inputs::Inputs;
pub use outputs::Outputs;
pub use sequencer::Sequencer;
pub use state::{Halt, State};
