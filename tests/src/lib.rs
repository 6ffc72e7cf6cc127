//! Helpers shared by the tests across the crates.

pub mod saboteurs;
pub mod sight;
