//! `mastwright matrix --page` and `mastwright matrix page`: the result as one HTML file.

use std::io::Write;
use std::path::Path;

use mastwright_core::Sequencer;
use miette::IntoDiagnostic;

use crate::campaign::base::Base;
use crate::campaign::page::{self, Heading, Page};
use crate::campaign::plan;
use crate::campaign::record::Record;
use crate::campaign::store;
use crate::campaign::summary::{Faultless, Summary};

/// What is kept of the records as they come.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// Their counts.
    pub(super) summary: Summary,
    /// What a page shows, if one is asked for.
    page: Option<Page>,
}

impl Seen {
    /// Nothing seen yet; `page`: where a page is to be written.
    pub(super) fn new(page: Option<&Path>) -> miette::Result<Self> {
        if let Some(path) = page {
            page::check(path).into_diagnostic()?;
        }
        Ok(Self {
            summary: Summary::default(),
            page: page.map(|_| Page::default()),
        })
    }

    /// Sees one record.
    pub(super) fn see(&mut self, record: &Record) {
        self.summary.see(record);
        if let Some(page) = &mut self.page {
            page.see(record);
        }
    }

    /// Writes the page, if one is asked for.
    pub(super) fn write(
        &self,
        heading: &Heading,
        faultless: &Faultless,
        path: Option<&Path>,
    ) -> miette::Result<()> {
        match (&self.page, path) {
            (Some(page), Some(path)) => page.write(heading, faultless, path).into_diagnostic(),
            (Some(_) | None, _) => Ok(()),
        }
    }
}

/// Makes the page of a table.
pub(super) fn of_table(table: &Path, to: &Path, out: &mut dyn Write) -> miette::Result<()> {
    page::check(to).into_diagnostic()?;
    let mut page = Page::default();
    let cells = store::read_table(table, |record| page.see(&record)).into_diagnostic()?;
    let heading = Heading::of_table(table).into_diagnostic()?;
    let missions = plan::missions()?;
    let bases: Vec<Base<Sequencer>> = missions
        .into_iter()
        .map(|mission| Base::fly(mission, heading.seed()))
        .collect();
    page.write(&heading, &super::faultless(&bases), to)
        .into_diagnostic()?;
    writeln!(out, "{}: a page of {cells} cells", to.display()).into_diagnostic()
}
