//! Faults of actuators: one table for drives, one for the motor, one for switches.

use super::catalogue::{Entry, Scale};
use super::drive::Effect;
use super::kind::Kind;
use super::named::named;
use super::sensor::{CYCLE, LATE};
use super::target::Target;

named! {
    /// A thing the controller drives or switches.
    ActuatorId {
        MastDrive = "mast-drive", "mast drive";
        DoorDrive = "door-drive", "door drive";
        MastPower = "mast-power", "relay that powers the mast drive";
        DoorPower = "door-power", "relay that powers the door drive";
        Motor = "motor", "motor";
        MotorEnable = "motor-enable", "motor's hard-wired torque enable";
        Pack1Contactor = "pack1-contactor", "pack 1 contactor";
        Pack2Contactor = "pack2-contactor", "pack 2 contactor";
        Precharge = "precharge", "pre-charge relay";
        MainContactor = "main-contactor", "main contactor";
        Discharge = "discharge", "discharge relay";
        Fans = "fans", "cooling fans' supply";
        AuxCharger = "aux-charger", "auxiliary charger";
    }
}

struct Row {
    kind: Kind,
    does: &'static str,
    strength: Option<Scale>,
    effect: fn(f64) -> Effect,
}

const fn row(
    kind: Kind,
    does: &'static str,
    strength: Option<Scale>,
    effect: fn(f64) -> Effect,
) -> Row {
    Row {
        kind,
        does,
        strength,
        effect,
    }
}

const WAY: Scale = Scale {
    unit: "of the way",
    min: -1.0,
    max: 1.0,
    default: 0.0,
    least: 0.0,
};

const THRUST: Scale = Scale {
    unit: "permille of the rated torque",
    min: 1.0,
    max: 1_000.0,
    default: 300.0,
    least: 1.0,
};

const SHARE: Scale = Scale {
    unit: "permille of the commanded torque",
    min: 0.0,
    max: 990.0,
    default: 500.0,
    least: 0.0,
};

const DEAD: Row = row(
    Kind::Dead,
    "moves nothing, whatever is commanded",
    None,
    |_| Effect::Rest,
);
const STUCK: Row = row(
    Kind::Stuck,
    "keeps doing what was commanded when the fault began",
    None,
    |_| Effect::Hold,
);
const RUNS_ON: Row = row(
    Kind::StuckOn,
    "keeps driving out or open (1), in or shut (-1) or as last driven (0), whatever is commanded",
    Some(WAY),
    Effect::On,
);
const REVERSED: Row = row(
    Kind::Reversed,
    "turns the opposite way to the command",
    None,
    |_| Effect::Reverse,
);
const BREAKS: Row = row(
    Kind::Intermittent,
    "rests during breaks of a loose connection",
    None,
    |_| Effect::Breaks,
);
const LATER: Row = row(
    Kind::Delayed,
    "follows each command the given time late",
    Some(LATE),
    Effect::Delay,
);

const DRIVES: &[Row] = &[
    DEAD,
    STUCK,
    RUNS_ON,
    row(
        Kind::Slow,
        "runs at a quarter of its rated speed at most",
        None,
        |_| Effect::Slow,
    ),
    REVERSED,
    BREAKS,
    LATER,
];

const MOTOR: &[Row] = &[
    row(
        Kind::Dead,
        "gives no torque, whatever is commanded",
        None,
        |_| Effect::Rest,
    ),
    STUCK,
    row(
        Kind::StuckOn,
        "pulls with the given torque, whatever is commanded",
        Some(THRUST),
        Effect::On,
    ),
    row(
        Kind::Weak,
        "gives only the given share of the thrust, brake and hold torque commanded",
        Some(SHARE),
        Effect::Weak,
    ),
    REVERSED,
    BREAKS,
    LATER,
];

const SWITCHES: &[Row] = &[
    row(
        Kind::Dead,
        "stays open (off), whatever is commanded",
        None,
        |_| Effect::Rest,
    ),
    STUCK,
    row(
        Kind::StuckOn,
        "stays closed (on), whatever is commanded",
        None,
        |_| Effect::On(1.0),
    ),
    BREAKS,
    LATER,
];

const fn rows(id: ActuatorId) -> &'static [Row] {
    match id {
        ActuatorId::MastDrive | ActuatorId::DoorDrive => DRIVES,
        ActuatorId::Motor => MOTOR,
        ActuatorId::MastPower
        | ActuatorId::DoorPower
        | ActuatorId::MotorEnable
        | ActuatorId::Pack1Contactor
        | ActuatorId::Pack2Contactor
        | ActuatorId::Precharge
        | ActuatorId::MainContactor
        | ActuatorId::Discharge
        | ActuatorId::Fans
        | ActuatorId::AuxCharger => SWITCHES,
    }
}

/// Every fault the actuator can have.
pub(super) fn entries(id: ActuatorId) -> Vec<Entry> {
    let entry = |row: &Row| Entry {
        target: Target::Actuator(id),
        kind: row.kind,
        does: row.does,
        strength: row.strength,
        cycle: (row.kind == Kind::Intermittent).then_some(CYCLE),
        lasts: true,
    };
    rows(id).iter().map(entry).collect()
}

/// What a fault of this kind does to the actuator.
pub(super) fn effect(id: ActuatorId, kind: Kind, strength: f64) -> Effect {
    let row = rows(id).iter().find(|row| row.kind == kind);
    let row = row.expect("a fault is validated when it is made");
    (row.effect)(strength)
}
