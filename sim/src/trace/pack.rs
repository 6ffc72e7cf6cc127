//! A column of numbers as bytes.
//!
//! A column that stays the same is its value. Any other is its first value and the
//! differences from one row to the next, zigzag so that small ones are small numbers,
//! 128 at a time in as few bits as the largest of the 128 needs. A reading that wavers
//! by its last digit costs two bits a tick so, and one that rests costs nothing.

use bitpacking::{BitPacker, BitPacker4x};

/// Differences that share a width.
const RUN: usize = BitPacker4x::BLOCK_LEN;
/// Every row has the same value.
const CONSTANT: u8 = 0;
/// Differences follow.
const PACKED: u8 = 1;

/// Adds the bytes of `column`, which is not empty, to `to`.
pub(super) fn pack(column: &[i32], to: &mut Vec<u8>) {
    let first = column[0];
    let constant = column.iter().all(|value| *value == first);
    to.push(if constant { CONSTANT } else { PACKED });
    to.extend_from_slice(&first.to_le_bytes());
    if constant {
        return;
    }
    let packer = BitPacker4x::new();
    let mut before = first;
    for values in column.chunks(RUN) {
        let mut run = [0; RUN];
        for (place, value) in run.iter_mut().zip(values) {
            *place = zigzag(value.wrapping_sub(before));
            before = *value;
        }
        let width = packer.num_bits(&run);
        to.push(width);
        let start = to.len();
        to.resize(start + BitPacker4x::compressed_block_size(width), 0);
        packer.compress(&run, &mut to[start..], width);
    }
}

/// How a column was kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// One value stands for every row.
    Constant,
    /// A value for each row.
    Each,
}

/// Takes a column of `rows` from the front of `from` and adds its values to `into`, a
/// single one if it is constant; nothing if the bytes are no such column.
pub(super) fn unpack(from: &mut &[u8], rows: usize, into: &mut Vec<i32>) -> Option<Shape> {
    let kind = take::<1>(from)?[0];
    let first = i32::from_le_bytes(take(from)?);
    if kind == CONSTANT {
        into.push(first);
        return Some(Shape::Constant);
    }
    if kind != PACKED {
        return None;
    }
    let packer = BitPacker4x::new();
    let mut value = first;
    let mut left = rows;
    while left > 0 {
        let width = take::<1>(from)?[0];
        if width > 32 {
            return None;
        }
        let (packed, rest) = from.split_at_checked(BitPacker4x::compressed_block_size(width))?;
        *from = rest;
        let mut run = [0; RUN];
        packer.decompress(packed, &mut run, width);
        let count = left.min(RUN);
        into.extend(run[..count].iter().map(|difference| {
            value = value.wrapping_add(unzigzag(*difference));
            value
        }));
        left -= count;
    }
    Some(Shape::Each)
}

/// Takes `N` bytes from the front.
pub(super) fn take<const N: usize>(from: &mut &[u8]) -> Option<[u8; N]> {
    let (first, rest) = from.split_first_chunk::<N>()?;
    *from = rest;
    Some(*first)
}

const fn zigzag(difference: i32) -> u32 {
    ((difference << 1) ^ (difference >> 31)).cast_unsigned()
}

const fn unzigzag(code: u32) -> i32 {
    (code >> 1).cast_signed() ^ -(code & 1).cast_signed()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_comes_back_whatever_is_in_it() {
        let wild = [i32::MIN, i32::MAX, 0, -1, 1, i32::MAX, i32::MIN];
        let columns = [
            vec![7; 512],
            (0..512).collect(),
            wild.to_vec(),
            (0..129).map(|row| wild[row % wild.len()]).collect(),
            vec![-3],
        ];
        for column in columns {
            let mut bytes = Vec::new();
            pack(&column, &mut bytes);
            let mut back = Vec::new();
            let mut from = bytes.as_slice();
            match unpack(&mut from, column.len(), &mut back).expect("whole") {
                Shape::Constant => assert_eq!(vec![back[0]; column.len()], column),
                Shape::Each => assert_eq!(back, column),
            }
            assert!(from.is_empty(), "nothing is left over");
            for cut in 0..bytes.len() {
                let torn = unpack(&mut &bytes[..cut], column.len(), &mut Vec::new());
                assert_eq!(torn, None, "cut at {cut}");
            }
        }
    }

    #[test]
    fn what_rests_costs_five_bytes_and_what_wavers_two_bits_a_row() {
        let mut bytes = Vec::new();
        pack(&[9; 512], &mut bytes);
        assert_eq!(bytes.len(), 5);
        bytes.clear();
        let wavers: Vec<i32> = (0..512).map(|row| 100 + row % 2).collect();
        pack(&wavers, &mut bytes);
        assert_eq!(bytes.len(), 5 + 4 * (1 + 128 * 2 / 8));
    }
}
