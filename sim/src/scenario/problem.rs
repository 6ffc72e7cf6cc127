//! What is wrong with a scenario, where, and what to do about it.

use std::ops::Range;
use std::sync::Arc;

use miette::{NamedSource, SourceSpan};

/// A fault in a scenario file, shown with its file, line, column and a remedy.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
#[error("{message}")]
pub struct Problem {
    message: String,
    #[source_code]
    source_code: Arc<NamedSource<String>>,
    #[label("{label}")]
    span: SourceSpan,
    label: String,
    #[help]
    remedy: String,
}

impl Problem {
    /// Ties a complaint to the text it is about.
    pub(crate) fn new(file: &str, text: &str, complaint: Complaint) -> Self {
        let end = complaint.place.end.min(text.len());
        let start = complaint.place.start.min(end);
        Self {
            message: complaint.message,
            source_code: Arc::new(NamedSource::new(file, text.to_owned())),
            span: (start..end).into(),
            label: complaint.label,
            remedy: complaint.remedy,
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> &str {
        &self.remedy
    }

    /// Byte offset in the file at which the trouble begins.
    #[must_use]
    pub fn offset(&self) -> usize {
        self.span.offset()
    }
}

/// A fault found by a check that knows a place but not yet the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Complaint {
    pub(crate) place: Range<usize>,
    pub(crate) message: String,
    pub(crate) label: String,
    pub(crate) remedy: String,
}

impl Complaint {
    pub(crate) fn new(
        place: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            place,
            message: message.into(),
            label: label.into(),
            remedy: remedy.into(),
        }
    }
}

/// The name in `known` that `given` was most likely meant to be.
pub(crate) fn nearest<'a>(
    given: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let lower = given.to_lowercase();
    known
        .into_iter()
        .map(|name| (strsim::jaro_winkler(&lower, &name.to_lowercase()), name))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// A remedy for a name that is not known: the nearest one, then all of them.
pub(crate) fn did_you_mean<'a>(given: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    let all = known.join(", ");
    match nearest(given, known) {
        Some(name) => format!("did you mean `{name}`? Known are: {all}"),
        None => format!("known are: {all}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_pen_finds_the_name_meant() {
        assert_eq!(
            nearest("lenght", ["title", "length", "seed"]),
            Some("length")
        );
        assert_eq!(
            nearest("stowmast", ["StowMast", "StowPark"]),
            Some("StowMast")
        );
    }

    #[test]
    fn an_unrelated_word_suggests_nothing_and_lists_what_there_is() {
        assert_eq!(nearest("xyz", ["title", "length"]), None);
        assert_eq!(
            did_you_mean("xyz", ["title", "length"]),
            "known are: title, length"
        );
    }
}
