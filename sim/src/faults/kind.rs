//! How a thing can fail.

use std::fmt;
use std::str::FromStr;

use super::named::{Unknown, as_string, named};

named! {
    /// How a thing fails. Which targets can fail so is the [`catalogue`](super::catalogue)'s
    /// to say.
    Kind {
        Stuck = "stuck", "keeps its value of the moment the fault begins";
        StuckAt = "stuck-at", "keeps a given value";
        StuckOpen = "stuck-open", "a contact that reads open (false)";
        StuckClosed = "stuck-closed", "a contact that reads closed (true)";
        Offset = "offset", "wrong by a constant";
        Drift = "drift", "wrong by ever more";
        Noise = "noise", "wrong by a random amount";
        Dropout = "dropout", "no longer renewed: it grows old";
        Invalid = "invalid", "declared unsound by its source";
        Intermittent = "intermittent", "comes and goes";
        Inverted = "inverted", "tells the opposite";
        Delayed = "delayed", "late, and passed as new";
        Swapped = "swapped", "exchanged with its twin";
        Dead = "dead", "does nothing, whatever is commanded";
        StuckOn = "stuck-on", "acts, whatever is commanded";
        Slow = "slow", "acts too slowly";
        Reversed = "reversed", "acts the opposite way";
        Weak = "weak", "acts with part of its strength";
        BrownOut = "brown-out", "supply lost for a while";
        Reset = "reset", "started anew at once";
        BitFlip = "bit-flip", "one bit of memory flipped";
        Acts = "acts", "a thing of the world that happens, or a hand that errs";
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Kind {
    type Err = Unknown;

    fn from_str(text: &str) -> Result<Self, Unknown> {
        let known = Self::ALL.iter().find(|kind| kind.name() == text);
        known.copied().ok_or_else(|| {
            let names = Self::ALL.iter().map(ToString::to_string);
            Unknown::new("fault kind", text, names)
        })
    }
}

as_string!(Kind);
