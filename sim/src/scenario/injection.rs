//! A fault as a scenario orders it: what fails, how, how much, for how long.

use std::ops::Range;

use super::Cue;

/// A fault ordered by a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Injection {
    /// When it begins.
    pub cue: Cue,
    /// What fails, by its name in the catalogue.
    pub target: String,
    /// How, by its name in the catalogue.
    pub kind: String,
    /// How much, in the unit of the kind; none: the kind's own.
    pub strength: Option<f64>,
    /// For how many ticks; none: for good.
    pub lasting: Option<u64>,
    /// Where the target stands in the file.
    pub target_place: Range<usize>,
    /// Where the kind stands in the file.
    pub kind_place: Range<usize>,
}

impl Injection {
    /// The fault in words.
    #[must_use]
    pub fn words(&self) -> String {
        let strength = self
            .strength
            .map(|s| format!(", strength {s}"))
            .unwrap_or_default();
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let lasting = self
            .lasting
            .map(|ticks| format!(", for {} s", ticks as f64 * crate::frame::TICK))
            .unwrap_or_default();
        format!("{}: {}{strength}{lasting}", self.target, self.kind)
    }
}
