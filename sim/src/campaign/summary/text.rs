//! A summary for people, in at most 80 columns.

use std::io::{self, Write};

use super::{Counts, Group, Key, Summary};
use crate::campaign::accepted::ACCEPTED;
use crate::campaign::record::{End, Family, Outcome};
use crate::report::layout::wrap;

/// Columns before the text of an indented line.
const INDENT: usize = 4;
/// Columns of text.
const WIDTH: usize = 76;

/// How the plan's missions were without any fault, in words.
#[derive(Clone, Debug, Default)]
pub struct Faultless {
    /// How many missions.
    pub missions: usize,
    /// Those in which something was alerted or broken though nothing had failed.
    pub spurious: Vec<String>,
}

/// Prints a summary.
///
/// # Errors
/// When `out` cannot be written.
pub fn print(
    out: &mut dyn Write,
    summary: &Summary,
    faultless: &Faultless,
    replay: &str,
) -> io::Result<()> {
    outcomes(out, summary)?;
    missions(out, faultless)?;
    detection(out, summary)?;
    phases(out, summary)?;
    groups(out, "Harm, in plant truth", &summary.harm, replay)?;
    groups(out, "Requirements broken without harm", &summary.broken, replay)?;
    moving(out, summary, replay)?;
    margins(out, summary, replay)?;
    accepted(out, summary)
}

fn outcomes(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    writeln!(out, "{} cells", summary.cells)?;
    write!(out, "  {:<11}{:>8}", "", "all")?;
    for family in Family::ALL {
        write!(out, "{:>7.6}", family.name())?;
    }
    writeln!(out)?;
    for outcome in Outcome::ALL {
        write!(out, "  {:<11}{:>8}", outcome.name(), summary.count(*outcome))?;
        for family in Family::ALL {
            let counts = summary.families.get(family);
            write!(out, "{:>7}", of(counts, *outcome))?;
        }
        writeln!(out)?;
    }
    let ends: Vec<String> = End::ALL
        .iter()
        .filter_map(|end| Some(format!("{} {}", end.name(), summary.ends.get(end)?)))
        .collect();
    paragraph(out, &format!("They end {}.", ends.join(", ")))
}

fn of(counts: Option<&Counts>, outcome: Outcome) -> u64 {
    counts
        .and_then(|counts| counts.get(&outcome))
        .copied()
        .unwrap_or_default()
}

fn missions(out: &mut dyn Write, faultless: &Faultless) -> io::Result<()> {
    if faultless.missions == 0 {
        return Ok(());
    }
    if faultless.spurious.is_empty() {
        return paragraph(
            out,
            &format!(
                "The {} base missions, flown without a fault: no alert, nothing broken.",
                faultless.missions
            ),
        );
    }
    for line in &faultless.spurious {
        paragraph(out, &format!("WITHOUT A FAULT: {line}"))?;
    }
    Ok(())
}

fn detection(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    paragraph(
        out,
        &format!(
            "Told of by a fault code, the heat warning or a declared halt: {} of {} cells. \
             Would have come to harm with the controller's reaction withheld: {}; of these {} \
             came to none, {} of them told of. These are counts of cells, each fault and moment \
             weighed alike; they are no rates and no diagnostic coverage in the sense of \
             IEC 61508-2 (an analogy).",
            summary.told, summary.cells, summary.threatened, summary.averted, summary.averted_told
        ),
    )
}

fn phases(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    writeln!(out, "\nHarm/broken of all cells, by state at the onset and family")?;
    write!(out, "  {:<12}", "")?;
    for family in Family::ALL {
        write!(out, "{:>8.7}", family.name())?;
    }
    writeln!(out)?;
    for (phase, families) in &summary.phases {
        write!(out, "  {phase:<12}")?;
        for family in Family::ALL {
            let counts = families.get(family);
            let (harm, broken) = (of(counts, Outcome::Harm), of(counts, Outcome::Broken));
            let all: u64 = counts.map_or(0, |counts| counts.values().sum());
            let text = match (all, harm, broken) {
                (0, _, _) => String::new(),
                (_, 0, 0) => format!("{all}"),
                (_, harm, broken) => format!("{harm}/{broken}!"),
            };
            write!(out, "{text:>8}")?;
        }
        writeln!(out)?;
    }
    writeln!(out, "  (one number: cells, none harmed or broken; h/b!: harmed / broken)")
}

fn groups<'a>(
    out: &mut dyn Write,
    title: &str,
    groups: impl IntoIterator<Item = (&'a Key, &'a Group)>,
    replay: &str,
) -> io::Result<()> {
    let mut groups: Vec<(&Key, &Group)> = groups.into_iter().collect();
    if groups.is_empty() {
        return writeln!(out, "\n{title}: none");
    }
    groups.sort_by_key(|(_, group)| std::cmp::Reverse(group.cells));
    writeln!(out, "\n{title}")?;
    for (key, group) in groups {
        writeln!(out, "  {}: {} {}", key.broke, key.target, key.kind)?;
        let phases: Vec<String> = group
            .phases
            .iter()
            .map(|(phase, cells)| format!("{phase} {cells}"))
            .collect();
        paragraph(out, &format!("{} cells: {}", group.cells, phases.join(", ")))?;
        for example in &group.examples {
            writeln!(out, "{:INDENT$}{replay} {}", "", example.cell)?;
        }
    }
    Ok(())
}

fn moving(out: &mut dyn Write, summary: &Summary, replay: &str) -> io::Result<()> {
    if summary.moving.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nNot at rest 65 s after their mission: {} cells, such as", summary.still_moving())?;
    for cell in &summary.moving {
        writeln!(out, "{:INDENT$}{replay} {cell}", "")?;
    }
    Ok(())
}

fn margins(out: &mut dyn Write, summary: &Summary, replay: &str) -> io::Result<()> {
    if summary.worst.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nSmallest margins without harm: time to harm with the reaction withheld,")?;
    writeln!(out, "less the time to the reaction (s; after ISO 26262-1's fault tolerant time")?;
    writeln!(out, "interval, an analogy)")?;
    for record in &summary.worst {
        let text = |time: Option<_>| time.map_or("-".to_owned(), |time| format!("{time}"));
        #[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
        let margin = record.margin().unwrap_or_default() as f64 / 100.0;
        writeln!(
            out,
            "  {margin:>6.2} = {} - {}  {} {}, {}",
            text(record.tolerance()),
            text(record.reacted_after),
            record.target,
            record.kind,
            record.phase,
        )?;
        writeln!(out, "{:INDENT$}{replay} {}", "", record.cell)?;
    }
    Ok(())
}

fn accepted(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    for (accepted, cells) in ACCEPTED.iter().zip(&summary.accepted) {
        writeln!(
            out,
            "\nAccepted: {} by {} {}: {cells} cells",
            accepted.hazard, accepted.target, accepted.kind
        )?;
        paragraph(out, &format!("{} Crew: {}", accepted.reason, accepted.crew))?;
    }
    writeln!(out, "\nHarm that is not accepted: {} cells", summary.unaccepted)
}

fn paragraph(out: &mut dyn Write, text: &str) -> io::Result<()> {
    for line in wrap(text, WIDTH) {
        writeln!(out, "{:INDENT$}{line}", "")?;
    }
    Ok(())
}
