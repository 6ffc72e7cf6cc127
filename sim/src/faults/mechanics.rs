//! Faults of the physical world: what breaks, jams, ages, blows or is pushed.
//!
//! Each fails in the one way its row names, by `acts`; how much is its strength. Of the
//! kinds that sensors and actuators have only `intermittent` makes sense of a thing that
//! blows, is pushed or hangs by a connection; a weld, a jam or a worn part that comes and
//! goes is one that heals, by its duration. What a drive does wrong with its command
//! (dead, stuck on, slow, reversed) is its actuator's fault; a drive jammed at a place is
//! `mast-jam`, `door-jam` or `shaft-drag`. A pack that has lost capacity is one that starts
//! with less charge, which a scenario sets.

use super::catalogue::{Entry, Scale};
use super::kind::Kind;
use super::named::named;
use super::sensor::CYCLE;
use super::target::Target;
use crate::plant::defects::Defects;

named! {
    /// A thing of the physical world that can go wrong.
    MechanicsId {
        MastJam = "mast-jam", "mast";
        DoorJam = "door-jam", "door linkage";
        MainWeld = "main-weld", "main contactor";
        Pack1Weld = "pack1-weld", "pack 1 contactor";
        Pack2Weld = "pack2-weld", "pack 2 contactor";
        Pack1Dropout = "pack1-dropout", "first pack";
        Pack2Dropout = "pack2-dropout", "second pack";
        InsulationAged = "insulation-aged", "bus insulation";
        FansSeized = "fans-seized", "cooling fans' bearing";
        DischargeOpen = "discharge-open", "discharge resistor";
        BladePush = "blade-push", "blade";
        Gust = "gust", "air";
        BayHeat = "bay-heat", "bay";
        DetentWorn = "detent-worn", "blade detent";
        ShaftDrag = "shaft-drag", "propeller's bearing";
        SpindleFree = "spindle-free", "mast spindle";
        PrechargeOpen = "precharge-open", "pre-charge resistor";
        Pack1Aged = "pack1-aged", "first pack";
        Pack2Aged = "pack2-aged", "second pack";
        AuxDrain = "aux-drain", "auxiliary battery";
        HotDay = "hot-day", "air around the parts";
        OverSpeed = "over-speed", "aircraft";
    }
}

/// How a mechanical fault shows; the number is its strength.
pub(super) type Show = fn(&mut Defects, f64);

struct Row {
    does: &'static str,
    strength: Option<Scale>,
    show: Show,
    comes_and_goes: bool,
}

impl Row {
    const fn new(does: &'static str, strength: Option<Scale>, show: Show) -> Self {
        Self {
            does,
            strength,
            show,
            comes_and_goes: false,
        }
    }

    /// The same fault can also be intermittent.
    const fn or_in_breaks(self) -> Self {
        Self {
            comes_and_goes: true,
            ..self
        }
    }
}

const fn scale(unit: &'static str, min: f64, max: f64, default: f64, least: f64) -> Option<Scale> {
    Some(Scale {
        unit,
        min,
        max,
        default,
        least,
    })
}

const AGED: &str = "is tired: its resistance is the given multiple of a new one's";
/// From hardly noticed to worn out; double is a common end of life. Common practice, no
/// source.
const AGE: Option<Scale> = scale("times a new one's", 1.1, 10.0, 3.0, 1.1);

