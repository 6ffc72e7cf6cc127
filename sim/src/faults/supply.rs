//! Faults of what serves the controller: its supply, its memory, its processor, and
//! the link that brings the pilot's controls.

use super::catalogue::{Entry, Scale};
use super::channel::SensorId;
use super::kind::Kind;
use super::sensor::{CYCLE, Effect, LATE};
use super::target::Target;

/// The channels whose frames the link carries. Frames have a counter and a time stamp, so
/// that lost, repeated and late ones show in the age of what they bring. The stop
/// contacts are wired by themselves: no link may stand between a hand and a stop.
pub(super) const LINKED: &[SensorId] = &[
    SensorId::ThrottleA,
    SensorId::ThrottleB,
    SensorId::SelectHold,
    SensorId::SelectDeploy,
    SensorId::SelectStow,
    SensorId::BenchKey,
    SensorId::Acknowledge,
    SensorId::AcknowledgeRest,
    SensorId::AuxCharge,
    SensorId::AuxChargeOff,
];

struct LinkRow {
    kind: Kind,
    does: &'static str,
    strength: Option<Scale>,
    effect: fn(f64) -> Effect,
}

const LINK: &[LinkRow] = &[
    LinkRow {
        kind: Kind::Dropout,
        does: "loses every frame",
        strength: None,
        effect: |_| Effect::Silence,
    },
    LinkRow {
        kind: Kind::Intermittent,
        does: "loses the frames of random breaks",
        strength: None,
        effect: |_| Effect::SilentBreaks,
    },
    LinkRow {
        kind: Kind::Invalid,
        does: "brings corrupt frames, which their checksums betray",
        strength: None,
        effect: |_| Effect::Invalidate,
    },
    LinkRow {
        kind: Kind::Stuck,
        does: "repeats one frame for ever, which its counter betrays",
        strength: None,
        effect: |_| Effect::Silence,
    },
    LinkRow {
        kind: Kind::Delayed,
        does: "brings every frame the given time late, which its stamp betrays",
        strength: Some(LATE),
        effect: Effect::Late,
    },
];

/// Every fault the link can have.
pub(super) fn link_entries() -> Vec<Entry> {
    let entry = |row: &LinkRow| Entry {
        target: Target::Link,
        kind: row.kind,
        does: row.does,
        strength: row.strength,
        cycle: (row.kind == Kind::Intermittent).then_some(CYCLE),
        lasts: true,
    };
    LINK.iter().map(entry).collect()
}

/// What a fault of the link does to each channel it carries.
pub(super) fn link_effect(kind: Kind, strength: f64) -> Effect {
    let row = LINK.iter().find(|row| row.kind == kind);
    let row = row.expect("a fault is validated when it is made");
    (row.effect)(strength)
}

struct Row {
    target: Target,
    kind: Kind,
    does: &'static str,
    strength: Option<Scale>,
    lasts: bool,
}

/// Which bit of memory flips: so that one flip can be flown again by its name.
const BIT: Scale = Scale {
    unit: "number of the bit, counted around the memory, -1: any",
    min: -1.0,
    max: 1_048_575.0,
    default: -1.0,
    least: 0.0,
};

const ROWS: &[Row] = &[
    Row {
        target: Target::Power,
        kind: Kind::BrownOut,
        does: "is gone for the given duration",
        strength: None,
        lasts: true,
    },
    Row {
        target: Target::Power,
        kind: Kind::Intermittent,
        does: "is gone during random breaks",
        strength: None,
        lasts: true,
    },
    Row {
        target: Target::Power,
        kind: Kind::Reset,
        does: "fails for one tick, and the controller starts anew",
        strength: None,
        lasts: false,
    },
    Row {
        target: Target::Memory,
        kind: Kind::BitFlip,
        does: "has the given bit flipped",
        strength: Some(BIT),
        lasts: false,
    },
    Row {
        target: Target::Processor,
        kind: Kind::Slow,
        does: "misses the deadline of every tick",
        strength: None,
        lasts: true,
    },
    Row {
        target: Target::Processor,
        kind: Kind::Intermittent,
        does: "misses the deadlines of random breaks",
        strength: None,
        lasts: true,
    },
];

/// Every fault the supply, the memory or the processor can have.
pub(super) fn entries(target: Target) -> Vec<Entry> {
    let fitting = ROWS.iter().filter(|row| row.target == target);
    let entry = |row: &Row| Entry {
        target,
        kind: row.kind,
        does: row.does,
        strength: row.strength,
        cycle: (row.kind == Kind::Intermittent).then_some(CYCLE),
        lasts: row.lasts,
    };
    fitting.map(entry).collect()
}
