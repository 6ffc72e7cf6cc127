//! The fault model: what can break, how, how much and for how long.
//!
//! Responsibilities:
//! 1. A [`Fault`] is data: a target, a kind, a strength, a duration. It has a stable
//!    name, it serialises, and one that its target cannot have is refused.
//! 2. The [`catalogue`] is every fault there is, read from one table for each family
//!    of targets; adding a fault is adding a row.
//! 3. The [`Injector`] wraps every sensor, actuator, control and supply of the world
//!    with the faults started in it, from an explicit seed.
//!
//! When a fault begins is decided elsewhere, by the moment a scenario names.
//!
//! Terms: a *contact* is a reading that is true or false; a *number* is any other
//! reading; a *twin* is the channel with which another can be mistaken at a connector.

mod actuator;
mod catalogue;
mod channel;
mod detector;
mod drive;
mod fault;
mod injector;
mod kind;
mod mechanics;
mod named;
mod pilot;
mod random;
mod sensor;
mod supply;
mod target;
mod timing;

pub use actuator::ActuatorId;
pub use catalogue::{Entry, Scale, catalogue};
pub use channel::{Channel, Number, SensorId};
pub use detector::DetectorId;
pub use fault::{Fault, Refusal};
pub use injector::Injector;
pub use kind::Kind;
pub use mechanics::MechanicsId;
pub use named::Unknown;
pub use pilot::PilotId;
pub use target::Target;

#[cfg(test)]
mod tests;
