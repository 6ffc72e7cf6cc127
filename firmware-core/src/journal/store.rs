//! The two slots of non-volatile memory, and which of them to believe.
//!
//! Writing alternates between the slots, so that the record before is never touched
//! while a new one is written: whatever byte the power fails at, one whole record
//! remains (SR-17).

use heapless::Vec;

use super::slot::{Content, Damage, SLOT_BYTES, SlotBytes, decode, encode};

/// One of the two places a record can be kept in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Slot {
    /// The first.
    #[default]
    A,
    /// The second.
    B,
}

impl Slot {
    /// Both slots.
    pub const BOTH: [Self; 2] = [Self::A, Self::B];

    /// The other slot.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::A => Self::B,
            Self::B => Self::A,
        }
    }
}

/// Memory that keeps its content without power, in two slots of [`SLOT_BYTES`].
///
/// Writing one slot, interrupted at any moment, must leave the other as it was: in
/// flash the slots lie in different erase units. A generic storage trait addressed by
/// byte offset cannot promise this, which is why the trait is our own.
pub trait NonVolatile {
    /// What can go wrong.
    type Error;

    /// Reads a whole slot into `into`, which is [`SLOT_BYTES`] long.
    ///
    /// # Errors
    /// The memory did not answer, or gave less than was asked for.
    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Self::Error>;

    /// Writes a whole slot, erasing it first where the memory needs that.
    ///
    /// # Errors
    /// The memory did not take all the bytes; the slot may hold anything.
    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Self::Error>;
}

/// What was found in one slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SlotState {
    /// A whole record.
    Whole {
        /// Its sequence number.
        sequence: u32,
    },
    /// Never written: every byte is erased.
    Blank,
    /// Something else than a whole record.
    Damaged(Damage),
    /// The memory did not answer.
    Unreadable,
}

/// Why a record was not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SaveError<E> {
    /// The memory refused the write.
    Write(E),
    /// The memory could not be read back.
    Verify(E),
    /// What was read back is not what was written.
    Differs,
}

impl<E: core::fmt::Display> core::fmt::Display for SaveError<E> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Write(error) => write!(f, "journal: memory refused the write: {error}"),
            Self::Verify(error) => write!(f, "journal: memory cannot be read back: {error}"),
            Self::Differs => f.write_str("journal: memory does not hold what was written"),
        }
    }
}

impl<E: core::error::Error> core::error::Error for SaveError<E> {}

/// What the two slots hold.
pub(super) struct Found {
    /// The newest whole record and where it lies.
    pub(super) newest: Option<(Slot, Content)>,
    /// What each slot holds.
    pub(super) slots: [SlotState; 2],
}

/// Reads both slots.
pub(super) fn read<N: NonVolatile>(memory: &mut N) -> Found {
    let mut whole: Vec<(Slot, Content), 2> = Vec::new();
    let slots = Slot::BOTH.map(|slot| {
        let mut bytes: SlotBytes = [0; SLOT_BYTES];
        if memory.read(slot, &mut bytes).is_err() {
            return SlotState::Unreadable;
        }
        if bytes == [0xFF; SLOT_BYTES] || bytes == [0; SLOT_BYTES] {
            return SlotState::Blank;
        }
        match decode(&bytes) {
            Ok(content) => {
                let sequence = content.sequence;
                // Two slots, two places: there is always room.
                let _ = whole.push((slot, content));
                SlotState::Whole { sequence }
            }
            Err(damage) => SlotState::Damaged(damage),
        }
    });
    let newest = whole
        .into_iter()
        .reduce(|a, b| if is_newer(&b.1, &a.1) { b } else { a });
    Found { newest, slots }
}

/// True when `a` was written after `b`. Sequence numbers wrap: the one ahead by less
/// than half of their range is the newer.
const fn is_newer(a: &Content, b: &Content) -> bool {
    let ahead = a.sequence.wrapping_sub(b.sequence);
    ahead != 0 && ahead <= u32::MAX / 2
}

/// Writes one slot and reads it back.
pub(super) fn write<N: NonVolatile>(
    memory: &mut N,
    slot: Slot,
    content: &Content,
) -> Result<(), SaveError<N::Error>> {
    let bytes = encode(content);
    memory.write(slot, &bytes).map_err(SaveError::Write)?;
    let mut back: SlotBytes = [0; SLOT_BYTES];
    memory.read(slot, &mut back).map_err(SaveError::Verify)?;
    if back == bytes {
        Ok(())
    } else {
        Err(SaveError::Differs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::Retained;

    /// Memory that never fails.
    struct Sound([SlotBytes; 2]);

    impl NonVolatile for Sound {
        type Error = core::convert::Infallible;

        fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Self::Error> {
            let [a, b] = &self.0;
            into.copy_from_slice(match slot {
                Slot::A => a,
                Slot::B => b,
            });
            Ok(())
        }

        fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Self::Error> {
            let [a, b] = &mut self.0;
            match slot {
                Slot::A => a,
                Slot::B => b,
            }
            .copy_from_slice(bytes);
            Ok(())
        }
    }

    fn numbered(sequence: u32) -> Content {
        Content {
            sequence,
            retained: Retained::default(),
            records: Vec::new(),
        }
    }

    #[test]
    fn the_newer_record_wins_across_the_wrap_of_the_sequence_number() {
        // Further ahead than one is a record whose slot failed between the two.
        let ahead = [1, 2, u32::MAX / 2];
        let firsts = [0, 1, u32::MAX / 2, u32::MAX - 2, u32::MAX - 1, u32::MAX];
        for (first, ahead) in firsts.into_iter().flat_map(|a| ahead.map(|by| (a, by))) {
            let second = first.wrapping_add(ahead);
            for (older, newer) in [(Slot::A, Slot::B), (Slot::B, Slot::A)] {
                let mut memory = Sound([[0xFF; SLOT_BYTES]; 2]);
                assert_eq!(write(&mut memory, older, &numbered(first)), Ok(()));
                assert_eq!(write(&mut memory, newer, &numbered(second)), Ok(()));
                let newest = read(&mut memory).newest;
                assert_eq!(
                    newest,
                    Some((newer, numbered(second))),
                    "after {first}, {ahead} ahead"
                );
            }
        }
    }

    #[test]
    fn what_was_not_kept_says_why() {
        let told = |error: SaveError<&str>| std::format!("{error}");
        assert_eq!(
            told(SaveError::Write("no power")),
            "journal: memory refused the write: no power"
        );
        assert_eq!(
            told(SaveError::Verify("no power")),
            "journal: memory cannot be read back: no power"
        );
        assert_eq!(
            told(SaveError::Differs),
            "journal: memory does not hold what was written"
        );
    }
}
