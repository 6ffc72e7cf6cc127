//! How to explore: with what, how far, and when to stop.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// How to explore. The default: every state, exactly, on all cores.
#[derive(Clone, Debug, Default)]
pub struct Options<'a> {
    /// How many threads work; 0: one for each core.
    pub threads: usize,
    /// What is stored of a visited state.
    pub store: Store,
    /// Whether broken checks end the exploration.
    pub stop: Stop,
    /// How far to go at most.
    pub limits: Limits,
    /// The file that keeps every complete level, to resume from.
    pub save: Option<Save>,
    /// Set from outside (Ctrl-C): the level under way is dropped, the rest reported.
    pub interrupt: Option<&'a AtomicBool>,
}

impl Options<'_> {
    /// How many threads work.
    pub(super) fn workers(&self) -> usize {
        match self.threads {
            0 => std::thread::available_parallelism().map_or(1, usize::from),
            threads => threads,
        }
    }
}

/// What is stored of a visited state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Store {
    /// All of it: no state is missed, and paths can be found.
    #[default]
    Exact,
    /// Its hash: less memory; states may be missed, and no path can be found.
    Compact {
        /// Bits of the hash that count: 10 to 64. 64 is meant; fewer only let a test see
        /// states missed.
        bits: u32,
        /// Which hash: another seed misses other states.
        seed: u64,
    },
}

/// Whether broken checks end the exploration. Always at the end of a level.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stop {
    /// They do not: all is explored.
    #[default]
    Never,
    /// When one of these checks is broken.
    Any(u64),
    /// When each of these checks is broken.
    Each(u64),
}

impl Stop {
    /// Whether `broken` ends it.
    pub(super) const fn at(self, broken: u64) -> bool {
        match self {
            Self::Never => false,
            Self::Any(checks) => broken & checks != 0,
            Self::Each(checks) => checks != 0 && broken & checks == checks,
        }
    }
}

/// How far to go at most. A level that would pass a limit is dropped as a whole, so that
/// what is reported does not depend on who came how far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Limits {
    /// States in all their variants, the initial ones counted.
    pub states: Option<u64>,
    /// Bytes of the visited set; what the workers hold beside it is a few MiB each.
    pub bytes: Option<u64>,
    /// Transitions from an initial state.
    pub depth: Option<u32>,
}

/// The file that keeps every complete level.
#[derive(Clone, Debug)]
pub struct Save {
    /// Which file.
    pub path: PathBuf,
    /// What the space is of: build, settings. A file with another text is refused.
    pub fingerprint: String,
    /// Whether to go on from what the file holds. If not, it must not be there.
    pub resume: bool,
}

/// How far an exploration is. A state counts in each of its variants.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The level being expanded: transitions from an initial state.
    pub level: usize,
    /// How many states that level has.
    pub frontier: u64,
    /// How many of them are expanded, about.
    pub expanded: u64,
    /// States found, about.
    pub states: u64,
    /// Transitions taken, about.
    pub transitions: u64,
    /// Since the beginning (of this run, not of a resumed one).
    pub elapsed: Duration,
    /// Transitions per second of this run.
    pub rate: f64,
}
