//! A summary for people, in at most 80 columns.

use std::io::{self, Write};

use super::{Counts, Group, Key, Summary};
use crate::campaign::accepted::ACCEPTED;
use crate::campaign::record::{End, Family, Outcome, Record, Ticks};
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
    groups(out, "Harm, in plant truth", &summary.harm)?;
    groups(out, "Requirements broken without harm", &summary.broken)?;
    moving(out, summary)?;
    margins(out, summary)?;
    accepted(out, summary)?;
    writeln!(out, "\nTo fly a cell again: {replay} CELL")
}

fn outcomes(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    writeln!(out, "{} cells", summary.cells)?;
    write!(out, "  {:<11}{:>8}", "", "all")?;
    for family in Family::ALL {
        write!(out, "{:>7.6}", family.name())?;
    }
    writeln!(out)?;
    for outcome in Outcome::ALL {
        write!(
            out,
            "  {:<11}{:>8}",
            outcome.name(),
            summary.count(*outcome)
        )?;
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
    writeln!(
        out,
        "\nHarm/broken of all cells, by state at the onset and family"
    )?;
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
    writeln!(
        out,
        "  (one number: cells, none harmed or broken; h/b!: harmed / broken)"
    )
}

fn groups<'a>(
    out: &mut dyn Write,
    title: &str,
    groups: impl IntoIterator<Item = (&'a Key, &'a Group)>,
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
        paragraph(
            out,
            &format!("{} cells: {}", group.cells, phases.join(", ")),
        )?;
        for cell in &group.named {
            writeln!(out, "{:INDENT$}{cell}", "")?;
        }
        let further = group.cells - group.named.len() as u64;
        if further > 0 {
            let only = format!("{}/{}", key.target, key.kind);
            let more = format!("and {further} more; --only {only} --out FILE lists them");
            writeln!(out, "{:INDENT$}{more}", "")?;
        }
    }
    Ok(())
}

fn moving(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    if summary.moving.is_empty() {
        return Ok(());
    }
    let count = summary.still_moving();
    writeln!(
        out,
        "\nNot at rest 65 s after their mission: {count} cells, such as"
    )?;
    for cell in &summary.moving {
        writeln!(out, "{:INDENT$}{cell}", "")?;
    }
    Ok(())
}

fn margins(out: &mut dyn Write, summary: &Summary) -> io::Result<()> {
    paragraph(
        out,
        "Margins are times to harm with the controller's reaction withheld, less the time to \
         its reaction, in s. The idea is that of the fault tolerant time interval of \
         ISO 26262-1 (an analogy).",
    )?;
    least(
        out,
        "Least margins without harm, outputs frozen at the onset",
        summary
            .frozen
            .iter()
            .map(|(margin, record)| (*margin, record, record.frozen_harm_after)),
    )?;
    least(
        out,
        "Least margins without harm, the faultless mission's outputs continued",
        summary
            .blind
            .iter()
            .map(|(margin, record)| (*margin, record, record.blind_harm_after)),
    )
}

fn least<'a>(
    out: &mut dyn Write,
    title: &str,
    rows: impl Iterator<Item = (i64, &'a Record, Option<Ticks>)>,
) -> io::Result<()> {
    writeln!(out, "\n{title}")?;
    let mut none = true;
    for (margin, record, harm) in rows {
        none = false;
        let text = |time: Option<Ticks>| time.map_or("-".to_owned(), |time| time.to_string());
        #[expect(clippy::cast_precision_loss, reason = "ticks of a flight")]
        let margin = margin as f64 / 100.0;
        let (harm, reaction) = (text(harm), text(record.reacted_after));
        writeln!(
            out,
            "  {margin:>6.2} = {harm} - {reaction}, from {} on",
            record.phase
        )?;
        writeln!(out, "{:INDENT$}{}", "", record.cell)?;
    }
    if none {
        writeln!(out, "{:INDENT$}none measured", "")?;
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
    writeln!(
        out,
        "\nHarm that is not accepted: {} cells",
        summary.unaccepted
    )
}

fn paragraph(out: &mut dyn Write, text: &str) -> io::Result<()> {
    for line in wrap(text, WIDTH) {
        writeln!(out, "{:INDENT$}{line}", "")?;
    }
    Ok(())
}
