//! The journal against memory that loses its power, its bits or its patience (SR-17).
#![allow(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used)]
#![allow(clippy::arithmetic_side_effects, clippy::panic, clippy::as_conversions)]

use mastwright_core::fault::{Fault, Faults};
use mastwright_core::journal::{
    Damage, Entry, Journal, KEPT, NonVolatile, Origin, RING, Record, Recovered, Retained,
    SLOT_BYTES, SaveError, Saved, Slot, SlotState, Stamp,
};
use mastwright_core::outputs::{Event, Outputs};
use mastwright_core::state::{Halt, State};
use mastwright_core::{Config, Inputs, Sequencer};

/// What a byte that was not reached holds once the power is gone.
#[derive(Clone, Copy, Debug)]
enum Rest {
    /// What it held before.
    Untouched,
    /// The erased value: the slot was erased before it was written.
    Erased,
    /// Anything.
    Scrambled,
}

#[derive(Debug, PartialEq, Eq)]
enum Failure {
    PowerGone,
    Broken,
}

#[derive(Clone)]
struct Memory {
    slots: [[u8; SLOT_BYTES]; 2],
    writes: usize,
    /// The next write stops after so many bytes.
    cut: Option<(usize, Rest)>,
    broken: Option<Slot>,
    deaf: bool,
    forgetful: bool,
}

impl Memory {
    fn blank() -> Self {
        Self {
            slots: [[0xFF; SLOT_BYTES]; 2],
            writes: 0,
            cut: None,
            broken: None,
            deaf: false,
            forgetful: false,
        }
    }
}

