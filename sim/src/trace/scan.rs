//! Going through the blocks of a file: which ticks lie where, and what is damaged.
//!
//! A block is found right or not by itself. Whether all of them are there, each once and
//! in order, only their ticks can tell: whatever does not fit is told as damage, and every
//! tick that is there is read.

use super::block::{Block, Kind, MAGIC, NoBlock};
use super::tick::Note;
use super::trouble::Damage;

/// A block of ticks in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) offset: usize,
    pub(super) length: usize,
    pub(super) first: u32,
    pub(super) ticks: u32,
}

impl Place {
    /// The tick behind its last.
    pub(super) const fn end(self) -> u32 {
        self.first.saturating_add(self.ticks)
    }
}

/// What is in a file behind its header.
#[derive(Clone, Debug, Default)]
pub(super) struct Scan {
    /// The blocks of ticks, by their ticks; no two have a tick in common.
    pub(super) places: Vec<Place>,
    /// The notes, in the order of the file.
    pub(super) notes: Vec<Note>,
    /// Everything that is damaged, in the order of the file.
    pub(super) damage: Vec<Damage>,
    /// One more than the number of the last tick, lost ones included.
    pub(super) len: u32,
    /// Where the block *end* stands, and how many ticks it says there are.
    end: Option<(usize, u32)>,
    /// The file ends within bytes that are no block, so its end is not to be missed.
    torn: bool,
}

impl Scan {
    /// Goes through the blocks from `offset` on.
    pub(super) fn of(bytes: &[u8], mut offset: usize) -> Self {
        let mut scan = Self::default();
        while offset < bytes.len() {
            match Block::read(&bytes[offset..]) {
                Ok(block) => {
                    scan.block(bytes, offset, &block);
                    offset += block.len();
                }
                Err(why) => {
                    let next = resume(bytes, offset);
                    let to = next.unwrap_or(bytes.len());
                    scan.no_block(why, offset, to, next.is_some());
                    offset = to;
                }
            }
        }
        scan.conclude();
        scan
    }

    fn block(&mut self, bytes: &[u8], offset: usize, block: &Block<'_>) {
        let behind = self.end.is_some();
        match block.kind {
            Kind::Ticks => {
                let place = Place {
                    offset,
                    length: block.len(),
                    first: block.first,
                    ticks: block.ticks,
                };
                self.ticks(bytes, place);
            }
            Kind::Note => {
                if let Ok(note) = serde_json::from_slice(block.payload) {
                    self.notes.push(note);
                }
            }
            Kind::Header => self.damage.push(Damage::Header { offset }),
            Kind::End if !behind => self.end = Some((offset, block.first)),
            Kind::End => {}
        }
        if behind && matches!(block.kind, Kind::Note | Kind::End) {
            let bytes = block.len();
            self.damage.push(Damage::Behind { offset, bytes });
        }
    }

    fn ticks(&mut self, bytes: &[u8], place: Place) {
        let Place { offset, ticks, .. } = place;
        let first = place.first;
        let at = self.places.partition_point(|other| other.first < first);
        let before = at.checked_sub(1).and_then(|at| self.places.get(at));
        let before = before.filter(|before| before.end() > first);
        let after = self.places.get(at);
        let after = after.filter(|after| after.first < place.end());
        if let Some(other) = before.or(after) {
            let of = |place: &Place| &bytes[place.offset..place.offset + place.length];
            let same = of(other) == of(&place);
            self.damage.push(Damage::Again {
                offset,
                first,
                ticks,
                same,
            });
            return;
        }
        if at < self.places.len() || self.end.is_some() {
            self.damage.push(Damage::Misplaced {
                offset,
                first,
                ticks,
            });
        }
        self.places.insert(at, place);
    }

    /// There is no block from `offset` to `to`, where the next one begins if `resumed`, or
    /// else the file ends.
    fn no_block(&mut self, why: NoBlock, offset: usize, to: usize, resumed: bool) {
        let bytes = to - offset;
        let ticks = self.places.last().map_or(0, |place| place.end());
        self.damage.push(if self.end.is_some() {
            Damage::Behind { offset, bytes }
        } else if resumed {
            Damage::Corrupt {
                offset,
                bytes,
                lost: None,
            }
        } else {
            self.torn = true;
            match why {
                NoBlock::Cut => Damage::Cut { offset, ticks },
                NoBlock::Corrupt => Damage::Torn {
                    offset,
                    bytes,
                    ticks,
                },
            }
        });
    }

