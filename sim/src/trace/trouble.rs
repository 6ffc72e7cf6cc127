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
    /// The ticks lost, or what else it is, without the file's name.
    #[must_use]
    pub fn what(&self) -> String {
        match self {
            Self::Lost { from, to, .. } => format!("{} are lost", Ticks(*from, *to)),
            Self::Block {
                tick, offset, how, ..
            } => format!("the block of tick {tick}, at byte {offset}, {how}"),
            Self::Io { .. }
            | Self::Foreign { .. }
            | Self::Newer { .. }
            | Self::Header { .. }
            | Self::Beyond { .. } => self.to_string(),
        }
    }

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
    /// The file ends in bytes that are no block: what they were is not known.
    Torn {
        /// Where they begin.
        offset: usize,
        /// How many there are.
        bytes: usize,
        /// How many ticks there are before them.
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
    /// Blocks that are not there, between others that are whole.
    Missing {
        /// Where they should stand.
        offset: usize,
        /// The first tick lost, and how many.
        lost: (u32, u32),
    },
    /// A whole block that stands behind later ticks, or behind the end.
    Misplaced {
        /// Where it stands.
        offset: usize,
        /// Its first tick.
        first: u32,
        /// How many it has.
        ticks: u32,
    },
    /// A whole block of ticks that stood in a block before it.
    Again {
        /// Where it stands.
        offset: usize,
        /// Its first tick.
        first: u32,
        /// How many it has.
        ticks: u32,
        /// It is the same to the byte.
        same: bool,
    },
    /// A second header.
    Header {
        /// Where it stands.
        offset: usize,
    },
    /// Something behind the end that is no block of ticks.
    Behind {
        /// Where it begins.
        offset: usize,
        /// How many bytes.
        bytes: usize,
    },
    /// There are more ticks than its end says.
    Longer {
        /// How many it says.
        said: u32,
        /// How many there are.
        ticks: u32,
    },
}

impl Damage {
    /// Where it begins in the file; the last byte of all if it is none of one place.
    pub(super) const fn offset(&self) -> usize {
        match *self {
            Self::Cut { offset, .. }
            | Self::Torn { offset, .. }
            | Self::Corrupt { offset, .. }
            | Self::Missing { offset, .. }
            | Self::Misplaced { offset, .. }
            | Self::Again { offset, .. }
            | Self::Header { offset }
            | Self::Behind { offset, .. } => offset,
            Self::NoEnd { .. } | Self::Longer { .. } => usize::MAX,
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
fn seconds(ticks: u64) -> f64 {
    ticks as f64 * TICK
}

/// The ticks from the first to the last, in words.
struct Ticks(u64, u64);

impl Ticks {
    /// So many ticks from this one on.
    fn of((from, count): (u32, u32)) -> Self {
        let from = u64::from(from);
        Self(from, from + u64::from(count).saturating_sub(1))
    }
}

impl fmt::Display for Ticks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(from, to) = *self;
        let (began, ended) = (seconds(from), seconds(to));
        write!(f, "ticks {from} to {to} ({began:.2} to {ended:.2} s)")
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Cut { offset, ticks } => write!(
                f,
                "cut off in the block at byte {offset}: readable up to the break, {ticks} ticks \
                 ({:.2} s)",
                seconds(ticks.into())
            ),
            Self::Torn {
                offset,
                bytes,
                ticks,
            } => write!(
                f,
                "corrupt from byte {offset} to the end of the file, {bytes} bytes: readable up to \
                 there, {ticks} ticks ({:.2} s)",
                seconds(ticks.into())
            ),
            Self::NoEnd { ticks } => write!(
                f,
                "without its end: the recording was broken off, or the rest is cut; {ticks} \
                 ticks ({:.2} s) can be read",
                seconds(ticks.into())
            ),
            Self::Corrupt {
                offset,
                bytes,
                lost,
            } => {
                write!(f, "corrupt at byte {offset}, {bytes} bytes: ")?;
                match lost {
                    Some(lost) => write!(f, "{} are lost", Ticks::of(lost)),
                    None => f.write_str("no tick is lost"),
                }
            }
            Self::Missing { offset, lost } => {
                let lost = Ticks::of(lost);
                write!(
                    f,
                    "blocks are missing before byte {offset}: {lost} are lost"
                )
            }
            Self::Misplaced {
                offset,
                first,
                ticks,
            } => write!(
                f,
                "out of order at byte {offset}: the block of {}; it is read in its turn, no tick \
                 is lost",
                Ticks::of((first, ticks))
            ),
            Self::Again {
                offset,
                first,
                ticks,
                same,
            } => {
                let of = Ticks::of((first, ticks));
                if same {
                    write!(f, "a second copy of {of} at byte {offset}: passed over")
                } else {
                    write!(
                        f,
                        "a block of {of} at byte {offset}, of which some stand in a block before \
                         it: passed over"
                    )
                }
            }
            Self::Header { offset } => {
                write!(f, "a second header at byte {offset}: passed over")
            }
            Self::Behind { offset, bytes } => write!(
                f,
                "{bytes} bytes at byte {offset}, behind the end: no tick is lost"
            ),
            Self::Longer { said, ticks } => write!(
                f,
                "its end says that it has {said} ticks, and there are {ticks}"
            ),
        }
    }
}
