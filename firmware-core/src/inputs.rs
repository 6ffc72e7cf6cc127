//! What one tick sees: every reading the controller is given, with age and validity.
//!
//! Readings on which safety rests come in pairs that fail apart: two blade angle
//! sources, a mast position sensor with two end switches and a lock switch, two
//! throttle tracks, two stop contacts, two door-open switches with a closed switch.

use crate::signal::Signal;
use crate::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// How many battery packs the aircraft carries.
pub const PACKS: usize = 2;

/// Everything the controller is told in one tick of 10 ms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Inputs {
    /// The pilot's controls.
    pub controls: Controls,
    /// The mast's sensors.
    pub mast: MastSensors,
    /// The bay doors' sensors.
    pub doors: DoorSensors,
    /// The propeller shaft's sensors.
    pub propeller: PropellerSensors,
    /// The high-voltage bus.
    pub bus: BusSensors,
    /// The two packs.
    pub packs: [PackSensors; PACKS],
    /// Temperatures and fans.
    pub thermal: ThermalSensors,
    /// Auxiliary (12 V) battery voltage, 0 to 20 000 mV.
    pub auxiliary: Signal<Millivolts>,
    /// Airspeed, 0 to 1000 (0.1 m/s).
    pub airspeed: Signal<DeciMetresPerSecond>,
    /// The board missed the deadline of the previous tick (SR-16).
    pub missed_deadline: bool,
}

/// The pilot's controls, contact by contact.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Controls {
    /// Throttle lever, first track, 0 to 1000 ‰.
    pub throttle_a: Signal<Permille>,
    /// Throttle lever, second track, 0 to 1000 ‰.
    pub throttle_b: Signal<Permille>,
    /// Mast selector, contact closed in the centre (hold).
    pub select_hold: Signal<bool>,
    /// Mast selector, contact closed when pushed to deploy.
    pub select_deploy: Signal<bool>,
    /// Mast selector, contact closed when pushed to stow.
    pub select_stow: Signal<bool>,
    /// Guarded stop-and-stow switch, first contact; true when thrown.
    pub stop_a: Signal<bool>,
    /// Guarded stop-and-stow switch, second contact; true when thrown.
    pub stop_b: Signal<bool>,
    /// Bench key; true when turned on.
    pub bench_key: Signal<bool>,
    /// Alert acknowledge button, contact closed while it is pressed.
    pub acknowledge: Signal<bool>,
    /// Alert acknowledge button, contact closed while it is released.
    pub acknowledge_rest: Signal<bool>,
    /// Auxiliary charge request switch, contact closed when it is on.
    pub aux_charge: Signal<bool>,
    /// Auxiliary charge request switch, contact closed when it is off.
    pub aux_charge_off: Signal<bool>,
}

/// The mast's sensors.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct MastSensors {
    /// Travel, 0 (stowed) to 1000 ‰ (deployed).
    pub position: Signal<Permille>,
    /// End switch, closed at the stowed end.
    pub stowed_switch: Signal<bool>,
    /// End switch, closed at the deployed end.
    pub deployed_switch: Signal<bool>,
    /// Closed while the latch pin has engaged at the deployed end.
    pub lock_switch: Signal<bool>,
    /// Current drawn by the mast drive, without sign.
    pub drive_current: Signal<Milliamps>,
}

/// The bay doors' sensors. One drive moves both doors by a linkage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct DoorSensors {
    /// Closed while the left door is fully open.
    pub left_open: Signal<bool>,
    /// Closed while the right door is fully open.
    pub right_open: Signal<bool>,
    /// Closed while both doors are shut.
    pub shut: Signal<bool>,
    /// Current drawn by the door drive, without sign.
    pub drive_current: Signal<Milliamps>,
}

/// The propeller shaft's sensors.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct PropellerSensors {
    /// Source A: rotor angle measured in the motor, 0 to 35 999 (0.01°).
    pub angle_a: Signal<CentiDegrees>,
    /// Source B: blade angle measured at the hub, 0 to 35 999 (0.01°).
    pub angle_b: Signal<CentiDegrees>,
    /// Shaft speed from a pick-up of its own, -5000 to 5000 rpm.
    pub speed: Signal<Rpm>,
}

/// The high-voltage bus, behind the main contactor.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct BusSensors {
    /// Voltage across the bus capacitor, 0 to 600 000 mV.
    pub voltage: Signal<Millivolts>,
    /// Current into the bus; positive leaves the packs.
    pub current: Signal<Milliamps>,
    /// Insulation resistance between the bus and the airframe.
    pub insulation: Signal<KiloOhms>,
    /// Auxiliary contact of the main contactor; true while its contacts touch.
    pub main_feedback: Signal<bool>,
}

/// One pack.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct PackSensors {
    /// Terminal voltage, before the pack's contactor.
    pub voltage: Signal<Millivolts>,
    /// Hottest cell.
    pub temperature: Signal<DeciCelsius>,
    /// State of charge, 0 to 1000 ‰.
    pub charge: Signal<Permille>,
}

/// Temperatures and fans.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct ThermalSensors {
    /// Motor windings.
    pub motor: Signal<DeciCelsius>,
    /// Motor controller's heat sink.
    pub controller: Signal<DeciCelsius>,
    /// True while the cooling fans turn.
    pub fans_turning: Signal<bool>,
}
