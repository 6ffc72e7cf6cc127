//! What can be wrong with a trace: with all of it, or with a part.

use std::fmt;

use super::VERSION;
use crate::frame::TICK;

/// Why a trace, or a tick of it, cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// The file itself cannot be read.
    #[error("{file}: {error}")]
    Io {
        /// Which.
        file: String,
        /// Why.
        error: String,
    },
    /// It is something else.
    #[error("{file} is no trace: it does not begin with `mastwright trace`")]
    Foreign {
        /// Which file.
        file: String,
    },
    /// It was recorded by a later program.
    #[error("{file} is a trace of version {version}; this program reads up to version {VERSION}")]
    Newer {
        /// Which file.
        file: String,
        /// Its version.
        version: u32,
    },
    /// Its header is damaged, and without it nothing can be read.
    #[error("{file}: the header, at byte {offset}, {how}: nothing can be read without it")]
    Header {
        /// Which file.
        file: String,
        /// Where.
        offset: usize,
        /// In what way.
        how: String,
    },
    /// It has no such tick.
    #[error("{file} has no tick {tick}: it ends after {ticks} ticks ({seconds:.2} s)", seconds = f64::from(*.ticks) * TICK)]
    Beyond {
        /// Which file.
        file: String,
        /// The tick asked for.
        tick: u64,
        /// How many it has.
        ticks: u32,
    },
    /// The tick lies in a damaged part.
    #[error("{file}: ticks {from} to {to} are lost in a damaged part of the file")]
    Lost {
        /// Which file.
        file: String,
        /// The first tick lost.
        from: u64,
        /// The last.
        to: u64,
    },
    /// A block is whole, and makes no sense to this program.
    #[error("{file}: the block of tick {tick}, at byte {offset}, {how}")]
    Block {
        /// Which file.
        file: String,
        /// Where.
        offset: usize,
        /// Its first tick.
        tick: u64,
        /// In what way.
        how: String,
    },
}

impl Unreadable {
    /// What to do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::Io { .. } => "give the path of a trace, as `mastwright run --record FILE` keeps",
            Self::Foreign { .. } => {
                "record one with `mastwright run SCENARIO --record FILE`; a scenario is flown \
                 with `mastwright run`"
            }
            Self::Newer { .. } => "read it with the program that recorded it, or a later one",
            Self::Header { .. } => {
                "take another copy of the file; if there is none, fly it again with --record"
            }
            Self::Beyond { .. } => "give an earlier time",
            Self::Lost { .. } => "ask for a tick outside the damaged part, or take another copy",
            Self::Block { .. } => {
                "read it with the program that recorded it: its header names the build"
            }
        }
    }
}

/// Damage to a trace, and what it costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Damage {
    /// The file ends in the middle of a block, at its end if nothing is cut.
    Cut {
        /// Where the block begins that is not whole.
        offset: usize,
        /// How many ticks there are before it.
        ticks: u32,
    },
    /// The file ends behind a whole block, but without its end: the recording was
    /// broken off, or the rest is cut.
    NoEnd {
        /// How many ticks there are.
        ticks: u32,
    },
    /// Bytes that are no whole block.
    Corrupt {
        /// Where they begin.
        offset: usize,
        /// How many there are.
        bytes: usize,
        /// The first tick lost, and how many; none if none is.
        lost: Option<(u32, u32)>,
    },
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = |ticks: u32| f64::from(ticks) * TICK;
        match *self {
            Self::Cut { offset, ticks } => write!(
                f,
                "cut off in the block at byte {offset}: readable up to the break, {ticks} ticks \
                 ({:.2} s)",
                seconds(ticks)
            ),
            Self::NoEnd { ticks } => write!(
                f,
                "without its end: the recording was broken off, or the rest is cut; {ticks} \
                 ticks ({:.2} s) can be read",
                seconds(ticks)
            ),
            Self::Corrupt {
                offset,
                bytes,
                lost,
            } => {
                write!(f, "corrupt at byte {offset}, {bytes} bytes: ")?;
                match lost {
                    Some((from, count)) => write!(
                        f,
                        "ticks {from} to {} ({:.2} to {:.2} s) are lost",
                        from + count - 1,
                        seconds(from),
                        seconds(from + count - 1)
                    ),
                    None => f.write_str("no tick is lost"),
                }
            }
        }
    }
}
