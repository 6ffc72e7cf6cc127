//! Harm by a single fault that no controller can prevent: each with its physical reason
//! and what the crew does. The same list, at more length, stands in
//! `docs/fault-matrix.md`.

use super::record::Record;

/// A harm that is accepted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// What fails.
    pub target: &'static str,
    /// How.
    pub kind: &'static str,
    /// The hazard that comes about; no other is accepted with it.
    pub hazard: &'static str,
    /// Why no controller can prevent it.
    pub reason: &'static str,
    /// What the crew does.
    pub crew: &'static str,
}

/// Every harm that is accepted.
pub const ACCEPTED: &[Accepted] = &[
    Accepted {
        target: "mechanics.blade-push",
        kind: "acts",
        hazard: "HZ-1",
        reason: PUSHED,
        crew: HANDS_OFF,
    },
    Accepted {
        target: "mechanics.blade-push",
        kind: "intermittent",
        hazard: "HZ-1",
        reason: PUSHED,
        crew: HANDS_OFF,
    },
];

const PUSHED: &str = "Someone reaches through the open doors and pushes the blade against the \
    wall of the bay. The motor is given no torque in the bay, since one that disobeys would do \
    worse; the detent yields to a strong hand.";
const HANDS_OFF: &str = "Keep hands off a blade in its bay; after a push look at blade and \
    walls before anything moves.";

impl Accepted {
    /// True when the harm of `record` is this one.
    #[must_use]
    pub fn is(&self, record: &Record) -> bool {
        record.target == self.target && record.kind == self.kind && record.hazards == self.hazard
    }

    /// The entry that accepts the harm of `record`, by its index.
    #[must_use]
    pub fn find(record: &Record) -> Option<usize> {
        ACCEPTED.iter().position(|accepted| accepted.is(record))
    }
}