    /// Says which ticks are lost, now that all blocks are known.
    fn conclude(&mut self) {
        let (mut behind, mut had) = (0, 0);
        for index in 0..self.places.len() {
            let place = self.places[index];
            self.lose(had, place.first, behind, place.offset);
            (behind, had) = (place.offset + place.length, place.end());
        }
        self.len = had;
        if let Some((offset, said)) = self.end {
            self.lose(had, said, behind, offset);
            self.len = had.max(said);
        }
        self.damage.sort_by_key(Damage::offset);
        match self.end {
            Some((_, said)) if said < had => {
                self.damage.push(Damage::Longer { said, ticks: had });
            }
            None if !self.torn => self.damage.push(Damage::NoEnd { ticks: had }),
            Some(_) | None => {}
        }
    }

    /// The ticks `from` up to `to` are not there, if there are any: what is damaged between
    /// these two places in the file has cost them, or else they are missing at the latter.
    fn lose(&mut self, from: u32, to: u32, behind: usize, offset: usize) {
        if from >= to {
            return;
        }
        let gap = (from, to - from);
        let corrupt = self.damage.iter_mut().rev().find_map(|damage| {
            let between = (behind..offset).contains(&damage.offset());
            if let Damage::Corrupt { lost, .. } = damage
                && between
            {
                Some(lost)
            } else {
                None
            }
        });
        match corrupt {
            Some(lost) => *lost = Some(gap),
            None => self.damage.push(Damage::Missing { offset, lost: gap }),
        }
    }
}