const fn row(id: MechanicsId) -> Row {
    match id {
        MechanicsId::MastJam => Row::new(
            "cannot pass the given place of its travel",
            scale("permille of travel", 0.0, 1_000.0, 500.0, 0.0),
            |mechanics, place| mechanics.mast_jam = Some(place / 1_000.0),
        ),
        MechanicsId::DoorJam => Row::new(
            "cannot pass the given opening",
            scale("permille of opening", 0.0, 1_000.0, 500.0, 0.0),
            |mechanics, place| mechanics.door_jam = Some(place / 1_000.0),
        ),
        MechanicsId::MainWeld => Row::new("is welded shut", None, |mechanics, _| {
            mechanics.main_welded = true;
        }),
        MechanicsId::Pack1Weld => Row::new("is welded shut", None, |mechanics, _| {
            mechanics.pack_contactor_welded[0] = true;
        }),
        MechanicsId::Pack2Weld => Row::new("is welded shut", None, |mechanics, _| {
            mechanics.pack_contactor_welded[1] = true;
        }),
        MechanicsId::Pack1Dropout => Row::new(
            "opens its circuit inside and gives no current",
            None,
            |mechanics, _| mechanics.pack_dropout[0] = true,
        )
        .or_in_breaks(),
        MechanicsId::Pack2Dropout => Row::new(
            "opens its circuit inside and gives no current",
            None,
            |mechanics, _| mechanics.pack_dropout[1] = true,
        )
        .or_in_breaks(),
        MechanicsId::InsulationAged => Row::new(
            "has aged to the given resistance against the airframe",
            scale("kohm", 0.0, 10_000.0, 20.0, 0.0),
            |mechanics, kilohms| {
                let aged = kilohms * 1_000.0;
                let worst = mechanics.insulation_ohm.map_or(aged, |ohms| ohms.min(aged));
                mechanics.insulation_ohm = Some(worst);
            },
        ),
        MechanicsId::FansSeized => Row::new(
            "seizes, and the fans do not turn though supplied",
            None,
            |mechanics, _| mechanics.fans_failed = true,
        ),
        MechanicsId::DischargeOpen => Row::new(
            "is broken, and the bus keeps its charge",
            None,
            |mechanics, _| mechanics.discharge_open = true,
        ),
        MechanicsId::BladePush => Row::new(
            "is pushed by hand with the given torque",
            scale("N m", -200.0, 200.0, 30.0, 0.1),
            |mechanics, torque| mechanics.blade_push += torque,
        )
        .or_in_breaks(),
        MechanicsId::Gust => Row::new(
            "brings a gust of the given speed that drives the blade and loads the mast",
            scale("m/s", -30.0, 30.0, 12.0, 0.1),
            |mechanics, speed| mechanics.gust += speed,
        )
        .or_in_breaks(),
        MechanicsId::BayHeat => Row::new(
            "is heated by the given amount above the air outside, by what should not be there",
            scale("K", 1.0, 1_000.0, 200.0, 1.0),
            |mechanics, rise| mechanics.extra_heat_bay += rise,
        ),
        MechanicsId::DetentWorn => Row::new("is worn and holds nothing", None, |mechanics, _| {
            mechanics.detent_worn = true
        }),
        MechanicsId::ShaftDrag => Row::new(
            "drags with the given friction, and holds the blade where it stands if that is enough",
            scale("N m", 1.0, 1_000.0, 60.0, 1.0),
            |mechanics, friction| mechanics.shaft_drag += friction,
        ),
        MechanicsId::SpindleFree => Row::new(
            "no longer holds, and the mast drifts under its load",
            None,
            |mechanics, _| mechanics.mast_free = true,
        ),
        MechanicsId::PrechargeOpen => Row::new(
            "is broken, and the bus is not charged through it",
            None,
            |mechanics, _| mechanics.precharge_open = true,
        ),
        MechanicsId::Pack1Aged => Row::new(AGED, AGE, |mechanics, times| {
            mechanics.pack_aged[0] = mechanics.pack_aged[0].max(times - 1.0);
        }),
        MechanicsId::Pack2Aged => Row::new(AGED, AGE, |mechanics, times| {
            mechanics.pack_aged[1] = mechanics.pack_aged[1].max(times - 1.0);
        }),
        MechanicsId::AuxDrain => Row::new(
            "is drained by the given current of something else",
            scale("A", 0.1, 50.0, 8.0, 0.1),
            |mechanics, current| mechanics.aux_drain += current,
        ),
        MechanicsId::HotDay => Row::new(
            "has the given temperature, whatever the day",
            scale("C", -40.0, 60.0, 45.0, 0.0),
            |mechanics, celsius| {
                let hottest = mechanics
                    .ambient
                    .map_or(celsius, |other| other.max(celsius));
                mechanics.ambient = Some(hottest);
            },
        ),
        MechanicsId::OverSpeed => Row::new(
            "flies the given speed faster than meant, and the air loads mast, doors and blade",
            scale("m/s", 1.0, 40.0, 20.0, 1.0),
            |mechanics, excess| mechanics.over_speed += excess,
        ),
    }
}

/// Every fault this part of the world can have.
pub(super) fn entries(id: MechanicsId) -> Vec<Entry> {
    let row = row(id);
    let entry = |kind, cycle| Entry {
        target: Target::Mechanics(id),
        kind,
        does: row.does,
        strength: row.strength,
        cycle,
        lasts: true,
    };
    let mut entries = vec![entry(Kind::Acts, None)];
    if row.comes_and_goes {
        entries.push(entry(Kind::Intermittent, Some(CYCLE)));
    }
    entries
}

/// How the fault shows.
pub(super) const fn show(id: MechanicsId) -> Show {
    row(id).show
}
