//! Where scenario, report and command line meet plant, faults, oracle and world.
//!
//! Every item here stands in for one of those parts and is replaced by it.

use std::fmt;

/// The part of an ordered fault that was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What fails.
    Target,
    /// How.
    Kind,
    /// How much.
    Strength,
    /// For how long.
    Duration,
    /// How often it comes and goes.
    Cycle,
}

/// Why an ordered fault is refused, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FaultRefusal {
    /// What was refused.
    pub part: Part,
    /// Why.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

/// A fault as a scenario writes it.
#[derive(Clone, Copy, Debug)]
pub struct Ordered<'a> {
    /// What fails.
    pub target: &'a str,
    /// How.
    pub kind: &'a str,
    /// How much.
    pub strength: Option<f64>,
    /// For how long, s.
    pub duration: Option<f64>,
    /// Mean cycle, s.
    pub cycle: Option<f64>,
}

/// Stands in for the fault model's fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault(String);

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The fault that was ordered.
///
/// # Errors
/// The part that the catalogue does not know or its target cannot have.
pub fn fault(ordered: &Ordered<'_>) -> Result<Fault, FaultRefusal> {
    let strength = ordered.strength.map(|much| format!(" {much}"));
    let strength = strength.unwrap_or_default();
    Ok(Fault(format!(
        "{} {}{strength}",
        ordered.target, ordered.kind
    )))
}

/// The requirements judged in a run: id and statement.
pub fn requirements() -> Vec<(&'static str, &'static str)> {
    (1..=22).map(|n| (ID[n - 1], "statement")).collect()
}

/// The hazards judged in a run: id and statement.
pub fn hazards() -> Vec<(&'static str, &'static str)> {
    Vec::new()
}

/// Every fault that can be ordered: its target and kind, and what it does.
pub fn fault_rows() -> Vec<(String, String)> {
    Vec::new()
}

/// The world of a scenario, ready for its first tick.
///
/// # Errors
/// When no such world can be made.
pub fn take_off(_scenario: &crate::scenario::Scenario, _seed: u64) -> miette::Result<Nowhere> {
    Err(miette::miette!("this build has no world to fly in"))
}

/// A flight that cannot exist.
#[derive(Debug)]
pub enum Nowhere {}

impl crate::flight::Flight for Nowhere {
    fn step(&mut self) {
        match *self {}
    }
    fn frame(&self) -> &crate::frame::Frame {
        match *self {}
    }
    fn begun(&self) -> crate::flight::Begun {
        match *self {}
    }
    fn verdict(&self) -> crate::flight::Verdict {
        match *self {}
    }
}

const ID: [&str; 22] = [
    "SR-01", "SR-02", "SR-03", "SR-04", "SR-05", "SR-06", "SR-07", "SR-08", "SR-09", "SR-10",
    "SR-11", "SR-12", "SR-13", "SR-14", "SR-15", "SR-16", "SR-17", "SR-18", "SR-19", "SR-20",
    "SR-21", "SR-22",
];

/// The ways out of a state.
pub fn ways_out(_state: mastwright_core::State) -> &'static [mastwright_core::state::WayOut] {
    &[]
}

/// Stands in for the plant's setup.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PlantSetup {
    /// Airframe.
    pub aircraft: AircraftSetup,
    /// Air.
    pub air: AirSetup,
    /// Start.
    pub initial: InitialState,
}

/// Stands in for the plant's airframe.
#[derive(Clone, Copy, Debug, PartialEq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AircraftSetup {
    /// Mass, kg.
    pub mass: f64,
}

impl Default for AircraftSetup {
    fn default() -> Self {
        Self { mass: 470.0 }
    }
}

/// Stands in for the plant's air.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AirSetup {
    /// Departure from the standard temperature, K.
    pub offset: f64,
}

/// Stands in for the plant's start.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct InitialState {
    /// 0 to 1.
    pub mast: f64,
    /// 0 to 1.
    pub doors: Option<f64>,
    /// On the ground.
    pub on_ground: bool,
    /// m/s.
    pub airspeed: f64,
    /// m.
    pub height: f64,
    /// 0 to 1.
    pub charge: [f64; 2],
    /// 0 to 1.
    pub auxiliary_charge: f64,
    /// deg.
    pub blade_angle: f64,
    /// rpm.
    pub shaft_rpm: f64,
    /// C.
    pub motor_temperature: Option<f64>,
    /// C.
    pub controller_temperature: Option<f64>,
    /// C.
    pub pack_temperature: Option<f64>,
}

/// Stands in for the plant's refusal.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field} is {value}: allowed are {low} to {high} {unit}")]
pub struct SetupError {
    /// Field.
    pub field: &'static str,
    /// Value.
    pub value: f64,
    /// Least.
    pub low: f64,
    /// Greatest.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
}

impl PlantSetup {
    /// Stands in for the plant's check.
    ///
    /// # Errors
    /// When the mass is out of range.
    pub fn check(&self) -> Result<(), SetupError> {
        let (field, value, low, high) = ("aircraft.mass", self.aircraft.mass, 100.0, 2000.0);
        if (low..=high).contains(&value) {
            return Ok(());
        }
        Err(SetupError {
            field,
            value,
            low,
            high,
            unit: "kg",
        })
    }
}
