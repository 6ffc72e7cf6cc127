//! The bytes of one slot: a fixed layout that tells a whole record from a torn one.
//!
//! All numbers are little-endian. A slot is always written whole, so nothing of an
//! earlier record remains behind a shorter one.
//!
//! | offset | bytes | content |
//! |---|---|---|
//! | 0 | 4 | magic `MWJR` |
//! | 4 | 2 | version of this layout, 1 |
//! | 6 | 2 | length of the slot, checksum included |
//! | 8 | 4 | sequence number; one more than the record before, wrapping |
//! | 12 | 8 | latched faults, one bit each |
//! | 20 | 1 | last state |
//! | 21 | 1 | how many of the records that follow are used |
//! | 22 | 2 | zero |
//! | 24 | 24 x 8 | records, oldest first: tick (4), kind and two operands (3), zero (1) |
//! | 216 | 4 | CRC-32/ISO-HDLC of all bytes before |

use crc::{CRC_32_ISO_HDLC, Crc};
use heapless::Vec;

use super::code::{Coded, entry_from_bytes, entry_to_bytes, faults_from_bits, faults_to_bits};
use super::{KEPT, Record, Retained, Stamp};
use crate::state::State;

/// Length of one slot in bytes.
pub const SLOT_BYTES: usize = 220;
const RECORD_BYTES: usize = 8;
const MAGIC: [u8; 4] = *b"MWJR";
const VERSION: u16 = 1;
const LENGTH: u16 = 220;

const CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// The bytes of one slot.
pub(super) type SlotBytes = [u8; SLOT_BYTES];

/// What one slot says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Content {
    /// Which of two records is the newer.
    pub(super) sequence: u32,
    /// What must not be forgotten.
    pub(super) retained: Retained,
    /// The latest records, oldest first.
    pub(super) records: Vec<Record, KEPT>,
}

/// Why the bytes of a slot are not a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Damage {
    /// It does not begin as a record does.
    Magic,
    /// The checksum does not fit: the record is torn, or a bit has flipped.
    Checksum,
    /// It is whole, but of a layout this version does not know.
    Version,
    /// It is whole, but holds a length or a code this version does not know.
    Content,
}

/// The bytes of `content`.
pub(super) fn encode(content: &Content) -> SlotBytes {
    let used = u8::try_from(content.records.len()).unwrap_or(u8::MAX);
    let head = MAGIC
        .into_iter()
        .chain(VERSION.to_le_bytes())
        .chain(LENGTH.to_le_bytes())
        .chain(content.sequence.to_le_bytes())
        .chain(faults_to_bits(content.retained.faults).to_le_bytes())
        .chain([content.retained.state.code(), used, 0, 0]);
    let records = content.records.iter().flat_map(|record| {
        let [kind, a, b] = entry_to_bytes(record.entry);
        let stamp = record.at.get().to_le_bytes();
        stamp.into_iter().chain([kind, a, b, 0])
    });

    let mut slot = [0; SLOT_BYTES];
    if let Some((body, checksum)) = slot.split_last_chunk_mut::<4>() {
        for (place, byte) in body.iter_mut().zip(head.chain(records)) {
            *place = byte;
        }
        *checksum = CHECKSUM.checksum(body).to_le_bytes();
    }
    slot
}

/// What these bytes say, or why they say nothing.
pub(super) fn decode(slot: &SlotBytes) -> Result<Content, Damage> {
    let (mut body, checksum) = slot.split_last_chunk::<4>().ok_or(Damage::Content)?;
    let whole = CHECKSUM.checksum(body) == u32::from_le_bytes(*checksum);

    if take(&mut body) != Some(MAGIC) {
        return Err(Damage::Magic);
    }
    if !whole {
        return Err(Damage::Checksum);
    }
    if take(&mut body).map(u16::from_le_bytes) != Some(VERSION) {
        return Err(Damage::Version);
    }
    content(body).ok_or(Damage::Content)
}

