//! `mastwright permits`: what each permission needs, and that every condition counts.

use std::io::Write;

use clap::Args;
use miette::{IntoDiagnostic, miette};

use super::{BROKEN, GOOD};
use crate::permits::export::{self, Extent};
use crate::permits::study::Study;
use crate::permits::{all, name, named, page, text};
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::scenario::problem::did_you_mean;

/// What `mastwright permits` is asked for.
#[derive(Debug, Args)]
pub struct Permits {
    /// Only this permission, such as `extend` or `close-main`; all without it.
    permission: Option<String>,
    /// Print the page `docs/permits.md` (Markdown).
    #[arg(long, group = "form", conflicts_with = "permission")]
    page: bool,
    /// Print one JSON document instead of text.
    #[arg(long, group = "form")]
    json: bool,
    /// Print the rows that show each condition's effect as CSV instead of text.
    #[arg(long, group = "form")]
    csv: bool,
    /// Print every row of the truth table as CSV.
    #[arg(long, group = "form")]
    full: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When there is no such permission, or `out` cannot be written.
pub fn permits(command: &Permits, out: &mut dyn Write) -> miette::Result<u8> {
    let studies: Vec<Study> = match &command.permission {
        None => all().map(Study::of).collect(),
        Some(wanted) => {
            let permission = named(wanted).ok_or_else(|| unknown(wanted))?;
            vec![Study::of(permission)]
        }
    };
    tell(command, &studies, out)
}

fn unknown(wanted: &str) -> miette::Report {
    let names: Vec<String> = all().map(name).collect();
    miette!(
        help = did_you_mean(wanted, names.iter().map(String::as_str)),
        "no permission is called `{wanted}`"
    )
}

/// Prints `studies` in the form asked for; the exit code.
fn tell(command: &Permits, studies: &[Study], out: &mut dyn Write) -> miette::Result<u8> {
    if command.page {
        write!(out, "{}", page::page(studies)).into_diagnostic()?;
    } else if command.json {
        export::json(out, studies).into_diagnostic()?;
    } else if command.csv {
        export::csv(out, studies, Extent::Shown).into_diagnostic()?;
    } else if command.full {
        export::csv(out, studies, Extent::Whole).into_diagnostic()?;
    } else {
        in_words(studies, Paint::of_stdout(), out).into_diagnostic()?;
    }
    let wrong = studies.iter().any(|study| !study.findings.is_empty());
    Ok(if wrong { BROKEN } else { GOOD })
}

fn in_words(studies: &[Study], paint: Paint, out: &mut dyn Write) -> std::io::Result<()> {
    for study in studies {
        text::permission(out, study, paint)?;
    }
    text::conclusion(out, studies, paint)?;
    writeln!(out)?;
    for line in wrap(CAUTION, COLUMNS) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use mastwright_core::interlock::{Clause, Condition, Permission, Reason};

    use super::*;
    use crate::permits::study::Predicate;

    #[test]
    fn a_redundant_condition_is_told_and_ends_with_one() {
        let permission = Permission::OpenDoors;
        let mut clauses = permission.clauses().to_vec();
        clauses.push(Clause {
            any_of: Condition::DoorsHealthy | Condition::DoorsShut,
            reason: Reason::DoorsNotOpen,
        });
        let predicate = Predicate {
            clauses: &clauses,
            permitted: &|proven| clauses.iter().all(|one| !one.any_of.is_disjoint(proven)),
            reasons: &|proven| permission.reasons(proven),
        };
        let study = Study::examine(permission, &predicate);
        let command = Permits {
            permission: None,
            page: false,
            json: false,
            csv: false,
            full: false,
        };
        let mut out = Vec::new();
        let code = tell(&command, &[study], &mut out).expect("memory can be written");
        let text = String::from_utf8(out).expect("text");
        assert_eq!(code, BROKEN, "{text}");
        assert!(text.contains("DoorsShut is redundant"), "{text}");
        assert!(text.contains("WRONG in"), "{text}");
        for line in text.lines() {
            assert!(line.chars().count() <= COLUMNS, "{line}");
        }
    }
}
