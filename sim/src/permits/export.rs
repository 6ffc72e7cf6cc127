//! Permissions for other programs: CSV and JSON.

use std::io::{self, Write};

use mastwright_core::interlock::{Condition, Conditions};
use serde::Serialize;

use super::name;
use super::rows::{Row, is_proven, truth};
use super::study::{Effect, Study};
use super::text::number;

/// Which rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// Those that show every condition's effect.
    Shown,
    /// All.
    Whole,
}

/// Writes rows as CSV, a line each: the permission; the number of the row (bit *i* is the
/// condition in the *i*-th column that is not empty, counted from 0); `yes` or `no` for
/// permitted, and for whether it can come about; the conditions whose effect it shows;
/// the reasons for denial; then a column for each condition of any permission shown, `T`
/// or `F`, empty where the permission does not look at it.
///
/// # Errors
/// When `out` cannot be written.
pub fn csv(out: &mut dyn Write, studies: &[Study], extent: Extent) -> io::Result<()> {
    let concerned: Conditions = studies
        .iter()
        .flat_map(|study| study.rows.conditions().iter().copied())
        .collect();
    // A single permission keeps its own order; several share that of the controller.
    let columns: Vec<Condition> = match studies {
        [study] => study.rows.conditions().to_vec(),
        _ => concerned.iter().collect(),
    };
    let mut writer = csv::Writer::from_writer(out);
    let fixed = [
        "permission",
        "row",
        "permitted",
        "possible",
        "shows",
        "reasons",
    ];
    let names = columns.iter().map(|condition| format!("{condition:?}"));
    writer.write_record(fixed.map(str::to_owned).into_iter().chain(names))?;
    for study in studies {
        let rows: Vec<Row> = match extent {
            Extent::Shown => study.cover.rows.clone(),
            Extent::Whole => (0..study.rows.count()).collect(),
        };
        for row in rows {
            writer.write_record(record(study, row, &columns))?;
        }
    }
    writer.flush()
}

fn record(study: &Study, row: Row, columns: &[Condition]) -> Vec<String> {
    let yes = |is: bool| if is { "yes" } else { "no" }.to_owned();
    let mut record = vec![
        name(study.permission),
        row.to_string(),
        yes(study.decides[row]),
        yes(study.possible(row)),
        shows(study, row).join(" "),
        reasons(study, row).join(" "),
    ];
    record.extend(columns.iter().map(|column| {
        let place = study.rows.conditions().iter().position(|one| one == column);
        place.map_or("", |place| truth(row, place)).to_owned()
    }));
    record
}

/// The conditions of whose pairs `row` is one.
fn shows(study: &Study, row: Row) -> Vec<String> {
    let each = study.rows.conditions().iter().zip(&study.cover.pairs);
    each.filter(|(_, pair)| pair.is_some_and(|pair| pair.with == row || pair.without == row))
        .map(|(condition, _)| format!("{condition:?}"))
        .collect()
}

fn reasons(study: &Study, row: Row) -> Vec<String> {
    let reasons = study.reasons[row];
    reasons.iter().map(|reason| format!("{reason:?}")).collect()
}

#[derive(Serialize)]
struct Permit {
    permission: String,
    allows: &'static str,
    requirements: &'static [&'static str],
    conditions: Vec<Listed>,
    clauses: Vec<Needs>,
    rows: usize,
    permitted: usize,
    shown: Vec<Shown>,
    findings: Vec<String>,
}

#[derive(Serialize)]
struct Listed {
    name: String,
    meaning: &'static str,
    /// Numbers among the rows shown.
    denied_in: Option<usize>,
    permitted_in: Option<usize>,
    /// Why it is kept, where it decides nothing in rows that can come about.
    kept: Option<&'static str>,
}

#[derive(Serialize)]
struct Needs {
    any_of: Vec<String>,
    otherwise: String,
    words: &'static str,
}

#[derive(Serialize)]
struct Shown {
    number: usize,
    proven: Vec<String>,
    permitted: bool,
    possible: bool,
    reasons: Vec<String>,
}

/// Writes permissions as one JSON document.
///
/// # Errors
/// When `out` cannot be written.
pub fn json(out: &mut dyn Write, studies: &[Study]) -> io::Result<()> {
    let permits: Vec<Permit> = studies.iter().map(permit).collect();
    serde_json::to_writer_pretty(&mut *out, &permits)?;
    writeln!(out)
}

fn permit(study: &Study) -> Permit {
    Permit {
        permission: name(study.permission),
        allows: study.permission.meaning(),
        requirements: study.permission.requirements(),
        conditions: listed(study),
        clauses: study
            .clauses
            .iter()
            .map(|clause| Needs {
                any_of: clause.any_of.iter().map(|one| format!("{one:?}")).collect(),
                otherwise: format!("{:?}", clause.reason),
                words: clause.reason.words(),
            })
            .collect(),
        rows: study.rows.count(),
        permitted: study.permitting(),
        shown: study
            .cover
            .rows
            .iter()
            .map(|row| shown(study, *row))
            .collect(),
        findings: study.findings.iter().map(ToString::to_string).collect(),
    }
}

fn listed(study: &Study) -> Vec<Listed> {
    let each = study.rows.conditions().iter().zip(&study.effects);
    each.map(|(condition, effect)| {
        let (pair, kept) = match effect {
            Effect::Shown(pair) => (Some(pair), None),
            Effect::Coupled(pair, why) => (Some(pair), *why),
            Effect::None => (None, None),
        };
        Listed {
            name: format!("{condition:?}"),
            meaning: condition.meaning(),
            denied_in: pair.map(|pair| number(study, pair.without)),
            permitted_in: pair.map(|pair| number(study, pair.with)),
            kept,
        }
    })
    .collect()
}

fn shown(study: &Study, row: Row) -> Shown {
    let conditions = study.rows.conditions().iter().enumerate();
    Shown {
        number: number(study, row),
        proven: conditions
            .filter(|(index, _)| is_proven(row, *index))
            .map(|(_, condition)| format!("{condition:?}"))
            .collect(),
        permitted: study.decides[row],
        possible: study.possible(row),
        reasons: reasons(study, row),
    }
}