impl NonVolatile for Memory {
    type Error = Failure;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Failure> {
        if self.deaf {
            return Err(Failure::Broken);
        }
        into.copy_from_slice(&self.slots[slot as usize]);
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Failure> {
        self.writes += 1;
        if self.broken == Some(slot) {
            return Err(Failure::Broken);
        }
        if self.forgetful {
            return Ok(());
        }
        let held = &mut self.slots[slot as usize];
        let Some((reached, rest)) = self.cut.take() else {
            held.copy_from_slice(bytes);
            return Ok(());
        };
        for (at, byte) in held.iter_mut().enumerate() {
            *byte = match rest {
                _ if at < reached => bytes[at],
                Rest::Untouched => *byte,
                Rest::Erased => 0xFF,
                Rest::Scrambled => byte.wrapping_mul(29).wrapping_add(at as u8),
            };
        }
        Err(Failure::PowerGone)
    }
}

/// What the controller tells when it enters `state` with `faults` latched.
fn told(state: State, faults: Faults) -> Outputs {
    let mut outputs = Outputs::default();
    outputs.indications.state = state;
    outputs.indications.faults = faults;
    outputs.emit(Event::Went {
        from: State::Waking,
        to: state,
    });
    for fault in faults {
        outputs.emit(Event::Latched(fault));
    }
    outputs
}

/// A flight in six records, each unlike the others.
fn flight() -> Vec<Outputs> {
    vec![
        told(State::Stowed, Faults::empty()),
        told(State::DeployMast, Faults::empty()),
        told(State::Thrust, Fault::ChargeLow.into()),
        told(State::StowPark, Fault::ChargeLow | Fault::BladeDisagreement),
        told(
            State::Halted(Halt::NotParked),
            Fault::ChargeLow | Fault::BladeDisagreement | Fault::ParkOverdue,
        ),
        told(State::Resting, Fault::ParkOverdue.into()),
    ]
}

fn retained(outputs: &Outputs) -> Retained {
    Retained {
        faults: outputs.indications.faults,
        state: outputs.indications.state,
    }
}

fn recovered(memory: &mut Memory) -> Recovered {
    Journal::recover(memory).1
}

/// A memory and a journal after the first `count` records of the flight.
fn after(count: usize) -> (Memory, Journal) {
    let mut memory = Memory::blank();
    let (mut journal, _) = Journal::recover(&mut memory);
    for (tick, outputs) in (0..).zip(flight().iter().take(count)) {
        journal.note(Stamp::new(tick), outputs);
        let saved = journal.save(&mut memory).unwrap();
        assert!(matches!(saved, Saved::Written(_)));
    }
    (memory, journal)
}

#[test]
fn power_lost_at_any_byte_of_any_write_leaves_the_record_before_or_the_new_one() {
    for (written, outputs) in flight().iter().enumerate() {
        let (memory, journal) = after(written);
        let before = recovered(&mut memory.clone());
        let (mut whole, mut uncut) = (memory.clone(), journal.clone());
        uncut.note(Stamp::new(100), outputs);
        uncut.save(&mut whole).unwrap();
        for rest in [Rest::Untouched, Rest::Erased, Rest::Scrambled] {
            for reached in 0..=SLOT_BYTES {
                let (mut memory, mut journal) = (memory.clone(), journal.clone());
                journal.note(Stamp::new(100), outputs);
                memory.cut = Some((reached, rest));
                assert_eq!(
                    journal.save(&mut memory),
                    Err(SaveError::Write(Failure::PowerGone))
                );

                let at = format!("record {written}, byte {reached}, {rest:?}");
                let found = recovered(&mut memory);
                if memory.slots == whole.slots {
                    assert!(reached + 4 >= SLOT_BYTES, "{at}: whole too early");
                    assert_eq!(found.retained, retained(outputs), "{at}");
                    assert_eq!(found.records.last().unwrap().at, Stamp::new(100), "{at}");
                } else {
                    assert_eq!(found.origin, before.origin, "{at}");
                    assert_eq!(found.retained, before.retained, "{at}");
                    assert_eq!(found.records, before.records, "{at}");
                }
            }
        }
    }
}

#[test]
fn a_torn_record_is_seen_as_such_and_overwritten_by_the_next() {
    for reached in 1..SLOT_BYTES {
        let (mut memory, mut journal) = after(4);
        memory.cut = Some((reached, Rest::Erased));
        journal.note(Stamp::new(100), &told(State::Jog, Faults::empty()));
        journal.save(&mut memory).unwrap_err();

        let (mut journal, found) = Journal::recover(&mut memory);
        assert_eq!(found.origin, Origin::Slot(Slot::B));
        assert!(
            matches!(
                found.slots,
                [SlotState::Damaged(_), SlotState::Whole { .. }]
            ),
            "byte {reached}: {:?}",
            found.slots
        );

        let next = told(State::Resting, Fault::ParkOverdue.into());
        journal.note(Stamp::new(5), &next);
        assert_eq!(journal.save(&mut memory), Ok(Saved::Written(Slot::A)));
        let found = recovered(&mut memory);
        assert_eq!(found.origin, Origin::Slot(Slot::A));
        assert_eq!(found.retained, retained(&next));
    }
}

#[test]
fn power_lost_again_and_again_never_loses_the_last_whole_record() {
    let (mut memory, _) = after(5);
    let last = recovered(&mut memory).retained;
    for reached in (0..SLOT_BYTES).rev() {
        let (mut journal, found) = Journal::recover(&mut memory);
        assert_eq!(found.retained, last, "byte {reached}");
        journal.note(Stamp::new(1), &told(State::Jog, Faults::all()));
        memory.cut = Some((reached, Rest::Untouched));
        journal.save(&mut memory).unwrap_err();
    }
}

#[test]
fn any_flipped_bit_of_the_newest_record_brings_back_the_one_before() {
    let (memory, _) = after(4);
    let older = retained(&flight()[2]);
    for byte in 0..SLOT_BYTES {
        for bit in 0..8 {
            let mut memory = memory.clone();
            memory.slots[Slot::B as usize][byte] ^= 1 << bit;
            let found = recovered(&mut memory);
            assert_eq!(found.origin, Origin::Slot(Slot::A), "byte {byte} bit {bit}");
            assert_eq!(found.retained, older, "byte {byte} bit {bit}");
            assert!(matches!(found.slots[1], SlotState::Damaged(_)));
        }
    }
}

#[test]
fn memory_never_written_is_empty_and_nothing_was_forgotten() {
    for blank in [0x00, 0xFF] {
        let mut memory = Memory::blank();
        memory.slots = [[blank; SLOT_BYTES]; 2];
        let found = recovered(&mut memory);
        assert_eq!(found.origin, Origin::Empty);
        assert_eq!(found.retained, Retained::default());
        assert_eq!(found.slots, [SlotState::Blank; 2]);
        assert!(!found.forgot());
    }
}

#[test]
fn two_bad_slots_are_empty_and_say_that_something_was_forgotten() {
    let (mut memory, _) = after(4);
    memory.slots[0][100] ^= 1;
    memory.slots[1][0] ^= 1;
    let found = recovered(&mut memory);
    assert_eq!(found.origin, Origin::Empty);
    assert_eq!(
        found.slots,
        [
            SlotState::Damaged(Damage::Checksum),
            SlotState::Damaged(Damage::Magic)
        ]
    );
    assert!(found.records.is_empty());
    assert!(found.forgot());
}

#[test]
fn memory_that_does_not_answer_is_told_apart_from_empty_memory() {
    let (mut memory, _) = after(4);
    memory.deaf = true;
    let found = recovered(&mut memory);
    assert_eq!(found.origin, Origin::Empty);
    assert_eq!(found.slots, [SlotState::Unreadable; 2]);
    assert!(found.forgot());
}

#[test]
fn nothing_is_written_while_nothing_worth_keeping_changes() {
    let (mut memory, mut journal) = after(3);
    let mut outputs = told(State::Thrust, Fault::ChargeLow.into());
    outputs.emit(Event::Acknowledged);
    for tick in 0..1000 {
        journal.note(Stamp::new(tick), &outputs);
        assert!(!journal.is_due());
        assert_eq!(journal.save(&mut memory), Ok(Saved::Unchanged));
    }
    assert_eq!(memory.writes, 3);
}

#[test]
fn a_save_before_the_first_tick_forgets_nothing() {
    let (mut memory, _) = after(4);
    let before = recovered(&mut memory).retained;
    let (mut journal, _) = Journal::recover(&mut memory);
    assert_eq!(journal.save(&mut memory), Ok(Saved::Unchanged));
    assert_eq!(recovered(&mut memory).retained, before);
}

#[test]
fn a_latched_fault_is_worth_keeping_and_so_is_its_clearing() {
    let (mut memory, mut journal) = after(3);
    for faults in [Fault::ChargeLow | Fault::MotorHot, Faults::empty()] {
        journal.note(Stamp::new(9), &told(State::Thrust, faults));
        assert!(journal.is_due());
        journal.save(&mut memory).unwrap();
        assert_eq!(recovered(&mut memory).retained.faults, faults);
    }
}

#[test]
fn a_write_that_fails_is_tried_again_in_the_same_slot_and_risks_nothing() {
    let (mut memory, mut journal) = after(4);
    let before = recovered(&mut memory).retained;
    memory.broken = Some(Slot::A);
    let next = told(State::Jog, Faults::all());
    journal.note(Stamp::new(9), &next);
    for _ in 0..10 {
        assert_eq!(
            journal.save(&mut memory),
            Err(SaveError::Write(Failure::Broken))
        );
        assert_eq!(recovered(&mut memory).retained, before);
    }
    memory.broken = None;
    assert_eq!(journal.save(&mut memory), Ok(Saved::Written(Slot::A)));
    assert_eq!(recovered(&mut memory).retained, retained(&next));
}

#[test]
fn memory_that_says_it_wrote_and_did_not_is_caught() {
    let (mut memory, mut journal) = after(4);
    memory.forgetful = true;
    journal.note(Stamp::new(9), &told(State::Jog, Faults::all()));
    assert_eq!(journal.save(&mut memory), Err(SaveError::Differs));
    assert!(journal.is_due());
}

#[test]
fn the_records_of_the_last_power_up_come_first_and_the_new_start_is_marked() {
    let (mut memory, _) = after(2);
    let (mut journal, found) = Journal::recover(&mut memory);
    journal.note(Stamp::new(3), &told(State::Resting, Faults::empty()));
    let went = |at, to| Record {
        at: Stamp::new(at),
        entry: Entry::Happened(Event::Went {
            from: State::Waking,
            to,
        }),
    };
    let started = Record {
        at: Stamp::new(0),
        entry: Entry::Started,
    };
    let earlier = [started, went(0, State::Stowed), went(1, State::DeployMast)];
    assert_eq!(found.records, earlier);
    assert!(
        journal
            .records()
            .eq(&[&earlier[..], &[started, went(3, State::Resting)]].concat())
    );
}

#[test]
fn only_the_latest_records_are_kept_and_the_ring_forgets_the_oldest_first() {
    let (mut memory, mut journal) = after(0);
    for tick in 0..1000 {
        journal.note(Stamp::new(tick), &told(State::Jog, Faults::empty()));
    }
    journal.save(&mut memory).unwrap();
    let ticks = |records: Vec<Record>| -> Vec<u32> { records.iter().map(|r| r.at.get()).collect() };
    let ring = u32::try_from(RING).unwrap();
    let kept = u32::try_from(KEPT).unwrap();
    assert!(
        ticks(journal.records().copied().collect())
            .into_iter()
            .eq(1000 - ring..1000)
    );
    let found = recovered(&mut memory);
    assert!(
        ticks(found.records.to_vec())
            .into_iter()
            .eq(1000 - kept..1000)
    );
}

#[test]
fn events_that_found_no_room_are_told_as_a_count() {
    let (_, mut journal) = after(0);
    let mut outputs = Outputs::default();
    for _ in 0..20 {
        outputs.emit(Event::Acknowledged);
    }
    journal.note(Stamp::new(1), &outputs);
    assert_eq!(journal.records().last().unwrap().entry, Entry::Lost(4));
}

#[test]
fn a_fault_latched_before_the_power_was_lost_is_latched_after_it() {
    let config = Config::default();
    let mut memory = Memory::blank();
    let (mut journal, found) = Journal::recover(&mut memory);
    let mut sequencer = Sequencer::wake(found.retained.faults, &config);
    let late = Inputs {
        missed_deadline: true,
        ..Inputs::default()
    };
    journal.note(Stamp::new(0), &sequencer.step(&late, &config));
    journal.save(&mut memory).unwrap();
    assert!(sequencer.latched().contains(Fault::DeadlineMissed));

    let (mut journal, found) = Journal::recover(&mut memory);
    let mut sequencer = Sequencer::wake(found.retained.faults, &config);
    journal.note(Stamp::new(0), &sequencer.step(&Inputs::default(), &config));
    journal.save(&mut memory).unwrap();
    let found = recovered(&mut memory);
    assert!(found.retained.faults.contains(Fault::DeadlineMissed));
}
