//! A scenario that flies a trace again: that of its header, with what hands did and gave
//! beside it as actions and faults of their own.

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

use super::read::Trace;
use super::tick::{Mark, Note, Noted};
use crate::faults::Fault;
use crate::scenario::LONGEST;
use crate::scenario::deed::Deed;
use crate::shrink::edit::{self, Cue};

/// Why no scenario can be made of a trace.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotRebuilt {
    /// The text of its scenario is no TOML any more.
    #[error("the scenario in the trace cannot be read: {0}")]
    Text(String),
}

/// The text of a scenario that flies `trace` again, as long as it is: the file of its
/// header, its seed, and every fault and deed of hands noted in it. From the first deed
/// of the hands on, what the scenario's pilot had not begun is left out.
///
/// # Errors
/// When the text in the header is no TOML.
pub fn rebuild(trace: &Trace) -> Result<String, NotRebuilt> {
    let header = trace.header();
    let mut document: DocumentMut = header
        .scenario
        .text
        .parse()
        .map_err(|error: toml_edit::TomlError| NotRebuilt::Text(error.message().to_owned()))?;
    // What is beyond the range of a file's numbers was drawn by nobody.
    document["seed"] = value(i64::try_from(header.seed).unwrap_or(i64::MAX));
    let length = seconds(u32::try_from(trace.len()).unwrap_or(u32::MAX)).min(LONGEST);
    document["length"] = value(length);
    let taken = trace.notes().iter().find_map(first_deed);
    let marks = Marks::of(trace);
    if header.scenario.actions < edit::count(&document, Cue::Action) {
        // A trainee flew it: the demonstration's hands were left out from the start.
        document.remove("lesson");
        Marks::default().leave_to_hands(&mut document, 0);
    } else if let Some(taken) = taken {
        marks.leave_to_hands(&mut document, taken);
    }
    marks.end_ordered(&mut document, trace.notes());
    for note in trace.notes() {
        match &note.noted {
            Noted::Deed { words } => add(&mut document, "action", action(note.tick, words)),
            Noted::Fault { number, fault } => {
                let ended = ended(trace.notes(), *number, note.tick);
                add(&mut document, "fault", order(note.tick, fault, ended));
            }
            Noted::Ended { .. } | Noted::AllEnded | Noted::Remark { .. } => {}
        }
    }
    Ok(document.to_string())
}

fn seconds(tick: u32) -> f64 {
    // Hundredths, as the files of scenarios have them.
    f64::from(tick) / 100.0
}

/// The tick of a deed by which hands took the controls.
fn first_deed(note: &Note) -> Option<u32> {
    match &note.noted {
        Noted::Deed { words } => Deed::parse(words)
            .is_ok_and(Deed::is_by_hand)
            .then_some(note.tick),
        Noted::Fault { .. } | Noted::Ended { .. } | Noted::AllEnded | Noted::Remark { .. } => None,
    }
}

/// When each action and each fault began first.
#[derive(Debug, Default)]
struct Marks {
    actions: Vec<(usize, u32)>,
    faults: Vec<(usize, u32)>,
}

impl Marks {
    fn of(trace: &Trace) -> Self {
        let mut marks = Self::default();
        for tick in trace.ticks().flatten() {
            let at = u32::try_from(tick.frame.tick).unwrap_or(u32::MAX);
            for mark in tick.marks {
                match mark {
                    Mark::ActionBegan(number) => marks.actions.push((number as usize, at)),
                    Mark::FaultBegan(number) => marks.faults.push((number as usize, at)),
                    Mark::FaultEnded(_) | Mark::BitFlipped(_) => {}
                }
            }
        }
        marks
    }

    /// Takes out the actions of hands that had not begun when hands took the controls.
    fn leave_to_hands(&self, document: &mut DocumentMut, taken: u32) {
        for index in (0..edit::count(document, Cue::Action)).rev() {
            let by_hand = edit::words(document, index)
                .is_some_and(|words| Deed::parse(words).is_ok_and(Deed::is_by_hand));
            let begun = |(number, at): &(usize, u32)| *number == index && *at < taken;
            if by_hand && !self.actions.iter().any(begun) {
                edit::remove(document, Cue::Action, index);
            }
        }
    }

    /// Gives the faults of the scenario that hands ended the duration they had.
    fn end_ordered(&self, document: &mut DocumentMut, notes: &[Note]) {
        for (number, began) in &self.faults {
            let ended = u32::try_from(*number)
                .ok()
                .and_then(|number| ended(notes, number, *began));
            let tables = document
                .get_mut("fault")
                .and_then(Item::as_array_of_tables_mut);
            if let (Some(ended), Some(tables)) = (ended, tables)
                && let Some(table) = tables.get_mut(*number)
            {
                table["duration"] = value(seconds(ended - began));
            }
        }
    }
}

/// The tick in which a hand ended this fault, which began in tick `began`, if one did.
fn ended(notes: &[Note], number: u32, began: u32) -> Option<u32> {
    let later = notes.iter().filter(|note| note.tick > began);
    later
        .filter(|note| match note.noted {
            Noted::Ended { number: ended } => ended == number,
            Noted::AllEnded => true,
            Noted::Fault { .. } | Noted::Deed { .. } | Noted::Remark { .. } => false,
        })
        .map(|note| note.tick)
        .min()
}

fn action(tick: u32, words: &str) -> Table {
    let mut table = Table::new();
    table["at"] = value(seconds(tick));
    table["do"] = value(words);
    table
}

fn order(tick: u32, fault: &Fault, ended: Option<u32>) -> Table {
    let mut table = Table::new();
    table["at"] = value(seconds(tick));
    table["target"] = value(fault.target().to_string());
    table["kind"] = value(fault.kind().to_string());
    if let Some(strength) = fault.strength() {
        table["strength"] = value(strength);
    }
    let ended = ended.map(|ended| seconds(ended.saturating_sub(tick)));
    if let Some(duration) = ended.or(fault.duration()) {
        table["duration"] = value(duration);
    }
    if let Some(cycle) = fault.cycle() {
        table["cycle"] = value(cycle);
    }
    table
}

/// Adds a table to an array of tables, which is made if there is none.
fn add(document: &mut DocumentMut, array: &str, table: Table) {
    let tables = document
        .entry(array)
        .or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
    if let Some(tables) = tables.as_array_of_tables_mut() {
        tables.push(table);
    }
}
