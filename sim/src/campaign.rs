//! Campaigns: every fault at every moment, and what comes of it.
//!
//! Responsibilities:
//! 1. A [`mission`] is a short faultless flight; its [`moment`]s are several instants in
//!    every state of the controller it passes.
//! 2. A [`cell`] is one mission with one fault (or a few) from a moment on. It is flown
//!    from a copy of the faultless world at that moment, judged in plant truth, and
//!    becomes one [`record`].
//! 3. A [`plan`] is a list of cells: all single faults, all pairs, sampled triples. Its
//!    records are [`store`]d in order, whoever flew them: one process, many threads or
//!    many machines give the same bytes.
//! 4. A [`summary`] counts; [`accepted`] lists the harm that no controller can prevent.
//! 5. A [`swarm`] flies long random missions under random mixtures of faults, then ends
//!    the faults and demands that the aircraft comes to rest.
//! 6. A [`page`] shows a table to people: one HTML file that needs nothing else.
//!
//! Terms: *onset* is the tick in which a fault begins; *withheld* is a reaction of the
//! controller that is kept from the actuators, to see how long the world would have
//! stayed unharmed without it.

pub mod accepted;
pub mod base;
pub mod cell;
pub mod margin;
pub mod mission;
pub mod moment;
pub mod page;
pub mod plan;
pub mod record;
pub mod run;
pub mod store;
pub mod summary;
pub mod swarm;
pub mod variant;
