//! The aircraft a scenario flies. Stands in for the plant's own setup.

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
