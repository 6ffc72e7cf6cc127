//! Which trouble of the abstract world covers which fault of the catalogue.

use mastwright_sim::explore::report::stand_in::stand_in;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::faults::{ActuatorId, Entry, Kind, MechanicsId, Target};

/// What the abstract world has for a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Covered {
    /// It is nothing broken: hands, air and heat may do the same.
    AsHands,
    /// This trouble.
    By(Trouble),
    /// These two.
    ByBoth(Trouble, Trouble),
    /// Nothing: the exploration does not know it.
    Not,
}

/// What covers a fault of the catalogue.
#[must_use]
pub fn of(entry: &Entry) -> Covered {
    match entry.target {
        // Two sensors at once.
        Target::Sensor(_) if entry.kind == Kind::Swapped => Covered::Not,
        Target::Sensor(_) => sensor(entry),
        Target::Detector(_) | Target::Pilot(_) => Covered::AsHands,
        Target::Actuator(id) => actuator(id, entry.kind),
        Target::Mechanics(id) => mechanics(id),
        // Every control at once; any memory whatever.
        Target::Link | Target::Memory => Covered::Not,
        Target::Power => Covered::By(Trouble::PowerCut),
        Target::Processor => Covered::By(Trouble::LateTicks),
    }
}

fn sensor(entry: &Entry) -> Covered {
    let name = entry.target.to_string();
    let stands = |trouble: &Trouble| {
        stand_in(*trouble, None).is_some_and(|stand_in| stand_in.target == name)
    };
    let trouble = Trouble::ALL.into_iter().find(stands);
    // The second contact of a button or switch is no more than another hand; heat, and
    // whether a pack is usable, are chosen anew anyhow.
    trouble.map_or(Covered::AsHands, Covered::By)
}

const fn actuator(id: ActuatorId, kind: Kind) -> Covered {
    match (id, kind) {
        (ActuatorId::MastDrive, Kind::Reversed) => Covered::By(Trouble::MastReversed),
        (ActuatorId::MastDrive, Kind::Dead | Kind::Intermittent | Kind::Slow)
        | (ActuatorId::MastPower, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::MastStuck)
        }
        (ActuatorId::DoorDrive, Kind::Dead | Kind::Intermittent | Kind::Slow)
        | (ActuatorId::DoorPower, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::DoorsStuck)
        }
        (ActuatorId::Motor, Kind::Dead | Kind::Weak | Kind::Intermittent)
        | (ActuatorId::MotorEnable, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::MotorDead)
        }
        (ActuatorId::Motor, Kind::StuckOn) => Covered::By(Trouble::MotorDisobeys),
        (ActuatorId::MainContactor, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::MainStuckOpen)
        }
        (ActuatorId::Precharge, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::PrechargeOpen)
        }
        (ActuatorId::Discharge, Kind::Dead | Kind::Intermittent) => {
            Covered::By(Trouble::DischargeOpen)
        }
        // The commands of fans and charger move nothing that is looked at.
        (ActuatorId::Fans | ActuatorId::AuxCharger, _) => Covered::AsHands,
        // Drives that run on, run late or run by themselves, and single packs.
        _ => Covered::Not,
    }
}

const fn mechanics(id: MechanicsId) -> Covered {
    match id {
        MechanicsId::MastJam => Covered::By(Trouble::MastStuck),
        MechanicsId::DoorJam => Covered::By(Trouble::DoorsStuck),
        MechanicsId::MainWeld => Covered::By(Trouble::MainWelded),
        MechanicsId::InsulationAged => Covered::By(Trouble::InsulationLow),
        MechanicsId::DischargeOpen => Covered::By(Trouble::DischargeOpen),
        MechanicsId::PrechargeOpen => Covered::By(Trouble::PrechargeOpen),
        MechanicsId::SpindleFree => Covered::By(Trouble::SpindleFree),
        MechanicsId::BladePush | MechanicsId::DetentWorn => Covered::By(Trouble::BladeTurned),
        MechanicsId::FansSeized
        | MechanicsId::Gust
        | MechanicsId::BayHeat
        | MechanicsId::ShaftDrag
        | MechanicsId::AuxDrain
        | MechanicsId::HotDay
        | MechanicsId::OverSpeed => Covered::AsHands,
        // What a pack that is let go is joined to is left open besides.
        MechanicsId::Pack1Weld | MechanicsId::Pack2Weld => Covered::AsHands,
        // It feeds nothing, and shows nothing.
        MechanicsId::Pack1Dropout => Covered::ByBoth(Trouble::Pack1Voltage, Trouble::PacksOff),
        MechanicsId::Pack2Dropout => Covered::ByBoth(Trouble::Pack2Voltage, Trouble::PacksOff),
        MechanicsId::Pack1Aged | MechanicsId::Pack2Aged => Covered::By(Trouble::PacksOff),
    }
}