/// Where the next whole block begins behind `offset`.
fn resume(bytes: &[u8], offset: usize) -> Option<usize> {
    let candidates = bytes[offset + 1..].windows(MAGIC.len()).enumerate();
    candidates
        .filter(|(_, window)| *window == MAGIC)
        .map(|(index, _)| offset + 1 + index)
        .find(|place| Block::read(&bytes[*place..]).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(kind: Kind, first: u32, ticks: u32, payload: &[u8]) -> Vec<u8> {
        let block = Block {
            kind,
            first,
            ticks,
            payload,
        };
        block.bytes()
    }

    /// Three blocks of ticks and the end.
    fn whole() -> [Vec<u8>; 4] {
        [
            block(Kind::Ticks, 0, 512, b"one"),
            block(Kind::Ticks, 512, 512, b"another"),
            block(Kind::Ticks, 1024, 76, b"the last"),
            block(Kind::End, 1100, 0, b""),
        ]
    }

    /// The first ticks of the blocks that are read, how long the flight is said to be, and
    /// what is told of the damage.
    fn told(blocks: &[&[u8]]) -> (Vec<u32>, u32, Vec<String>) {
        let scan = Scan::of(&blocks.concat(), 0);
        let firsts = scan.places.iter().map(|place| place.first);
        let damage = scan.damage.iter().map(ToString::to_string);
        (firsts.collect(), scan.len, damage.collect())
    }

    fn one(blocks: &[&[u8]], read: &[u32], len: u32, damage: &str) {
        assert_eq!(
            told(blocks),
            (read.to_vec(), len, vec![damage.to_owned()]),
            "{damage}"
        );
    }

    #[test]
    fn of_a_whole_file_nothing_is_told() {
        let [a, b, c, end] = whole();
        let nothing = (vec![0, 512, 1024], 1100, Vec::new());
        assert_eq!(told(&[&a, &b, &c, &end]), nothing);
    }

    #[test]
    fn blocks_that_are_not_there_are_missed_wherever_they_stood() {
        let [a, b, c, end] = whole();
        let first = "blocks are missing before byte 0: ticks 0 to 511 (0.00 to 5.11 s) are lost";
        one(&[&b, &c, &end], &[512, 1024], 1100, first);
        let middle =
            "blocks are missing before byte 27: ticks 512 to 1023 (5.12 to 10.23 s) are lost";
        one(&[&a, &c, &end], &[0, 1024], 1100, middle);
        let last =
            "blocks are missing before byte 58: ticks 1024 to 1099 (10.24 to 10.99 s) are lost";
        one(&[&a, &b, &end], &[0, 512], 1100, last);
        let all = "blocks are missing before byte 0: ticks 0 to 1099 (0.00 to 10.99 s) are lost";
        one(&[&end], &[], 1100, all);
    }

    #[test]
    fn what_is_corrupt_has_cost_the_ticks_that_are_not_there() {
        let [a, mut b, c, end] = whole();
        b[26] ^= 1;
        let damage = "corrupt at byte 27, 31 bytes: ticks 512 to 1023 (5.12 to 10.23 s) are lost";
        one(&[&a, &b, &c, &end], &[0, 1024], 1100, damage);
    }

    #[test]
    fn a_block_out_of_order_is_told_and_read_in_its_turn() {
        let [a, b, c, end] = whole();
        let damage = |byte: usize, ticks: &str| {
            format!(
                "out of order at byte {byte}: the block of {ticks}; it is read in its turn, no tick is lost"
            )
        };
        let told = damage(31, "ticks 0 to 511 (0.00 to 5.11 s)");
        one(&[&b, &a, &c, &end], &[0, 512, 1024], 1100, &told);
        let told = damage(82, "ticks 1024 to 1099 (10.24 to 10.99 s)");
        one(&[&a, &b, &end, &c], &[0, 512, 1024], 1100, &told);
    }

    #[test]
    fn a_second_copy_and_other_ticks_of_the_same_numbers_are_passed_over() {
        let [a, b, c, end] = whole();
        let read = [0, 512, 1024];
        let twice = "a second copy of ticks 0 to 511 (0.00 to 5.11 s) at byte 27: passed over";
        one(&[&a, &a, &b, &c, &end], &read, 1100, twice);
        let other = block(Kind::Ticks, 1000, 10, b"other");
        let told = "a block of ticks 1000 to 1009 (10.00 to 10.09 s) at byte 58, of which some \
                    stand in a block before it: passed over";
        one(&[&a, &b, &other, &c, &end], &read, 1100, told);
        let told = "a block of ticks 1000 to 1009 (10.00 to 10.09 s) at byte 90, of which some \
                    stand in a block before it: passed over";
        one(&[&a, &b, &c, &other, &end], &read, 1100, told);
    }

    #[test]
    fn what_stands_behind_the_end_or_is_not_of_it_is_told() {
        let [a, b, c, end] = whole();
        let read = [0, 512, 1024];
        let told = "5 bytes at byte 114, behind the end: no tick is lost";
        one(&[&a, &b, &c, &end, b"stray"], &read, 1100, told);
        let told = "4 bytes at byte 114, behind the end: no tick is lost";
        one(&[&a, &b, &c, &end, b"MWTB"], &read, 1100, told);
        let told = "24 bytes at byte 114, behind the end: no tick is lost";
        one(&[&a, &b, &c, &end, &end], &read, 1100, told);
        let more = block(Kind::Ticks, 1100, 4, b"more");
        let told = "its end says that it has 1100 ticks, and there are 1104";
        one(
            &[&a, &b, &c, &more, &end],
            &[0, 512, 1024, 1100],
            1104,
            told,
        );
        let header = block(Kind::Header, 0, 0, b"{}");
        let told = "a second header at byte 27: passed over";
        one(&[&a, &header, &b, &c, &end], &read, 1100, told);
    }

    #[test]
    fn where_a_file_ends_in_bytes_that_are_no_block_it_is_not_said_that_nothing_is_lost() {
        let [a, b, mut c, end] = whole();
        c[25] ^= 1;
        let mut stray = end.clone();
        stray[0] = b'X';
        let told = "corrupt from byte 58 to the end of the file, 56 bytes: readable up to there, \
                    1024 ticks (10.24 s)";
        one(&[&a, &b, &c, &stray], &[0, 512], 1024, told);
        let told =
            "cut off in the block at byte 58: readable up to the break, 1024 ticks (10.24 s)";
        one(&[&a, &b, &end[..20]], &[0, 512], 1024, told);
        let told = "without its end: the recording was broken off, or the rest is cut; 1024 ticks \
                    (10.24 s) can be read";
        one(&[&a, &b], &[0, 512], 1024, told);
    }
}
