//! Exhaustive exploration: every state that can be reached, none left to chance.

pub mod engine;
