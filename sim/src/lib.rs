//! The proving ground: a physical truth, faults, pilots and an oracle around the
//! controller of a folding propeller mast.
//!
//! A bench and training tool; not certified, not airworthy.

pub mod controls;
pub mod frame;
pub mod join;
pub mod plant;
pub mod scenario;
