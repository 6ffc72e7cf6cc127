//! A trace in an open format, for the programs others use to look at signals.
//!
//! Responsibilities:
//! 1. One table of [`Signal`]s: each with its name, its unit, its type and how it is read
//!    from a tick. Every format is written from that table, so that they cannot differ.
//! 2. A sink for each [`Format`]. A sink knows its format and nothing of the signals.
//! 3. Say what was not there to be written: ticks lost in a damaged part.
//!
//! What each format holds is described in `docs/trace-export.md`; the same trace and the
//! same build give the same bytes.

mod csv;
mod events;
mod mcap;
mod page;
mod parquet;
mod signal;
mod table;
mod vcd;

use std::fs::File;
use std::io;

pub use page::page;
pub use signal::{Kind, Signal, Unit, Value};
pub use table::signals;

use super::read::Trace;
use super::tick::Tick;
use super::trouble::Unreadable;
use crate::keep;
use crate::report::CAUTION;

/// An open format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// Value change dump (IEEE 1364), for viewers of waveforms.
    Vcd,
    /// MCAP with channels in JSON, for viewers of robots' logs.
    Mcap,
    /// A table with one line for each tick.
    Csv,
    /// A table in typed, compressed columns.
    Parquet,
}

impl Format {
    /// Every format.
    pub const ALL: [Self; 4] = [Self::Vcd, Self::Mcap, Self::Csv, Self::Parquet];

    /// The end of a file's name, and the word for it on the command line.
    #[must_use]
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Vcd => "vcd",
            Self::Mcap => "mcap",
            Self::Csv => "csv",
            Self::Parquet => "parquet",
        }
    }

    /// How every file of it that this program writes begins.
    #[must_use]
    pub const fn beginning(self) -> &'static [u8] {
        match self {
            Self::Vcd => b"$version\n    mastwright ",
            Self::Mcap => b"\x89MCAP0\r\n",
            Self::Csv => b"world.tick,world.time_s",
            Self::Parquet => b"PAR1",
        }
    }

    /// True when `file` is of it, and this program wrote it: others write files that begin
    /// as an MCAP or a Parquet does.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn is_ours(self, file: &mut File) -> io::Result<bool> {
        match self {
            Self::Vcd | Self::Csv => keep::begins(file, self.beginning()),
            Self::Mcap => mcap::is_ours(file),
            Self::Parquet => parquet::is_ours(file),
        }
    }

    /// What such a file is called in messages.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Vcd => "VCD of mastwright",
            Self::Mcap => "MCAP of mastwright",
            Self::Csv => "CSV of mastwright",
            Self::Parquet => "Parquet of mastwright",
        }
    }
}

/// Why a trace is not exported.
#[derive(Debug, thiserror::Error)]
pub enum NotExported {
    /// There is something else at its place, or no folder to put it in.
    #[error(transparent)]
    Refused(#[from] keep::Refused),
    /// A name that is at the beginning of no signal's name.
    #[error("no signal is called `{wanted}`, or begins with it")]
    NoSignal {
        /// What was asked for.
        wanted: String,
        /// The signal with the most similar name.
        nearest: Option<String>,
    },
    /// There is no tick in the trace.
    #[error("{file} holds no tick that can be read")]
    Empty {
        /// Which file.
        file: String,
    },
    /// It could not be written.
    #[error("the export cannot be written: {0}")]
    Write(#[from] io::Error),
    /// The library of the format refused.
    #[error("the export cannot be written: {0}")]
    Format(String),
}

/// What was exported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exported {
    /// Ticks written.
    pub ticks: u64,
    /// Signals in each.
    pub signals: usize,
    /// What of the trace could not be read, and so is missing.
    pub lost: Vec<String>,
}

/// What receives the rows of a trace.
trait Sink {
    /// A tick, and its value of every signal, in the order of the table.
    fn row(&mut self, tick: &Tick, row: &[Value]) -> Result<(), NotExported>;

    /// The ticks from here up to the next row are not there.
    fn gap(&mut self) -> Result<(), NotExported>;

    /// Writes what is still held back.
    fn finish(self: Box<Self>) -> Result<(), NotExported>;
}

/// The signals whose names are, or begin with, one of `wanted` up to a point; all of them
/// when nothing is wanted. Number and time of the tick are always there.
///
/// # Errors
/// When one of `wanted` names nothing.
pub fn chosen(wanted: &[String]) -> Result<Vec<Signal>, NotExported> {
    let mut all = signals();
    for name in wanted {
        if !all.iter().any(|signal| signal.is_under(name)) {
            let names = all.iter().map(Signal::name);
            let nearest = crate::scenario::problem::nearest(name, names).map(str::to_owned);
            let wanted = name.clone();
            return Err(NotExported::NoSignal { wanted, nearest });
        }
    }
    let keeps = |signal: &Signal| {
        wanted.is_empty()
            || table::ALWAYS.contains(&signal.name())
            || wanted.iter().any(|name| signal.is_under(name))
    };
    all.retain(keeps);
    Ok(all)
}

/// Writes `signals` of every tick of `trace` into `file`.
///
/// # Errors
/// When the trace has no tick, or the file cannot be written.
pub fn export(
    trace: &Trace,
    format: Format,
    signals: &[Signal],
    file: &mut File,
) -> Result<Exported, NotExported> {
    if trace.is_empty() {
        let file = trace.file().to_owned();
        return Err(NotExported::Empty { file });
    }
    let mut exported = Exported {
        ticks: 0,
        signals: signals.len(),
        lost: Vec::new(),
    };
    let about = about(trace);
    let mut sink: Box<dyn Sink + '_> = match format {
        Format::Vcd => Box::new(vcd::Vcd::new(file, signals, &about)?),
        Format::Mcap => Box::new(mcap::Mcap::new(file, signals, &about)?),
        Format::Csv => Box::new(csv::Csv::new(file, signals)?),
        Format::Parquet => Box::new(parquet::Parquet::new(file, signals, &about)?),
    };
    let mut row = Vec::with_capacity(signals.len());
    for tick in trace.ticks() {
        match tick {
            Ok(tick) => {
                row.clear();
                row.extend(signals.iter().map(|signal| signal.read(&tick)));
                sink.row(&tick, &row)?;
                exported.ticks += 1;
            }
            Err(why) => {
                exported.lost.push(lost(&why));
                sink.gap()?;
            }
        }
    }
    sink.finish()?;
    Ok(exported)
}

fn lost(why: &Unreadable) -> String {
    why.to_string()
}

/// What a file says about itself: names and values.
type About = Vec<(&'static str, String)>;

fn about(trace: &Trace) -> About {
    let header = trace.header();
    let damage = trace.damage().iter().map(ToString::to_string);
    let mut about = vec![
        ("scenario", header.scenario.name.clone()),
        ("title", header.scenario.title.clone()),
        ("seed", header.seed.to_string()),
        ("recorded by", header.build.to_string()),
        ("flown by", header.by.clone()),
        ("caution", CAUTION.to_owned()),
    ];
    about.extend(damage.map(|damage| ("damaged", damage)));
    about
}
