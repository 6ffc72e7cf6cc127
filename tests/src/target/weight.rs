//! What an image weighs.

use std::fs;
use std::path::Path;

use object::{Object, ObjectSection, SectionFlags, elf};
use serde::Deserialize;

use super::tools::Problem;

/// Bytes of an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weight {
    /// In flash: code, constants, and the first values of variables.
    pub flash: u64,
    /// In RAM, the stack left out.
    pub ram: u64,
}

impl Weight {
    /// The weight of the image in this file.
    ///
    /// # Errors
    /// It cannot be read, or is no image.
    pub fn of(file: &Path) -> Result<Self, Problem> {
        let bytes = fs::read(file).map_err(|error| format!("{}: {error}", file.display()))?;
        let image =
            object::File::parse(&*bytes).map_err(|error| format!("{}: {error}", file.display()))?;
        let mut weight = Self { flash: 0, ram: 0 };
        for section in image.sections() {
            let SectionFlags::Elf { sh_flags, .. } = section.flags() else {
                return Err(format!("{}: not an ELF file", file.display()));
            };
            if sh_flags & u64::from(elf::SHF_ALLOC) == 0 {
                continue;
            }
            let is_variable = sh_flags & u64::from(elf::SHF_WRITE) != 0;
            if is_variable {
                weight.ram += section.size();
            }
            // A variable without a first value has nothing in the file.
            if !is_variable || section.file_range().is_some_and(|(_, size)| size > 0) {
                weight.flash += section.size();
            }
        }
        Ok(weight)
    }

    /// What this image weighs more than `other`.
    #[must_use]
    pub const fn beyond(self, other: Self) -> Self {
        Self {
            flash: self.flash.saturating_sub(other.flash),
            ram: self.ram.saturating_sub(other.ram),
        }
    }
}
