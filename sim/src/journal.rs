//! The controller's own record, read back from the bytes of its non-volatile memory.
//!
//! Responsibilities:
//! 1. Say what each of the two slots holds: the newest record, a stale one, a torn or
//!    foreign one, nothing. A slot is read by the controller's own reader, each alone.
//! 2. Tell the sessions in a record: what happened between one power-up and the next.
//! 3. Make the likeliest scenario of it, to begin from: see [`skeleton`].

mod causes;
pub mod skeleton;

pub use causes::{Cause, cause};

use mastwright_core::journal::{
    Damage, Entry, Journal, Origin, Record, Recovered, Retained, SLOT_BYTES, Slot, SlotState,
};
use mastwright_core::outputs::Event;

use crate::memory::Memory;
use crate::report::words;

/// Bytes of both slots, one behind the other.
pub const BYTES: usize = 2 * SLOT_BYTES;

/// What was found in the bytes of a controller's memory.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What the controller would take at power-up.
    pub recovered: Recovered,
    /// Each slot by itself.
    pub slots: [Held; 2],
}

/// What was found in one slot.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Which.
    pub slot: Slot,
    /// What it holds.
    pub state: SlotState,
    /// It holds the record that counts.
    pub newest: bool,
    /// What must not be forgotten, and the records, oldest first; none unless whole.
    pub content: Option<(Retained, Vec<Record>)>,
    /// Of a damaged slot that begins as a record does: the sequence number that stands
    /// in it. It is not proven.
    pub claimed: Option<u32>,
}

/// Reads both slots.
#[must_use]
pub fn read(slots: &[[u8; SLOT_BYTES]; 2]) -> Found {
    let (_, recovered) = Journal::recover(&mut Memory::of(*slots));
    let found = [Slot::A, Slot::B].map(|slot| {
        let index = match slot {
            Slot::A => 0,
            Slot::B => 1,
        };
        // The other slot blank: the reader then tells of this one alone.
        let mut alone = [[0xff; SLOT_BYTES]; 2];
        alone[index] = slots[index];
        let (_, read) = Journal::recover(&mut Memory::of(alone));
        let state = read.slots[index];
        Held {
            slot,
            state,
            newest: recovered.origin == Origin::Slot(slot),
            content: (read.origin == Origin::Slot(slot))
                .then(|| (read.retained, read.records.to_vec())),
            claimed: claimed(state, &slots[index]),
        }
    });
    Found {
        recovered,
        slots: found,
    }
}

/// The sequence number in a damaged slot that begins as a record does.
fn claimed(state: SlotState, bytes: &[u8; SLOT_BYTES]) -> Option<u32> {
    match state {
        SlotState::Damaged(Damage::Checksum | Damage::Version | Damage::Content) => {
            let bytes = bytes.get(8..12)?.try_into().ok()?;
            Some(u32::from_le_bytes(bytes))
        }
        SlotState::Damaged(Damage::Magic)
        | SlotState::Whole { .. }
        | SlotState::Blank
        | SlotState::Unreadable => None,
    }
}

impl Held {
    /// What it holds, in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self.state {
            SlotState::Whole { sequence } if self.newest => {
                format!("whole, record {sequence}: the newest")
            }
            SlotState::Whole { sequence } => {
                format!("whole, record {sequence}: stale, the other slot is newer")
            }
            SlotState::Blank => "blank: never written".to_owned(),
            SlotState::Unreadable => "not readable".to_owned(),
            SlotState::Damaged(damage) => {
                let claimed = self.claimed.map_or_else(String::new, |sequence| {
                    format!("; it says it is record {sequence}, which nothing proves")
                });
                format!("{}{claimed}", damaged(damage))
            }
        }
    }
}

/// Damage, in words.
const fn damaged(damage: Damage) -> &'static str {
    match damage {
        Damage::Magic => "no record: it does not begin as one does",
        Damage::Checksum => {
            "torn: the checksum does not fit; power failed while it was written, or a bit flipped"
        }
        Damage::Version => "whole, of a layout that this program does not know",
        Damage::Content => "whole, with a code that this program does not know",
    }
}

/// What happened between one power-up and the next.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Session {
    /// It begins with the power-up; otherwise its beginning has fallen out of the record.
    pub from_start: bool,
    /// Ticks since power-up, and what happened.
    pub entries: Vec<(u32, Entry)>,
}

/// The sessions of records that stand oldest first.
#[must_use]
pub fn sessions(records: &[Record]) -> Vec<Session> {
    let mut sessions = Vec::new();
    for record in records {
        if record.entry == Entry::Started {
            sessions.push(Session {
                from_start: true,
                entries: Vec::new(),
            });
            continue;
        }
        if sessions.is_empty() {
            sessions.push(Session::default());
        }
        if let Some(session) = sessions.last_mut() {
            session.entries.push((record.at.get(), record.entry));
        }
    }
    sessions
}

/// What happened, in words.
#[must_use]
pub fn told(entry: &Entry) -> String {
    match entry {
        Entry::Started => "power came up".to_owned(),
        Entry::Lost(count) => format!("{count} events found no room"),
        Entry::Happened(event) => match event {
            Event::Went { from, to } => {
                format!("went from {} to {}", from.name(), words::state(*to))
            }
            Event::Intended(intention) => format!("asked: {}", words::intention(*intention)),
            Event::Ignored(intention) => {
                format!("asked: {}, without effect", words::intention(*intention))
            }
            Event::Latched(fault) => {
                let class = words::class(fault.class());
                format!("{class}: {} ({fault:?})", words::fault(*fault))
            }
            Event::Cleared(fault) => format!("cleared: {} ({fault:?})", words::fault(*fault)),
            Event::Bus(stage) => format!("bus {}", words::stage(*stage)),
            Event::Acknowledged => "alerts acknowledged".to_owned(),
            Event::RestraintConfirmed => "restraint of the blade confirmed".to_owned(),
            Event::RestraintEnded => "restraint of the blade ended".to_owned(),
        },
    }
}
