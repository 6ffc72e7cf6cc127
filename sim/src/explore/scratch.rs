//! What saves a node from doing the same twice: the sets of timers tried in a step, and the
//! outcomes already known. Each thread keeps its own, to be used again.

use std::cell::Cell;

use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor};
use mastwright_core::sequencer::{Asks, Sense};
use mastwright_core::walk::Timers;
use rustc_hash::FxHashMap;

use super::cases::Cases;
use super::checks::CHECKS;
use super::engine::Packed;
use super::plant::{Pace, Place};
use super::sense::Sensed;
use super::told::Told;
use super::watch::Watch;

thread_local! {
    static SCRATCH: Cell<Scratch> = Cell::default();
}

/// What is needed while a node is expanded.
#[derive(Default)]
pub(super) struct Scratch {
    pub(super) known: Known,
    pub(super) sets: Sets,
    pub(super) readings: KnownReadings,
    /// What the readings that are being gathered come to, and which of them it was.
    pub(super) senses: FxHashMap<Comes, usize>,
}

/// What a reading comes to: what the parts make of it, the memory left, the timers that may
/// run out, and what the checks look at.
pub(super) type Comes = (Sense, u64, Timers, Told);

/// What readings are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Of {
    pub(super) blade: (Place, Pace),
    /// Faults are being cleared.
    pub(super) clears: bool,
}

/// Readings of a node that come to different things.
pub(super) struct Readings {
    pub(super) of: Of,
    /// With what each comes to, if that is known.
    pub(super) all: Vec<(Reading, Option<Comes>)>,
    /// Of those that come to the same, as far as so much is asked, one.
    pub(super) where_asked: Vec<(Asks, Vec<Reading>)>,
}

/// What may be read.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    pub(super) sensed: Sensed,
    /// The cases in which it may be.
    pub(super) cases: Cases,
    pub(super) told: Told,
}

/// The readings of a node that were gathered already: a handful.
#[derive(Default)]
pub(super) struct KnownReadings(Vec<Readings>);

impl KnownReadings {
    /// Takes those of this, if they are known.
    pub(super) fn take(&mut self, of: &Of) -> Option<Readings> {
        let at = self.0.iter().position(|known| known.of == *of)?;
        Some(self.0.swap_remove(at))
    }

    /// Keeps readings for the next hands.
    pub(super) fn keep(&mut self, readings: Readings) {
        self.0.push(readings);
    }
}

/// Calls `what` with the scratch of this thread, nothing known in it.
pub(super) fn with(what: impl FnOnce(&mut Scratch)) {
    let mut scratch = SCRATCH.take();
    what(&mut scratch);
    scratch.known.0.clear();
    scratch.readings.0.clear();
    SCRATCH.set(scratch);
}

/// Sets of timers still to be tried in a step, each once, with the cases in which they may
/// run out together.
#[derive(Default)]
pub(super) struct Sets {
    seen: Vec<(Timers, Cases)>,
    next: usize,
}

impl Sets {
    /// Begins with no timer.
    pub(super) fn begin(&mut self, cases: Cases) {
        self.seen.clear();
        self.seen.push((Timers::empty(), cases));
        self.next = 0;
    }

    /// Adds a set that is larger than the one that was last to be tried; so all cases of a
    /// set are known when its turn comes.
    pub(super) fn add(&mut self, set: Timers, cases: Cases) {
        if cases.is_empty() {
            return;
        }
        match self.seen.iter_mut().find(|(seen, _)| *seen == set) {
            Some((_, known)) => *known |= cases,
            None => self.seen.push((set, cases)),
        }
    }

    pub(super) fn next(&mut self) -> Option<(Timers, Cases)> {
        let set = *self.seen.get(self.next)?;
        self.next += 1;
        Some(set)
    }
}

/// What a tick comes to, as far as it can be told from others out of the same node.
#[derive(Clone, Copy)]
pub(super) struct Outcome<'a, M> {
    /// The packed memory, and the mind.
    pub(super) memory: u64,
    pub(super) mind: M,
    pub(super) watch: &'a Watch,
    pub(super) drives: &'a Drives,
    /// The blade goes on from where it is.
    pub(super) blade: (Place, Pace),
    /// The checks that are broken.
    pub(super) broken: u64,
}

/// Bits that drives, observer and blade take in the key of an outcome; the checks have the rest.
const DRIVES: u32 = 12;
const WATCH: u32 = 8;
const BLADE: u32 = 4;
const _: () = assert!(CHECKS.len() <= (u64::BITS - DRIVES - WATCH - BLADE) as usize);

/// The outcomes of ticks that a node is already known to lead to, and in which cases.
#[derive(Default)]
pub(super) struct Known(FxHashMap<(u64, u64, u64), Cases>);

impl Known {
    /// Remembers an outcome; the cases in which it is new.
    pub(super) fn new_of<M: Packed>(&mut self, outcome: &Outcome<'_, M>, cases: Cases) -> Cases {
        let mut mind = [0; 8];
        let bytes = outcome.mind.to_bytes();
        mind[..bytes.as_ref().len()].copy_from_slice(bytes.as_ref());
        let (place, pace) = outcome.blade;
        let rest = outcome.broken << (DRIVES + WATCH + BLADE)
            | ((place as u64) << 2 | pace as u64) << (DRIVES + WATCH)
            | u64::from(outcome.watch.pack()) << DRIVES
            | u64::from(drives_number(outcome.drives));
        let key = (outcome.memory, u64::from_le_bytes(mind), rest);
        let known = self.0.entry(key).or_default();
        let new = cases - *known;
        *known |= new;
        new
    }
}

/// What the plant can tell of drives, as a number.
fn drives_number(drives: &Drives) -> u32 {
    let mast = match drives.mast {
        MastDrive::Off => 0,
        MastDrive::Extend(_) => 1,
        MastDrive::Retract(_) => 2,
    };
    let doors = match drives.doors {
        DoorDrive::Off => 0,
        DoorDrive::Open => 1,
        DoorDrive::Close => 2,
    };
    let torque = matches!(drives.motor, Motor::Thrust(_));
    let bus = drives.bus;
    let [one, two] = bus.packs;
    [
        drives.motor_enable,
        torque,
        bus.precharge,
        bus.main,
        bus.discharge,
        one,
        two,
    ]
    .iter()
    .fold(mast + 3 * doors, |number, &flag| {
        2 * number + u32::from(flag)
    })
}
