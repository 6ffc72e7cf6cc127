//! The fault matrix can see: flown in place of the controller, each saboteur does harm or
//! breaks a requirement in a base mission or a cell where the honest controller does not.

use std::collections::BTreeSet;

use mastwright_sim::campaign::cell::Cell;
use mastwright_sim::faults::catalogue;
use mastwright_tests::methods::{Document, EXPLORATION};
use mastwright_tests::saboteurs::{Saboteur, Trial, all};
use mastwright_tests::sight::{CONCERNS, Honest, Seen, UNSEEN, beside};
use rayon::prelude::*;

/// Moments of the matrix in each state.
const INSTANTS: u64 = 3;
/// Random missions.
const MISSIONS: u64 = 20;

/// What was found of one saboteur.
struct Row {
    name: &'static str,
    breaks: Vec<&'static str>,
    tried: Vec<&'static str>,
    /// None: it cannot fly a mission.
    random: Option<Option<Seen>>,
    matrix: Option<Seen>,
}

impl Row {
    /// Faults of the cell in which the matrix sees it; none in a base mission.
    fn faults(&self) -> Option<usize> {
        let seen = self.matrix.as_ref()?;
        let cell = seen.place.parse::<Cell>();
        Some(cell.map_or(0, |cell| cell.faults.len()))
    }
}

#[test]
fn the_matrix_sees_every_saboteur_but_those_that_cannot_show_there() {
    let honest = Honest::new(INSTANTS, MISSIONS);
    let rows: Vec<Row> = saboteurs()
        .into_par_iter()
        .map(|entries| look(&honest, &entries))
        .collect();
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|row| match (&row.matrix, beside(UNSEEN, row.name)) {
            (Some(_), None) | (None, Some(_)) => None,
            (Some(seen), Some(_)) => Some(format!("{} is seen after all: {seen:?}", row.name)),
            (None, None) => Some(format!("{} is not seen", row.name)),
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let document = Document::read();
    document.hold(&table(&rows, &document), &below(&rows), "sight");
}

#[test]
fn the_lists_name_saboteurs_and_faults_that_there_are_and_each_once() {
    let saboteurs: BTreeSet<&str> = all().map(|saboteur| saboteur.name).collect();
    let faults: BTreeSet<String> = catalogue()
        .map(|entry| format!("{}/{}", entry.target, entry.kind))
        .collect();
    let mut named = BTreeSet::new();
    let concerned = CONCERNS.iter().map(|(name, _)| *name);
    for name in concerned.chain(UNSEEN.iter().map(|(name, _)| *name)) {
        assert!(saboteurs.contains(name), "{name}");
        assert!(named.insert(name), "{name} stands twice");
    }
    for (name, concerns) in CONCERNS {
        for fault in *concerns {
            let known = faults.contains(*fault) || fault.parse::<Cell>().is_ok();
            assert!(known, "{name}: {fault}");
        }
    }
}

/// Every saboteur with all its entries, in the order of the tables.
fn saboteurs() -> Vec<Vec<&'static Saboteur>> {
    let mut groups: Vec<Vec<&'static Saboteur>> = Vec::new();
    for saboteur in all() {
        match groups
            .iter_mut()
            .find(|group| group[0].name == saboteur.name)
        {
            Some(group) => group.push(saboteur),
            None => groups.push(vec![saboteur]),
        }
    }
    groups.sort_by_key(|group| group[0].breaks);
    groups
}

fn look(honest: &Honest, entries: &[&'static Saboteur]) -> Row {
    let name = entries[0].name;
    let mut tried: Vec<&str> = entries.iter().map(|entry| entry.tried()).collect();
    tried.dedup();
    let eyes = match entries[0].trial {
        Trial::Flown { eyes, .. } => Some(eyes),
        Trial::Checked { .. } => None,
    };
    let concerns = beside(CONCERNS, name).unwrap_or_default();
    let mut breaks: Vec<&str> = entries.iter().map(|entry| entry.breaks).collect();
    breaks.dedup();
    Row {
        name,
        breaks,
        tried,
        random: eyes.map(|eyes| (eyes.random)(honest)),
        matrix: eyes.and_then(|eyes| (eyes.matrix)(honest, concerns)),
    }
}

/// The table; what the exploration found is as it stands.
fn table(rows: &[Row], document: &Document) -> Vec<Vec<String>> {
    let heads = [
        "saboteur",
        "breaks",
        "trial",
        "random missions",
        "fault matrix",
        EXPLORATION,
    ];
    let mut table = vec![heads.map(str::to_owned).to_vec()];
    for row in rows {
        let random = match &row.random {
            None => "not flown".to_owned(),
            Some(None) => format!("not caught in {MISSIONS}"),
            Some(Some(seen)) => words(seen),
        };
        let matrix = match (&row.matrix, beside(UNSEEN, row.name)) {
            (Some(seen), _) => words(seen),
            (None, Some(why)) => format!("not by this method: {why}"),
            (None, None) => "not caught".to_owned(),
        };
        table.push(vec![
            row.name.to_owned(),
            row.breaks.join(", "),
            row.tried.join(", "),
            random,
            matrix,
            document.cell(row.name, EXPLORATION).to_owned(),
        ]);
    }
    table
}

fn below(rows: &[Row]) -> String {
    let count = |seen: fn(&Row) -> bool| rows.iter().filter(|row| seen(row)).count();
    format!(
        "Of {} saboteurs the trials catch all, {MISSIONS} random missions {}, the fault matrix \
         {}:\n{} in a base mission without a fault, {} in a cell with one fault, {} only in one with \
         several.\n",
        rows.len(),
        count(|row| matches!(row.random, Some(Some(_)))),
        count(|row| row.matrix.is_some()),
        count(|row| row.faults() == Some(0)),
        count(|row| row.faults() == Some(1)),
        count(|row| row.faults() > Some(1)),
    )
}

fn words(seen: &Seen) -> String {
    format!("`{}`: {}", seen.place, seen.broke.join(", "))
}
