//! Frames of stack: what the compiler says that one function takes, its callees apart.
//!
//! The compiler writes for each function its address and the bytes of its frame into the
//! section `.stack_sizes`, which is no part of what is loaded. It does so only when asked
//! by a flag that is not for everybody yet: an image of a compiler that was not asked has
//! no such section.

use std::fs;
use std::path::Path;

use object::{Object, ObjectSection, ObjectSymbol};

use super::tools::Problem;

/// Bytes of the frame of the function whose symbol holds `name`; of several the largest.
/// None when the image does not tell frames.
///
/// # Errors
/// The image cannot be read, or it tells frames and has no such function.
pub fn frame(file: &Path, name: &str) -> Result<Option<u64>, Problem> {
    let told = |why: &dyn std::fmt::Display| format!("{}: {why}", file.display());
    let bytes = fs::read(file).map_err(|error| told(&error))?;
    let image = object::File::parse(&*bytes).map_err(|error| told(&error))?;
    let Some(section) = image.section_by_name(".stack_sizes") else {
        return Ok(None);
    };
    let pairs = pairs(section.data().map_err(|error| told(&error))?)
        .ok_or_else(|| told(&"its .stack_sizes are cut short"))?;
    let named: Vec<u64> = image
        .symbols()
        .filter(|symbol| symbol.name().is_ok_and(|symbol| symbol.contains(name)))
        .map(|symbol| place(symbol.address()))
        .collect();
    let largest = pairs
        .into_iter()
        .filter(|(address, _)| named.contains(&place(*address)))
        .map(|(_, size)| size)
        .max();
    largest
        .map(Some)
        .ok_or_else(|| told(&format_args!("no frame of a function {name}")))
}

/// The address without the bit that says which set of instructions is meant.
const fn place(address: u64) -> u64 {
    address & !1
}

/// Each function's address, four bytes with the low one first, and its size, in groups of
/// seven bits with the low one first, of which all but the last have the top bit set.
fn pairs(mut bytes: &[u8]) -> Option<Vec<(u64, u64)>> {
    let mut pairs = Vec::new();
    while let Some((address, rest)) = bytes.split_first_chunk() {
        let length = rest.iter().position(|byte| byte & 0x80 == 0)? + 1;
        let (groups, after) = rest.split_at(length);
        let size = groups
            .iter()
            .rev()
            .fold(0, |size, group| size << 7 | u64::from(group & 0x7F));
        pairs.push((u32::from_le_bytes(*address).into(), size));
        bytes = after;
    }
    bytes.is_empty().then_some(pairs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_read_as_the_compiler_writes_them() {
        let bytes = [1, 2, 0, 0, 0x90, 0x03, 5, 0, 0, 0x20, 8];
        assert_eq!(pairs(&bytes), Some(vec![(0x201, 400), (0x2000_0005, 8)]));
        assert_eq!(pairs(&[]), Some(Vec::new()));
    }

    #[test]
    fn frames_cut_short_are_none() {
        assert_eq!(pairs(&[1, 2, 0, 0, 0x90]), None);
        assert_eq!(pairs(&[1, 2, 0, 0]), None);
        assert_eq!(pairs(&[1, 2]), None);
    }
}
