//! A block: what is written in one go, and checked by itself.
//!
//! | offset | bytes | content |
//! |---|---|---|
//! | 0 | 4 | magic `MWTB` |
//! | 4 | 1 | kind |
//! | 5 | 3 | zero |
//! | 8 | 4 | first tick |
//! | 12 | 4 | how many ticks |
//! | 16 | 4 | length of the payload |
//! | 20 | 4 | CRC-32/ISO-HDLC of the 20 bytes before and of the payload |
//! | 24 | | payload |
//!
//! All numbers are little-endian.

use crc32fast::Hasher;

use super::pack::take;

/// How a block begins.
pub(super) const MAGIC: [u8; 4] = *b"MWTB";
/// Bytes before the payload.
pub(super) const HEAD: usize = 24;

/// What a block holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// The header, as JSON.
    Header,
    /// Ticks: four tables, compressed.
    Ticks,
    /// A note, as JSON.
    Note,
    /// The end: nothing follows.
    End,
}

impl Kind {
    const fn code(self) -> u8 {
        match self {
            Self::Header => 1,
            Self::Ticks => 2,
            Self::Note => 3,
            Self::End => 4,
        }
    }

    const fn of(code: u8) -> Option<Self> {
        match code {
            1 => Some(Self::Header),
            2 => Some(Self::Ticks),
            3 => Some(Self::Note),
            4 => Some(Self::End),
            _ => None,
        }
    }
}

/// A block in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Block<'a> {
    /// What it holds.
    pub(super) kind: Kind,
    /// Its first tick; of the end, how many ticks there are in all.
    pub(super) first: u32,
    /// How many ticks.
    pub(super) ticks: u32,
    /// Its content.
    pub(super) payload: &'a [u8],
}

/// Why there is no block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoBlock {
    /// The bytes end before it does.
    Cut,
    /// It does not begin as a block does, or its checksum does not fit.
    Corrupt,
}

impl<'a> Block<'a> {
    /// Bytes from its beginning to its end.
    pub(super) const fn len(&self) -> usize {
        HEAD + self.payload.len()
    }

    /// Its bytes.
    pub(super) fn bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(self.len());
        let length = u32::try_from(self.payload.len()).expect("a block is short");
        bytes.extend_from_slice(&MAGIC);
        bytes.extend_from_slice(&[self.kind.code(), 0, 0, 0]);
        bytes.extend_from_slice(&self.first.to_le_bytes());
        bytes.extend_from_slice(&self.ticks.to_le_bytes());
        bytes.extend_from_slice(&length.to_le_bytes());
        let sum = checksum(&bytes, self.payload);
        bytes.extend_from_slice(&sum.to_le_bytes());
        bytes.extend_from_slice(self.payload);
        bytes
    }

    /// The block at the front of `bytes`.
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, NoBlock> {
        let Some((head, rest)) = bytes.split_at_checked(HEAD) else {
            let begun = bytes.len().min(MAGIC.len());
            return Err(if bytes[..begun] == MAGIC[..begun] {
                NoBlock::Cut
            } else {
                NoBlock::Corrupt
            });
        };
        let (sealed, mut parts) = (&head[..HEAD - 4], head);
        let mut next = || take::<4>(&mut parts).unwrap_or_default();
        let magic = next();
        let [kind, zeros @ ..] = next();
        let [first, ticks, length, sum] = [(); 4].map(|()| u32::from_le_bytes(next()));
        let kind = Kind::of(kind).filter(|_| magic == MAGIC && zeros == [0; 3]);
        let kind = kind.ok_or(NoBlock::Corrupt)?;
        let payload = rest.get(..length as usize).ok_or(NoBlock::Cut)?;
        if checksum(sealed, payload) != sum {
            return Err(NoBlock::Corrupt);
        }
        Ok(Self {
            kind,
            first,
            ticks,
            payload,
        })
    }
}

fn checksum(head: &[u8], payload: &[u8]) -> u32 {
    let mut sum = Hasher::new();
    sum.update(head);
    sum.update(payload);
    sum.finalize()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_block_comes_back_and_one_cut_or_flipped_anywhere_does_not() {
        let block = Block {
            kind: Kind::Note,
            first: 7,
            ticks: 1,
            payload: b"{}",
        };
        let bytes = block.bytes();
        assert_eq!(Block::read(&bytes), Ok(block));
        for cut in 0..bytes.len() {
            assert_eq!(
                Block::read(&bytes[..cut]),
                Err(NoBlock::Cut),
                "cut at {cut}"
            );
        }
        for place in 0..8 * bytes.len() {
            let mut flipped = bytes.clone();
            flipped[place / 8] ^= 1 << (place % 8);
            assert!(Block::read(&flipped).is_err(), "bit {place}");
        }
    }
}
