//! Faults of the physical world: what breaks, jams, ages, blows or is pushed.

use super::catalogue::{Entry, Scale};
use super::kind::Kind;
use super::named::named;
use super::sensor::CYCLE;
use super::target::Target;

/// Everything that is wrong in the physical world; by default nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mechanics {
    /// The mast cannot pass this place of its travel, 0 stowed to 1 deployed.
    pub mast_jam: Option<f64>,
    /// The doors cannot pass this opening, 0 shut to 1 open.
    pub door_jam: Option<f64>,
    /// The main contactor's contacts are welded.
    pub main_welded: bool,
    /// The contacts of each pack's contactor are welded.
    pub pack_contactor_welded: [bool; 2],
    /// Each pack's circuit is open inside the pack.
    pub pack_dropout: [bool; 2],
    /// The insulation has aged to this resistance, ohm.
    pub insulation_ohm: Option<f64>,
    /// The fans do not turn though supplied.
    pub fans_failed: bool,
    /// The discharge resistor is open.
    pub discharge_open: bool,
    /// Torque put on the blade by a hand, N m; positive in the propulsive sense.
    pub blade_push: f64,
    /// Gust added to the airspeed the blade and the mast meet, m/s.
    pub gust: f64,
    /// Heat released into the bay besides the motor's own, W.
    pub extra_heat_bay: f64,
    /// The detent that holds the parked blade is worn and holds nothing.
    pub detent_worn: bool,
}

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
    }
}

/// How a mechanical fault shows; the number is its strength.
pub(super) type Show = fn(&mut Mechanics, f64);

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
            "is heated with the given power by what should not be there",
            scale("W", 1.0, 20_000.0, 2_000.0, 1.0),
            |mechanics, watts| mechanics.extra_heat_bay += watts,
        ),
        MechanicsId::DetentWorn => Row::new("is worn and holds nothing", None, |mechanics, _| {
            mechanics.detent_worn = true
        }),
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
