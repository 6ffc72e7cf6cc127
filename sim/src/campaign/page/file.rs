//! The file of the page, and why it may not be made.

use std::path::Path;

use crate::keep::{self, Kind};

/// How a page begins; only a file that begins so is replaced.
pub(super) const BEGINNING: &str = "<!doctype html>\n<!-- mastwright matrix: page -->\n";

const PAGE: Kind = Kind {
    name: "page of `mastwright matrix`",
    beginning: BEGINNING,
};

/// Why a page is not made.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// A file cannot be read or written, or is something else.
    #[error(transparent)]
    File(#[from] keep::Refused),
    /// A cell of the table is not one this build knows.
    #[error("{0}; the table may be of another build: fly it again with this one")]
    Cell(String),
    /// The template could not be filled.
    #[error("the page cannot be made: {0}")]
    Template(#[from] askama::Error),
}

impl Refused {
    pub(super) fn io(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        |error| Self::File(keep::Refused::io(path)(error))
    }
}

/// Refuses a path that holds something other than a page, or lies in no directory.
pub(super) fn check(path: &Path) -> Result<(), Refused> {
    Ok(PAGE.check(path)?)
}

/// Writes `html` to `path`, in the place of an older page.
pub(super) fn write(path: &Path, html: &str) -> Result<(), Refused> {
    Ok(PAGE.write(path, html)?)
}
