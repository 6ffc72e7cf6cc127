//! The journal: what happened, and what must survive a loss of power (SR-17).
//!
//! Responsibilities:
//! 1. Keep the latest records in memory, each stamped with a tick count given from
//!    outside; neither the controller nor the journal reads a clock.
//! 2. Keep in non-volatile memory what must not be forgotten: the latched faults, the
//!    last state, and the latest few records.
//! 3. Never misread: a record torn at any byte, or with any bit flipped, is detected,
//!    and the record before it is used instead.
//!
//! Operation: [`Journal::recover`] once at power-up, [`Journal::note`] every tick, and
//! [`Journal::save`] whenever there is time after the outputs are applied. It writes
//! only when the latched faults or the state have changed since the last record;
//! other events ride along.
//!
//! Terms: *record*: an entry with its stamp; *slot*: one of two places in
//! non-volatile memory; *retained*: what the controller is given back at power-up.

mod code;
mod slot;
mod store;

use heapless::{Deque, Vec};

use crate::fault::Faults;
use crate::outputs::{Event, Outputs};
use crate::state::State;

use slot::Content;
pub use slot::{Damage, SLOT_BYTES};
pub use store::{NonVolatile, SaveError, Slot, SlotState};

/// How many records are kept in memory.
pub const RING: usize = 128;
/// How many records are kept over a loss of power.
pub const KEPT: usize = 24;

/// A count of ticks of 10 ms since power-up, given from outside; wraps after 497 days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Stamp(u32);

impl Stamp {
    /// A count of ticks.
    #[must_use]
    pub const fn new(ticks: u32) -> Self {
        Self(ticks)
    }

    /// The count.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// One tick later.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.wrapping_add(1))
    }
}

/// What a record tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Entry {
    /// Power came up: the stamps that follow count from here.
    Started,
    /// So many events of one tick found no room.
    Lost(u8),
    /// The controller told of this.
    Happened(Event),
}

/// An entry with its stamp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Record {
    /// When it happened.
    pub at: Stamp,
    /// What happened.
    pub entry: Entry,
}

/// What must not be forgotten over a loss of power.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Retained {
    /// The faults that were latched.
    pub faults: Faults,
    /// The last state, to be told, never to be resumed: after power-up nothing moves
    /// by itself (SR-05).
    pub state: State,
}

/// Where what was recovered comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Origin {
    /// From this slot.
    Slot(Slot),
    /// From nowhere: neither slot holds a whole record.
    Empty,
}

/// What was found at power-up.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Recovered {
    /// Where it comes from.
    pub origin: Origin,
    /// What must not be forgotten; the default if `origin` is [`Origin::Empty`].
    pub retained: Retained,
    /// The latest records, oldest first.
    pub records: Vec<Record, KEPT>,
    /// What each slot holds.
    pub slots: [SlotState; 2],
}

impl Recovered {
    /// True when there was a record once and none is left: faults may have been
    /// forgotten, and the crew should know. Memory never written is no such case.
    #[must_use]
    pub fn forgot(&self) -> bool {
        self.origin == Origin::Empty && self.slots != [SlotState::Blank; 2]
    }
}

/// Whether a save wrote anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Saved {
    /// Nothing worth keeping has changed since the last record.
    Unchanged,
    /// A record was written to this slot and read back.
    Written(Slot),
}

/// The journal.
#[derive(Clone, Debug)]
pub struct Journal {
    ring: Deque<Record, RING>,
    now: Retained,
    kept: Option<Retained>,
    sequence: u32,
    target: Slot,
}

impl Journal {
    /// Reads what the last power-up left behind, and opens a journal that goes on
    /// from there.
    pub fn recover<N: NonVolatile>(memory: &mut N) -> (Self, Recovered) {
        let found = store::read(memory);
        let mut journal = Self {
            ring: Deque::new(),
            now: Retained::default(),
            kept: None,
            sequence: 0,
            target: Slot::A,
        };
        let mut recovered = Recovered {
            origin: Origin::Empty,
            retained: Retained::default(),
            records: Vec::new(),
            slots: found.slots,
        };
        if let Some((slot, content)) = found.newest {
            for record in &content.records {
                journal.record(record.at, record.entry);
            }
            journal.now = content.retained;
            journal.kept = Some(content.retained);
            journal.sequence = content.sequence;
            journal.target = slot.other();
            recovered.origin = Origin::Slot(slot);
            recovered.retained = content.retained;
            recovered.records = content.records;
        }
        journal.record(Stamp::default(), Entry::Started);
        (journal, recovered)
    }

    /// Notes what the controller told in one tick.
    pub fn note(&mut self, at: Stamp, outputs: &Outputs) {
        for event in &outputs.events {
            self.record(at, Entry::Happened(*event));
        }
        if outputs.events_lost > 0 {
            self.record(at, Entry::Lost(outputs.events_lost));
        }
        self.now = Retained {
            faults: outputs.indications.faults,
            state: outputs.indications.state,
        };
    }

    /// True when something worth keeping has changed since the last record.
    #[must_use]
    pub fn is_due(&self) -> bool {
        self.kept != Some(self.now)
    }

    /// Writes a record if one is due.
    ///
    /// # Errors
    /// The record was not kept. It stays due, and the same slot is tried again: the
    /// other holds the only whole record, which must not be put at risk.
    pub fn save<N: NonVolatile>(&mut self, memory: &mut N) -> Result<Saved, SaveError<N::Error>> {
        if !self.is_due() {
            return Ok(Saved::Unchanged);
        }
        let content = Content {
            sequence: self.sequence.wrapping_add(1),
            retained: self.now,
            records: self.latest(),
        };
        let slot = self.target;
        store::write(memory, slot, &content)?;
        self.sequence = content.sequence;
        self.kept = Some(self.now);
        self.target = slot.other();
        Ok(Saved::Written(slot))
    }

    /// The records in memory, oldest first, those recovered at power-up included.
    pub fn records(&self) -> impl Iterator<Item = &Record> {
        self.ring.iter()
    }

    /// The records to be kept over a loss of power, oldest first.
    fn latest(&self) -> Vec<Record, KEPT> {
        let older = self.ring.len().saturating_sub(KEPT);
        let mut latest = Vec::new();
        for record in self.records().skip(older) {
            // All but `KEPT` were skipped: there is always room.
            let _ = latest.push(*record);
        }
        latest
    }

    fn record(&mut self, at: Stamp, entry: Entry) {
        if self.ring.is_full() {
            self.ring.pop_front();
        }
        // One has just gone if there was no room.
        let _ = self.ring.push_back(Record { at, entry });
    }
}
