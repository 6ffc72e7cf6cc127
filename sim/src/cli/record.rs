//! `--record FILE`: a flight that is kept, or not.

use std::io::Write;
use std::path::Path;

use miette::{IntoDiagnostic, miette};

use crate::join::Judged;
use crate::trace::{self, Header, NotKept, Recorded};

/// Records `flight` into `file`, if there is one.
pub(super) fn begin(
    flight: Judged,
    file: Option<&Path>,
    header: impl FnOnce() -> Header,
) -> miette::Result<Recorded> {
    match file {
        None => Ok(Recorded::only_flown(flight)),
        Some(file) => Recorded::new(flight, file, &header()).map_err(not_kept),
    }
}

/// Writes what the controller's memory holds to `file`, if there is one.
pub(super) fn keep_journal(flight: &Recorded, file: Option<&Path>) -> miette::Result<()> {
    let Some(file) = file else { return Ok(()) };
    super::journal::write(file, flight.world().memory())
}

/// Ends the recording, if there is one, and says so if `spoken`.
pub(super) fn end(flight: Recorded, spoken: bool, out: &mut dyn Write) -> miette::Result<()> {
    match flight.finish().map_err(not_kept)? {
        Some(kept) if spoken => tell(out, &kept),
        Some(_) | None => Ok(()),
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
