//! The proving ground: a physical truth, faults, pilots and an oracle around the
//! controller of a folding propeller mast.
//!
//! A bench and training tool; not certified, not airworthy.

pub mod account;
pub mod campaign;
pub mod cli;
pub mod cockpit;
pub mod controls;
pub mod diagram;
pub mod explain;
pub mod explore;
pub mod faults;
pub mod flight;
pub mod frame;
pub mod join;
pub mod journal;
pub mod keep;
pub mod lesson;
pub mod link;
pub mod memory;
pub mod oracle;
pub mod permits;
pub mod plant;
pub mod report;
pub mod rng;
pub mod scenario;
pub mod sensors;
pub mod shrink;
pub mod trace;
pub mod world;
