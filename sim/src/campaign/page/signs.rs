//! A letter for each outcome: nothing on the page is told by colour alone.

use crate::campaign::record::Outcome;

/// The letter that stands for an outcome.
pub(super) const fn letter(outcome: Outcome) -> char {
    match outcome {
        Outcome::Harm => 'H',
        Outcome::Broken => 'B',
        Outcome::Detected => 'D',
        Outcome::Undetected => 'U',
        Outcome::NoEffect => 'N',
    }
}

/// What an outcome means, in few words.
pub(super) const fn meaning(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Harm => "a hazard came about, in plant truth",
        Outcome::Broken => "no hazard, but a requirement was broken",
        Outcome::Detected => "nothing broken, the fault was told of",
        Outcome::Undetected => "nothing broken, something was done otherwise, nothing told",
        Outcome::NoEffect => "nothing was done or shown otherwise",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn no_two_outcomes_share_a_letter() {
        let letters: BTreeSet<char> = Outcome::ALL
            .iter()
            .map(|outcome| letter(*outcome))
            .collect();
        assert_eq!(letters.len(), Outcome::ALL.len());
    }
}
