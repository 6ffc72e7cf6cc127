//! `mastwright export`: a trace for other programs.

use std::fs::File;
use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::replay::{damaged, open};
use super::{BROKEN, GOOD};
use crate::keep;
use crate::report::text::{caution, paragraph};
use crate::trace::export::{Exported, Format, NotExported, chosen, export};

/// What `mastwright export` is asked for.
#[derive(Debug, Args)]
pub struct Export {
    /// A trace, as `--record` keeps it; a part of one (FILE.part) is exported up to its
    /// break.
    trace: PathBuf,
    /// The format.
    #[arg(long, value_name = "FORMAT", value_enum)]
    to: Format,
    /// Where to; unless given, beside the trace, with the format at the end of its name.
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Only these signals, by their names or the beginnings of them up to a point, such
    /// as `truth.mast,outputs.told.state`. Number and time of the tick are always there.
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    signals: Vec<String>,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When the trace cannot be used, or nothing be written.
pub fn run(command: &Export, out: &mut dyn Write) -> miette::Result<u8> {
    let trace = open(&command.trace)?;
    let signals = chosen(&command.signals).map_err(refused)?;
    let format = command.to;
    let beside = || command.trace.with_extension(format.extension());
    let path = command.out.clone().unwrap_or_else(beside);
    let is_ours = |file: &mut File| format.is_ours(file);
    let exported = keep::fill(format.words(), is_ours, &path, |file| {
        export(&trace, format, &signals, file)
    })
    .map_err(refused)?;
    let bytes = std::fs::metadata(&path).into_diagnostic()?.len();
    let Exported {
        ticks,
        signals,
        lost,
    } = exported;
    writeln!(
        out,
        "Exported: {}, {ticks} ticks, {signals} signals, {} kB",
        path.display(),
        bytes.div_ceil(1000)
    )
    .into_diagnostic()?;
    damaged(out, &trace).into_diagnostic()?;
    for why in &lost {
        paragraph(out, &format!("MISSING: {why}")).into_diagnostic()?;
    }
    caution(out).into_diagnostic()?;
    let whole = lost.is_empty() && trace.damage().is_empty();
    Ok(if whole { GOOD } else { BROKEN })
}

fn refused(why: NotExported) -> miette::Report {
    let help = match &why {
        NotExported::Refused(_) => "give `-o` the path of a new file".to_owned(),
        NotExported::NoSignal { nearest, .. } => {
            let likely = nearest
                .as_ref()
                .map(|name| format!("did you mean `{name}`? "))
                .unwrap_or_default();
            format!("{likely}docs/trace-export.md lists every signal")
        }
        NotExported::Empty { .. } => "give a trace that was recorded for longer".to_owned(),
        NotExported::Write(_) | NotExported::Format(_) => {
            "make room, or give `-o` another place".to_owned()
        }
    };
    miette!(help = help, "{why}")
}