/// Reads what follows the version of a whole record.
fn content(mut body: &[u8]) -> Option<Content> {
    if u16::from_le_bytes(take(&mut body)?) != LENGTH {
        return None;
    }
    let sequence = u32::from_le_bytes(take(&mut body)?);
    let faults = faults_from_bits(u64::from_le_bytes(take(&mut body)?))?;
    let [state, used, 0, 0] = take(&mut body)? else {
        return None;
    };
    let retained = Retained {
        faults,
        state: State::from_code(state)?,
    };

    let mut records = Vec::new();
    let (chunks, []) = body.as_chunks::<RECORD_BYTES>() else {
        return None;
    };
    let used = usize::from(used);
    for chunk in chunks.get(..used)? {
        let [t0, t1, t2, t3, kind, a, b, 0] = *chunk else {
            return None;
        };
        let record = Record {
            at: Stamp::new(u32::from_le_bytes([t0, t1, t2, t3])),
            entry: entry_from_bytes([kind, a, b])?,
        };
        records.push(record).ok()?;
    }
    let unused = chunks.get(used..)?;
    unused
        .iter()
        .all(|chunk| *chunk == [0; RECORD_BYTES])
        .then_some(Content {
            sequence,
            retained,
            records,
        })
}

/// Takes the next `N` bytes.
fn take<const N: usize>(from: &mut &[u8]) -> Option<[u8; N]> {
    let (first, rest) = from.split_first_chunk::<N>()?;
    *from = rest;
    Some(*first)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)]

    use super::*;
    use crate::fault::Fault;
    use crate::journal::Entry;
    use crate::outputs::Event;
    use crate::state::Halt;

    fn sample() -> Content {
        let records = [
            (7, Entry::Started),
            (
                0x0102_0304,
                Entry::Happened(Event::Latched(Fault::ParkLost)),
            ),
        ]
        .map(|(at, entry)| Record {
            at: Stamp::new(at),
            entry,
        });
        Content {
            sequence: 0xA1B2_C3D4,
            retained: Retained {
                faults: Fault::MastContradiction | Fault::DeadlineMissed,
                state: State::Halted(Halt::NotParked),
            },
            records: records.into_iter().collect(),
        }
    }

    fn sealed(mut slot: SlotBytes) -> SlotBytes {
        let checksum = CHECKSUM.checksum(&slot[..SLOT_BYTES - 4]).to_le_bytes();
        slot[SLOT_BYTES - 4..].copy_from_slice(&checksum);
        slot
    }

    /// Source: CRC catalogue, computed.
    #[test]
    fn the_checksum_gives_the_catalogue_value() {
        assert_eq!(CHECKSUM.checksum(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn the_layout_is_the_one_documented() {
        let slot = encode(&sample());
        assert_eq!(
            slot[..40],
            [
                b'M', b'W', b'J', b'R', // magic
                1, 0, // version
                220, 0, // length
                0xD4, 0xC3, 0xB2, 0xA1, // sequence
                1, 0, 0, 0, 0x80, 0, 0, 0, // faults 0 and 39
                0x83, 2, 0, 0, // halted: not parked; two records
                7, 0, 0, 0, 1, 0, 0, 0, // started
                4, 3, 2, 1, 6, 15, 0, 0, // latched: park lost
            ]
        );
        assert!(slot[40..216].iter().all(|byte| *byte == 0));
        assert_eq!(24 + KEPT * RECORD_BYTES + 4, SLOT_BYTES);
        assert_eq!(usize::from(LENGTH), SLOT_BYTES);
    }

    #[test]
    fn a_slot_comes_back_from_its_bytes() {
        assert_eq!(decode(&encode(&sample())), Ok(sample()));
    }

    #[test]
    fn every_single_flipped_bit_is_detected() {
        let whole = encode(&sample());
        for byte in 0..SLOT_BYTES {
            for bit in 0..8 {
                let mut slot = whole;
                slot[byte] ^= 1 << bit;
                assert!(decode(&slot).is_err(), "byte {byte} bit {bit}");
            }
        }
    }

    #[test]
    fn a_blank_slot_of_either_polarity_is_no_record() {
        assert_eq!(decode(&[0; SLOT_BYTES]), Err(Damage::Magic));
        assert_eq!(decode(&[0xFF; SLOT_BYTES]), Err(Damage::Magic));
    }

    #[test]
    fn a_whole_record_of_another_layout_is_refused_not_guessed_at() {
        for (offset, value, damage) in [
            (4, 2, Damage::Version),
            (6, 219, Damage::Content),
            (19, 1, Damage::Content),
            (20, 0, Damage::Content),
            (21, 25, Damage::Content),
            (21, 1, Damage::Content),
            (22, 1, Damage::Content),
            (28, 99, Damage::Content),
            (31, 1, Damage::Content),
            (200, 1, Damage::Content),
        ] {
            let mut slot = encode(&sample());
            slot[offset] = value;
            assert_eq!(decode(&sealed(slot)), Err(damage), "offset {offset}");
        }
    }
}
