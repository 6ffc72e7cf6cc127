//! Explores a [`Space`] exhaustively, and finds what a search for proof asks of it.
//!
//! Responsibilities:
//! 1. [`explore`] reaches every state of a space once, level by level, on all cores, and
//!    says which checks are broken, and at which least number of transitions.
//! 2. [`shortest`] gives the shortest path to a broken check.
//! 3. [`longest`] gives the longest way through a part of the space, or the circle in it
//!    that has no end.
//! 4. All give the same answer at any thread count and in any run; only time, rate and
//!    memory are of the run.
//!
//! Modes: exact (every state is kept whole), or compact (only its hash; what may have
//! been missed is part of the result).
//!
//! A state may be reached in several [`Variants`]: it is kept once, with the set of them,
//! and expanded in all that are new at once. What is counted is the same as if the variant
//! were part of the state.
//!
//! Terms: the *level* of a state in a variant is the least number of transitions from an
//! initial state to it. A level has an *entry* for each of its states, with the variants
//! whose level it is. The *frontier* is the last complete level. To *expand* a state is to
//! find all transitions out of it. A *shard* is the part of the visited set whose hashes
//! begin alike.

mod compact;
mod component;
mod entries;
mod exact;
mod found;
mod graph;
mod hash;
mod longest;
mod options;
mod path;
mod reached;
mod run;
mod save;
mod shard;
mod space;
mod table;
mod variants;
mod worker;

pub use compact::Missed;
pub use found::{Break, Broken, Cost, Ended, Found, Resumed};
pub use longest::{Longest, longest};
pub use options::{Limits, Options, Progress, Save, Stop, Store};
pub use path::{Path, path_to, shortest};
pub use reached::Reached;
pub use run::explore;
pub(super) use run::pool;
pub use save::Unusable;
pub use space::{Packed, Space, Tally};
pub use variants::Variants;
