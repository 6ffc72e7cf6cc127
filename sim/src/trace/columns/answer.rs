//! The columns of what the controller answered.
//!
//! A drive is kept as a number for its kind and one for how much. Of a kind that this
//! build does not know the visitor is told.

use mastwright_core::bus::Stage;
use mastwright_core::interlock::{Condition, Permission, Reason};
use mastwright_core::outputs::{
    BusDrive, DENIALS, Denial, DoorDrive, Drives, Event, Fans, Indications, MastDrive, Motor,
    Outputs, Pace,
};
use mastwright_core::units::{Permille, Rpm};
use mastwright_core::{Fault, Intention, Mode, State};

use super::{Raw, Visitor, flag};

/// Leads over what the controller answered, its events apart.
#[inline]
pub(in crate::trace) fn answer<V: Visitor>(to: &mut V, outputs: &mut Outputs) {
    drives(to, &mut outputs.drives);
    indications(to, &mut outputs.indications);
    outputs.proven = to.set::<Condition>(["proven.low", "proven.high"], outputs.proven);
    denials(to, outputs);
    let lost = to.number("events lost", i32::from(outputs.events_lost));
    outputs.events_lost = u8::try_from(lost).unwrap_or(u8::MAX);
}

#[inline]
fn drives<V: Visitor>(to: &mut V, drives: &mut Drives) {
    drives.motor = motor(to, drives.motor);
    flag(to, "motor enable", &mut drives.motor_enable);
    drives.mast = match to.number("mast drive", mast(drives.mast)) {
        0 => MastDrive::Off,
        1 => MastDrive::Extend(Pace::Full),
        2 => MastDrive::Extend(Pace::Slow),
        3 => MastDrive::Retract(Pace::Full),
        4 => MastDrive::Retract(Pace::Slow),
        other => {
            to.unknown("mast drive", other);
            MastDrive::Off
        }
    };
    let doors = match drives.doors {
        DoorDrive::Off => 0,
        DoorDrive::Open => 1,
        DoorDrive::Close => 2,
    };
    drives.doors = match to.number("door drive", doors) {
        0 => DoorDrive::Off,
        1 => DoorDrive::Open,
        2 => DoorDrive::Close,
        other => {
            to.unknown("door drive", other);
            DoorDrive::Off
        }
    };
    flag(to, "mast power", &mut drives.mast_power);
    flag(to, "door power", &mut drives.door_power);
    bus(to, &mut drives.bus);
    let fans = to.number("fans", i32::from(drives.fans == Fans::On));
    drives.fans = if fans == 0 { Fans::Off } else { Fans::On };
    flag(to, "aux charger", &mut drives.aux_charger);
}

#[inline]
fn motor<V: Visitor>(to: &mut V, motor: Motor) -> Motor {
    let (kind, much) = match motor {
        Motor::Short => (0, 0),
        Motor::Free => (1, 0),
        Motor::Thrust(share) => (2, share.number()),
        Motor::Brake(share) => (3, share.number()),
        Motor::Creep(speed) => (4, speed.number()),
        Motor::Hold(share) => (5, share.number()),
    };
    let kind = to.number("motor", kind);
    let much = to.number("motor.much", much);
    match kind {
        0 => Motor::Short,
        1 => Motor::Free,
        2 => Motor::Thrust(Permille::of(much)),
        3 => Motor::Brake(Permille::of(much)),
        4 => Motor::Creep(Rpm::of(much)),
        5 => Motor::Hold(Permille::of(much)),
        other => {
            to.unknown("motor", other);
            Motor::Short
        }
    }
}

const fn mast(drive: MastDrive) -> i32 {
    match drive {
        MastDrive::Off => 0,
        MastDrive::Extend(Pace::Full) => 1,
        MastDrive::Extend(Pace::Slow) => 2,
        MastDrive::Retract(Pace::Full) => 3,
        MastDrive::Retract(Pace::Slow) => 4,
    }
}

#[inline]
fn bus<V: Visitor>(to: &mut V, bus: &mut BusDrive) {
    let [one, two] = &mut bus.packs;
    flag(to, "pack 1 contactor", one);
    flag(to, "pack 2 contactor", two);
    flag(to, "pre-charge", &mut bus.precharge);
    flag(to, "main contactor", &mut bus.main);
    flag(to, "discharge", &mut bus.discharge);
}

