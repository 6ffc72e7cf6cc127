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
    Accepted {
        target: "mechanics.detent-worn",
        kind: "acts",
        hazard: "HZ-1",
        reason: WORN,
        crew: INSPECT,
    },
    Accepted {
        target: "mechanics.gust",
        kind: "acts",
        hazard: "HZ-1",
        reason: BLOWN,
        crew: SLOW,
    },
    Accepted {
        target: "mechanics.gust",
        kind: "intermittent",
        hazard: "HZ-1",
        reason: BLOWN,
        crew: SLOW,
    },
    Accepted {
        target: "mechanics.over-speed",
        kind: "acts",
        hazard: "HZ-1",
        reason: BLOWN,
        crew: SLOW,
    },
    Accepted {
        target: "mechanics.spindle-free",
        kind: "acts",
        hazard: "HZ-6",
        reason: SINKS,
        crew: PROP,
    },
    Accepted {
        target: "pilot.controls-spammed",
        kind: "acts",
        hazard: "HZ-6",
        reason: HURRIED,
        crew: ALONE,
    },
];

const PUSHED: &str = "Someone reaches through the open doors and pushes the blade against the \
    wall of the bay. The motor is given no torque in the bay, since one that disobeys would do \
    worse; the detent yields to a strong hand.";
const HANDS_OFF: &str = "Keep hands off a blade in its bay; after a push look at blade and \
    walls before anything moves.";

const WORN: &str = "Off its lock the blade is given no torque, since a motor that disobeys would \
    do worse; only the detent keeps it. That it does is proven before every stow (StowProve), but \
    one that wears out on the way lets the air turn the blade against the wall.";
const INSPECT: &str = "Inspect the detent; after ParkLost move nothing, and land with the mast as \
    it is.";
const BLOWN: &str = "Above the speed at which the mast may be moved the air is stronger than \
    detent and shorted windings. The controller moves nothing then, but a mast that is part-way \
    already stays in the air.";
const SLOW: &str = "Keep to the speed for moving the mast until it stands at an end; slow down \
    before anything else if it does not.";
const SINKS: &str = "A spindle that no longer locks itself lets the mast sink under its weight, \
    driven or not.";
const PROP: &str = "Prop a raised mast before stepping near it.";
const HURRIED: &str = "Hands all over the controls hold the selector and confirm restraint while \
    a person is near; nothing aboard sees the person.";
const ALONE: &str = "One person at the controls, who sees whoever stands near and says what \
    comes.";

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
