//! SR-17: the check that a record survives power loss at any byte, and journals that
//! do not.

use crc::{CRC_32_ISO_HDLC, Crc};
use mastwright_core::journal::{Journal, NonVolatile, Retained, SLOT_BYTES, Slot, Stamp};
use mastwright_core::{Fault, Faults, Halt, Outputs, State};

use super::{Saboteur, Trial};

const CHECK: &str = "power cut at every byte of every write";

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur {
        name: "keeps-one-slot",
        breaks: "SR-17",
        does: "writes every record over the one before",
        trial: Trial::Checked {
            by: CHECK,
            honest: survives_power_loss::<Honest>,
            saboteur: survives_power_loss::<OneSlot>,
        },
    },
    Saboteur {
        name: "keeps-no-checksum",
        breaks: "SR-17",
        does: "takes a torn record for a whole one",
        trial: Trial::Checked {
            by: CHECK,
            honest: survives_power_loss::<Honest>,
            saboteur: survives_power_loss::<NoChecksum>,
        },
    },
];

/// Something that keeps what must not be forgotten.
pub trait Keeper {
    /// What is found at power-up.
    fn recover(memory: &mut Flash) -> Retained;

    /// Keeps what the controller tells.
    fn keep(memory: &mut Flash, outputs: &Outputs);
}

/// Two slots of flash that can lose their power while they are written.
#[derive(Clone, Debug)]
pub struct Flash {
    slots: [[u8; SLOT_BYTES]; 2],
    /// Power fails after so many more bytes.
    left: usize,
}

/// The write ended early: the power is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PowerGone;

impl NonVolatile for Flash {
    type Error = PowerGone;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), PowerGone> {
        into.copy_from_slice(&self.slots[slot as usize]);
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), PowerGone> {
        let written = bytes.len().min(self.left);
        self.slots[slot as usize][..written].copy_from_slice(&bytes[..written]);
        self.left -= written;
        if written == bytes.len() {
            Ok(())
        } else {
            Err(PowerGone)
        }
    }
}

/// Wherever in a write the power fails, what is found afterwards is the record before or
/// the new one.
///
/// # Errors
/// The byte at which it is neither.
pub fn survives_power_loss<K: Keeper>() -> Result<(), String> {
    let mut memory = Flash {
        slots: [[0xFF; SLOT_BYTES]; 2],
        left: usize::MAX,
    };
    let mut before = K::recover(&mut memory);
    for (number, outputs) in flight().iter().enumerate() {
        let now = Retained {
            faults: outputs.indications.faults,
            state: outputs.indications.state,
        };
        for left in 0..SLOT_BYTES {
            let mut cut = memory.clone();
            cut.left = left;
            K::keep(&mut cut, outputs);
            let found = K::recover(&mut cut);
            if found != before && found != now {
                return Err(format!(
                    "record {number}, power lost at byte {left}: neither the record before \
                     nor the new one is found"
                ));
            }
        }
        K::keep(&mut memory, outputs);
        if K::recover(&mut memory) != now {
            return Err(format!(
                "record {number} is not found though written in full"
            ));
        }
        before = now;
    }
    Ok(())
}

/// What a controller tells in a flight, each unlike the others.
fn flight() -> Vec<Outputs> {
    let told = |state, faults: Faults| {
        let mut outputs = Outputs::default();
        outputs.indications.state = state;
        outputs.indications.faults = faults;
        outputs
    };
    vec![
        told(State::Stowed, Fault::AuxiliaryLow.into()),
        told(State::Thrust, Fault::ChargeLow.into()),
        told(State::StowPark, Fault::ChargeLow | Fault::BladeDisagreement),
        told(
            State::Halted(Halt::NotParked),
            Fault::BladeDisagreement | Fault::ParkOverdue | Fault::DeadlineMissed,
        ),
        told(State::Resting, Fault::ParkOverdue.into()),
    ]
}

/// The real journal.
struct Honest;

impl Keeper for Honest {
    fn recover(memory: &mut Flash) -> Retained {
        Journal::recover(memory).1.retained
    }

    fn keep(memory: &mut Flash, outputs: &Outputs) {
        keep_in(memory, outputs);
    }
}

/// The real journal on a memory that has one slot only.
struct OneSlot;

struct Single<'a>(&'a mut Flash);

impl NonVolatile for Single<'_> {
    type Error = PowerGone;

    fn read(&mut self, _slot: Slot, into: &mut [u8]) -> Result<(), PowerGone> {
        self.0.read(Slot::A, into)
    }

    fn write(&mut self, _slot: Slot, bytes: &[u8]) -> Result<(), PowerGone> {
        self.0.write(Slot::A, bytes)
    }
}

impl Keeper for OneSlot {
    fn recover(memory: &mut Flash) -> Retained {
        Journal::recover(&mut Single(memory)).1.retained
    }

    fn keep(memory: &mut Flash, outputs: &Outputs) {
        keep_in(&mut Single(memory), outputs);
    }
}

/// The real journal, blind to the checksum: whatever it reads has a fitting one.
struct NoChecksum;

struct Resealed<'a>(&'a mut Flash);

impl NonVolatile for Resealed<'_> {
    type Error = PowerGone;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), PowerGone> {
        self.0.read(slot, into)?;
        if into == [0xFF; SLOT_BYTES] {
            return Ok(());
        }
        if let Some((body, checksum)) = into.split_last_chunk_mut::<4>() {
            let crc = Crc::<u32>::new(&CRC_32_ISO_HDLC);
            *checksum = crc.checksum(body).to_le_bytes();
        }
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), PowerGone> {
        self.0.write(slot, bytes)
    }
}

impl Keeper for NoChecksum {
    fn recover(memory: &mut Flash) -> Retained {
        Journal::recover(&mut Resealed(memory)).1.retained
    }

    fn keep(memory: &mut Flash, outputs: &Outputs) {
        keep_in(&mut Resealed(memory), outputs);
    }
}

fn keep_in<N: NonVolatile>(memory: &mut N, outputs: &Outputs) {
    let (mut journal, _) = Journal::recover(memory);
    journal.note(Stamp::new(1), outputs);
    // A cut is the check's doing; a real one would end the program here.
    let _ = journal.save(memory);
}
