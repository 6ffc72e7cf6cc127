//! What one tick commands, and what it tells.
//!
//! Opposite drives cannot be written down together: a drive is one value of one
//! enum, so "extend and retract at once" (SR-03) is not representable here. The
//! default value of every output is its fail-safe value (SR-16): no torque, no
//! motion, contactors open, fans on.

use enumset::EnumSet;
use heapless::Vec;

use crate::command::{Intention, Mode};
use crate::fault::{Fault, Faults};
use crate::inputs::PACKS;
use crate::interlock::{Conditions, Permission, Reason};
use crate::state::State;
use crate::units::{Permille, Rpm};

/// Most events one tick can emit; one more is counted in [`Outputs::events_lost`].
pub const EVENTS: usize = 16;
/// Most denials one tick can report: one each for blade, bus, charger, mast and doors.
pub const DENIALS: usize = 5;

/// Everything the controller commands and tells in one tick.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Outputs {
    /// What is switched and driven.
    pub drives: Drives,
    /// What the pilot is told.
    pub indications: Indications,
    /// What this tick's readings prove: what every permission was judged by.
    pub proven: Conditions,
    /// What was asked for this tick and denied, each with every reason.
    pub denials: Vec<Denial, DENIALS>,
    /// What happened this tick, in order.
    pub events: Vec<Event, EVENTS>,
    /// Events that found no room in [`Outputs::events`].
    pub events_lost: u8,
}

/// Everything that is switched and driven.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Drives {
    /// Command to the motor controller.
    pub motor: Motor,
    /// Hard-wired torque enable of the motor controller; without it no command
    /// gives torque except the phase short of [`Motor::Short`].
    pub motor_enable: bool,
    /// Mast drive.
    pub mast: MastDrive,
    /// Bay door drive.
    pub doors: DoorDrive,
    /// Relay that powers the mast drive: a second path to switch it off.
    pub mast_power: bool,
    /// Relay that powers the door drive: a second path to switch it off.
    pub door_power: bool,
    /// Contactors, pre-charge and discharge of the bus.
    pub bus: BusDrive,
    /// Cooling fans.
    pub fans: Fans,
    /// Auxiliary battery charger.
    pub aux_charger: bool,
}

/// Command to the motor controller.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Motor {
    /// Phases open: the shaft turns freely, no torque.
    Free,
    /// Propulsive torque, 0 to 1000 ‰ of the rated torque.
    Thrust(Permille),
    /// Phases shorted: braking torque that fades with speed; needs no bus and no enable.
    /// The fail-safe value: a controller without power keeps the blade slow.
    #[default]
    Short,
    /// Braking torque from the bus, 0 to 1000 ‰ of the brake limit.
    Brake(Permille),
    /// Turn slowly at the given speed, with small torque, to reach the park angle.
    Creep(Rpm),
    /// Hold the nearest park angle as a spring: torque grows with the push, up to
    /// the given share of the hold limit.
    Hold(Permille),
}

/// How fast a drive runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Pace {
    /// Rated speed.
    #[default]
    Full,
    /// A quarter of the rated speed, for Bench.
    Slow,
}

/// Mast drive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MastDrive {
    /// No drive; the spindle holds the mast where it is.
    #[default]
    Off,
    /// Raise the mast out of the bay.
    Extend(Pace),
    /// Lower the mast into the bay.
    Retract(Pace),
}

/// Bay door drive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DoorDrive {
    /// No drive.
    #[default]
    Off,
    /// Open the doors.
    Open,
    /// Close the doors.
    Close,
}

/// Contactors, pre-charge and discharge.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BusDrive {
    /// Contactor of each pack.
    pub packs: [bool; PACKS],
    /// Pre-charge relay, through the pre-charge resistor.
    pub precharge: bool,
    /// Main contactor.
    pub main: bool,
    /// Discharge relay, across the bus capacitor.
    pub discharge: bool,
}

/// Cooling fans. The fail-safe value is on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Fans {
    /// Fans run.
    #[default]
    On,
    /// Fans rest.
    Off,
}

/// What the pilot is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Indications {
    /// State of the sequencer.
    pub state: State,
    /// Mode of control.
    pub mode: Mode,
    /// Mast proven deployed and locked.
    pub mast_locked: bool,
    /// Mast proven stowed and doors proven shut.
    pub stowed: bool,
    /// Propeller proven parked.
    pub parked: bool,
    /// Thrust will follow the throttle.
    pub armed: bool,
    /// The bus is proven below the high-voltage limit.
    pub bus_dead: bool,
    /// Every latched fault. Its class is [`Fault::class`].
    pub faults: Faults,
    /// Latched faults not yet acknowledged; their alerts sound.
    pub sounding: Faults,
}

/// A thing asked for and denied, with every reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Denial {
    /// What was asked for.
    pub permission: Permission,
    /// Why it was denied; never empty.
    pub reasons: EnumSet<Reason>,
}

/// Something that happened in one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Event {
    /// The sequencer went from one state to another.
    Went {
        /// The state left.
        from: State,
        /// The state entered.
        to: State,
    },
    /// The pilot's controls came to mean this.
    Intended(Intention),
    /// An intention had no effect in the present state.
    Ignored(Intention),
    /// A fault latched.
    Latched(Fault),
    /// A latched fault was cleared on purpose, its cause gone.
    Cleared(Fault),
    /// The bus went to another stage.
    Bus(crate::bus::Stage),
    /// The pilot acknowledged the alerts.
    Acknowledged,
    /// The crew confirmed that the blade is restrained (Bench).
    RestraintConfirmed,
    /// The confirmation of restraint was withdrawn or has lapsed (Bench).
    RestraintEnded,
}

impl Outputs {
    /// Records an event, or counts it as lost.
    pub fn emit(&mut self, event: Event) {
        if self.events.push(event).is_err() {
            self.events_lost = self.events_lost.saturating_add(1);
        }
    }
}