#[inline]
fn indications<V: Visitor>(to: &mut V, told: &mut Indications) {
    told.state = to.choice::<State>("state", told.state);
    told.mode = to.choice::<Mode>("mode", told.mode);
    flag(to, "mast locked", &mut told.mast_locked);
    flag(to, "stowed", &mut told.stowed);
    flag(to, "parked", &mut told.parked);
    flag(to, "armed", &mut told.armed);
    flag(to, "bus dead", &mut told.bus_dead);
    told.faults = to.set::<Fault>(["faults.low", "faults.high"], told.faults);
    told.sounding = to.set::<Fault>(["sounding.low", "sounding.high"], told.sounding);
}

/// Names of the columns of each denial.
const DENIED: [[&str; 3]; DENIALS] = [
    ["denial 1", "denial 1.reasons.low", "denial 1.reasons.high"],
    ["denial 2", "denial 2.reasons.low", "denial 2.reasons.high"],
    ["denial 3", "denial 3.reasons.low", "denial 3.reasons.high"],
    ["denial 4", "denial 4.reasons.low", "denial 4.reasons.high"],
    ["denial 5", "denial 5.reasons.low", "denial 5.reasons.high"],
];

#[inline]
fn denials<V: Visitor>(to: &mut V, outputs: &mut Outputs) {
    let none = Denial {
        permission: Permission::Propel,
        reasons: enumset::EnumSet::empty(),
    };
    let count = i32::try_from(outputs.denials.len()).unwrap_or(0);
    let count = usize::try_from(to.number("denials", count)).unwrap_or(0);
    let written = std::mem::take(&mut outputs.denials);
    for (index, [permission, low, high]) in DENIED.into_iter().enumerate() {
        let denial = written.get(index).copied().unwrap_or(none);
        let denial = Denial {
            permission: to.choice::<Permission>(permission, denial.permission),
            reasons: to.set::<Reason>([low, high], denial.reasons),
        };
        if index < count {
            // As many as there are columns find room.
            let _ = outputs.denials.push(denial);
        }
    }
}

/// Leads over an event of the answer in row `answer` of its table; gives both back.
pub(in crate::trace) fn event<V: Visitor>(to: &mut V, answer: i32, event: Event) -> (i32, Event) {
    let answer = to.number("answer", answer);
    let parts = Parts::of(event);
    let kind = to.number("event", parts.kind);
    let from = to.choice::<State>("from", parts.from);
    let into = to.choice::<State>("to", parts.to);
    let intention = to.choice::<Intention>("intention", parts.intention);
    let fault = to.choice::<Fault>("fault", parts.fault);
    let stage = to.choice::<Stage>("bus stage", parts.stage);
    let event = match kind {
        0 => Event::Went { from, to: into },
        1 => Event::Intended(intention),
        2 => Event::Ignored(intention),
        3 => Event::Latched(fault),
        4 => Event::Cleared(fault),
        5 => Event::Bus(stage),
        6 => Event::Acknowledged,
        7 => Event::RestraintConfirmed,
        8 => Event::RestraintEnded,
        other => {
            to.unknown("event", other);
            Event::Acknowledged
        }
    };
    (answer, event)
}

/// An event taken apart: what its kind does not have stands at a value of no meaning.
struct Parts {
    kind: i32,
    from: State,
    to: State,
    intention: Intention,
    fault: Fault,
    stage: Stage,
}

impl Parts {
    const fn of(event: Event) -> Self {
        let mut parts = Self {
            kind: 0,
            from: State::Waking,
            to: State::Waking,
            intention: Intention::Deploy,
            fault: Fault::MastContradiction,
            stage: Stage::Draining,
        };
        match event {
            Event::Went { from, to } => {
                parts.from = from;
                parts.to = to;
            }
            Event::Intended(intention) => {
                parts.kind = 1;
                parts.intention = intention;
            }
            Event::Ignored(intention) => {
                parts.kind = 2;
                parts.intention = intention;
            }
            Event::Latched(fault) => {
                parts.kind = 3;
                parts.fault = fault;
            }
            Event::Cleared(fault) => {
                parts.kind = 4;
                parts.fault = fault;
            }
            Event::Bus(stage) => {
                parts.kind = 5;
                parts.stage = stage;
            }
            Event::Acknowledged => parts.kind = 6,
            Event::RestraintConfirmed => parts.kind = 7,
            Event::RestraintEnded => parts.kind = 8,
        }
        parts
    }
}
