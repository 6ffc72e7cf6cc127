//! `--record FILE`: a flight that is kept, or not.

use std::io::Write;
use std::path::Path;

use miette::{IntoDiagnostic, miette};

use crate::flight::{Begun, Flight, Verdict};
use crate::frame::Frame;
use crate::join::Judged;
use crate::trace::{self, Header, NotKept, Recorded};
use crate::world::World;

/// A flight, recorded if that is asked for.
#[derive(Debug)]
pub(super) enum Kept {
    /// It is only flown.
    No(Box<Judged>),
    /// It is recorded.
    Yes(Box<Recorded>),
}

impl Kept {
    /// Records `flight` into `file`, if there is one.
    pub(super) fn new(
        flight: Judged,
        file: Option<&Path>,
        header: impl FnOnce() -> Header,
    ) -> miette::Result<Self> {
        match file {
            None => Ok(Self::No(Box::new(flight))),
            Some(file) => Recorded::new(flight, file, &header())
                .map(|recorded| Self::Yes(Box::new(recorded)))
                .map_err(not_kept),
        }
    }

    /// The world that is flown.
    fn world(&self) -> &World {
        match self {
            Self::No(flight) => flight.world(),
            Self::Yes(flight) => flight.world(),
        }
    }

    /// Notes something, if it is recorded.
    pub(super) fn remark(&mut self, tick: u64, words: String) {
        if let Self::Yes(recorded) = self {
            recorded.remark(tick, words);
        }
    }

    /// Writes what the controller's memory holds to `file`, if there is one.
    pub(super) fn keep_journal(&self, file: Option<&Path>) -> miette::Result<()> {
        let Some(file) = file else { return Ok(()) };
        super::journal::write(file, self.world().memory())
    }

    /// Ends the recording, and says so if `spoken`.
    pub(super) fn finish(self, spoken: bool, out: &mut dyn Write) -> miette::Result<()> {
        match self {
            Self::No(_) => Ok(()),
            Self::Yes(recorded) => {
                let kept = recorded.finish().map_err(not_kept)?;
                if spoken {
                    tell(out, &kept)?;
                }
                Ok(())
            }
        }
    }
}

/// Says where a trace was kept.
pub(super) fn tell(out: &mut dyn Write, kept: &trace::Kept) -> miette::Result<()> {
    writeln!(
        out,
        "Recorded: {}, {} ticks, {} kB\nTo replay it: mastwright replay {}",
        kept.path.display(),
        kept.ticks,
        kept.bytes.div_ceil(1000),
        super::run::quoted(&kept.path.display().to_string())
    )
    .into_diagnostic()
}

/// What to do when a trace is not kept.
pub(super) fn not_kept(error: NotKept) -> miette::Report {
    let help = match &error {
        NotKept::Refused(_) => "give `--record` the path of a new file, or of a trace to replace",
        NotKept::BrokenOff { .. } => "fly it again to its end",
        NotKept::Write { .. } => "make room, or give `--record` another place, and fly it again",
    };
    miette!(help = help, "the flight cannot be recorded: {error}")
}

impl Flight for Kept {
    fn step(&mut self) {
        match self {
            Self::No(flight) => flight.step(),
            Self::Yes(flight) => flight.step(),
        }
    }

    fn frame(&self) -> &Frame {
        match self {
            Self::No(flight) => flight.frame(),
            Self::Yes(flight) => flight.frame(),
        }
    }

    fn begun(&self) -> Begun {
        match self {
            Self::No(flight) => flight.begun(),
            Self::Yes(flight) => flight.begun(),
        }
    }

    fn verdict(&self) -> Verdict {
        match self {
            Self::No(flight) => flight.verdict(),
            Self::Yes(flight) => flight.verdict(),
        }
    }

    fn landed(&mut self) {
        match self {
            Self::No(flight) => flight.landed(),
            Self::Yes(flight) => flight.landed(),
        }
    }
}
