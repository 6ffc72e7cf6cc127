//! A table of records as one HTML page that needs nothing else: no network, no file.
//!
//! Responsibilities:
//! 1. Hear every record once, in order, and keep what the page needs: its `cells` as
//!    compact columns, the counts of the `grid`, the `scatter` of the margins and the
//!    `worst` cells.
//! 2. Fly the worst cells again and draw a `timeline` of each from plant truth.
//! 3. Write the page in one step (`file`): the same table and build give the same bytes,
//!    and whoever opens the file finds a whole page.
//!
//! The page itself is made of the templates in `sim/templates`. Its script draws nothing
//! that is not in the columns: filtering counts again, opening a field lists its cells.

mod cells;
mod file;
mod grid;
mod heading;
mod scatter;
mod sheet;
mod signs;
mod timeline;
mod worst;

pub use file::Refused;
pub use heading::Heading;

use std::path::Path;

use super::record::Record;
use super::summary::{Faultless, Summary};
use cells::Cells;
use grid::Grid;
use scatter::Scatter;
use worst::Worst;

/// How many of the worst cells are flown again and drawn.
pub const DRAWN: usize = 12;

/// What a page shows, gathered as the records come.
#[derive(Clone, Debug, Default)]
pub struct Page {
    cells: Cells,
    grid: Grid,
    frozen: Scatter,
    blind: Scatter,
    summary: Summary,
    worst: Worst,
}

impl Page {
    /// Adds one record.
    pub fn see(&mut self, record: &Record) {
        self.cells.see(record);
        self.grid.see(record);
        self.frozen.see(record, record.frozen_harm_after);
        self.blind.see(record, record.blind_harm_after);
        self.summary.see(record);
        self.worst.see(record);
    }

    /// The page; `heading` is that of the table, `faultless` what the missions did
    /// without a fault.
    ///
    /// # Errors
    /// When a name of a cell to be drawn is no cell's.
    pub fn html(&self, heading: &Heading, faultless: &Faultless) -> Result<String, Refused> {
        let drawn = timeline::draw(&self.worst.cells(DRAWN), heading.seed())?;
        sheet::render(self, heading, faultless, drawn)
    }

    /// Writes the page to `path`, in the place of an older page.
    ///
    /// # Errors
    /// When the page cannot be made or written, or `path` holds something else.
    pub fn write(
        &self,
        heading: &Heading,
        faultless: &Faultless,
        path: &Path,
    ) -> Result<(), Refused> {
        file::write(path, &self.html(heading, faultless)?)
    }
}

/// Refuses a path at which a page could not be written, before hours are spent on it.
///
/// # Errors
/// When it holds something other than a page, or its directory does not exist.
pub fn check(path: &Path) -> Result<(), Refused> {
    file::check(path)
}
