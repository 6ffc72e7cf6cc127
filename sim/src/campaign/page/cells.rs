//! Every cell in columns of small numbers, as the page's script reads them.
//!
//! Each distinct text stands once in a list, and columns hold its place there. Times are
//! ticks of 10 ms; -1 stands for a time that did not come.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::campaign::record::{End, Outcome, Record, Ticks};

/// Texts, each once, in the order they first came.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    list: Vec<String>,
    places: BTreeMap<String, i32>,
}

impl Names {
    /// The place of `name` in the list, to which it is added if it is new.
    fn place(&mut self, name: &str) -> i32 {
        if let Some(place) = self.places.get(name) {
            return *place;
        }
        let place = i32::try_from(self.list.len()).unwrap_or(i32::MAX);
        self.list.push(name.to_owned());
        self.places.insert(name.to_owned(), place);
        place
    }

    /// The place of a text that came.
    pub(super) fn find(&self, name: &str) -> Option<i32> {
        self.places.get(name).copied()
    }
}

impl Serialize for Names {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.list.serialize(to)
    }
}

/// The columns and the lists of texts they point into.
#[derive(Clone, Debug, Default, Serialize)]
pub(super) struct Cells {
    missions: Names,
    phases: Names,
    instants: Names,
    targets: Names,
    /// What follows the tick in a cell's name.
    faults: Names,
    broke: Names,
    told: Names,
    states: Names,
    mission: Vec<i32>,
    onset: Vec<i32>,
    fault: Vec<i32>,
    target: Vec<i32>,
    phase: Vec<i32>,
    instant: Vec<i32>,
    outcome: Vec<u8>,
    hazards: Vec<i32>,
    harm: Vec<i32>,
    requirements: Vec<i32>,
    broken: Vec<i32>,
    by: Vec<i32>,
    detected: Vec<i32>,
    reacted: Vec<i32>,
    state: Vec<i32>,
    end: Vec<u8>,
    emergency: Vec<i32>,
    frozen: Vec<i32>,
    blind: Vec<i32>,
}

fn ticks(time: Option<Ticks>) -> i32 {
    time.map_or(-1, |time| i32::try_from(time.0).unwrap_or(i32::MAX))
}

/// The place of one of a few in the list of all.
#[expect(clippy::cast_possible_truncation, reason = "a handful of names")]
fn which<T: PartialEq>(all: &[T], one: &T) -> u8 {
    all.iter().position(|other| other == one).unwrap_or(0) as u8
}

impl Cells {
    /// Adds one record.
    pub(super) fn see(&mut self, record: &Record) {
        self.mission.push(self.missions.place(&record.mission));
        self.onset.push(ticks(Some(record.onset)));
        self.fault.push(self.faults.place(fault_of(&record.cell)));
        self.target.push(self.targets.place(&record.target));
        self.phase.push(self.phases.place(&record.phase));
        self.instant.push(self.instants.place(&record.instant));
        self.outcome.push(which(Outcome::ALL, &record.outcome));
        self.hazards.push(self.broke.place(&record.hazards));
        self.harm.push(ticks(record.harm_after));
        self.requirements
            .push(self.broke.place(&record.requirements));
        self.broken.push(ticks(record.broken_after));
        self.by.push(self.told.place(&record.detected_by));
        self.detected.push(ticks(record.detected_after));
        self.reacted.push(ticks(record.reacted_after));
        self.state.push(self.states.place(&record.final_state));
        self.end.push(which(End::ALL, &record.end));
        self.emergency.push(ticks(record.emergency));
        self.frozen.push(ticks(record.frozen_harm_after));
        self.blind.push(ticks(record.blind_harm_after));
    }

    /// The place of a target in its list.
    pub(super) fn target(&self, name: &str) -> Option<i32> {
        self.targets.find(name)
    }

    /// The place of a phase in its list.
    pub(super) fn phase(&self, name: &str) -> Option<i32> {
        self.phases.find(name)
    }
}

/// What follows mission and tick in a cell's name.
fn fault_of(cell: &str) -> &str {
    let after = cell.split_once('@').map_or(cell, |(_, after)| after);
    after.split_once('/').map_or(after, |(_, fault)| fault)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_can_be_named_again_from_its_columns() {
        let mut cells = Cells::default();
        let name = "stop-in-flight@900/actuator.motor/dead,1000/mechanics.gust/acts=-12+1";
        cells.see(&Record {
            cell: name.to_owned(),
            mission: "stop-in-flight".to_owned(),
            onset: Ticks(900),
            ..Record::example()
        });
        let json = serde_json::to_value(&cells).expect("numbers and texts");
        let text = |list: &str, column: &str| {
            let place = json[column][0].as_u64().expect("a place") as usize;
            json[list][place].as_str().expect("a text").to_owned()
        };
        let again = format!(
            "{}@{}/{}",
            text("missions", "mission"),
            json["onset"][0],
            text("faults", "fault")
        );
        assert_eq!(again, name);
        assert_eq!(json["harm"][0], -1);
    }
}
