//! The physical truth: what is, whatever any sensor says or controller believes.

/// How many battery packs the aircraft carries.
pub const PACKS: usize = 2;

/// Number of independent heat detectors in the bay.
pub const HEAT_DETECTORS: usize = 4;

/// The state of the world at one instant, in SI units unless a field says otherwise.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Truth {
    /// Mast, doors and what moves them.
    pub mast: MastTruth,
    /// Door opening, 0 shut to 1 fully open.
    pub doors: f64,
    /// Door speed, 1/s; positive opens.
    pub door_speed: f64,
    /// Current drawn by the door drive, A.
    pub door_current: f64,
    /// Propeller and motor.
    pub propeller: PropellerTruth,
    /// High-voltage bus.
    pub bus: BusTruth,
    /// Battery packs.
    pub packs: [PackTruth; PACKS],
    /// Auxiliary battery terminal voltage, V.
    pub auxiliary: f64,
    /// Motor winding temperature, deg C.
    pub motor_temperature: f64,
    /// Motor controller heat sink temperature, deg C.
    pub controller_temperature: f64,
    /// The cooling fans turn.
    pub fans_turning: bool,
    /// Air temperature at each heat detector in the bay, deg C.
    pub bay_heat: [f64; HEAT_DETECTORS],
    /// Aircraft.
    pub aircraft: AircraftTruth,
    /// A person is declared near mast and blade (Bench).
    pub person_near: bool,
}

/// The mast.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MastTruth {
    /// Travel, 0 stowed to 1 deployed.
    pub position: f64,
    /// Speed of travel, 1/s; positive deploys.
    pub speed: f64,
    /// The latch pin has engaged at the deployed end.
    pub locked: bool,
    /// Current drawn by the mast drive, A.
    pub drive_current: f64,
}

/// The propeller and its motor.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PropellerTruth {
    /// Blade angle, rad, in [0, 2 pi). The blade is aligned with the mast at 0 and pi.
    pub angle: f64,
    /// Shaft speed, rad/s; positive is the propulsive sense.
    pub speed: f64,
    /// Torque the motor puts on the shaft, N m; positive in the propulsive sense.
    pub motor_torque: f64,
    /// Propeller thrust, N; negative when windmilling.
    pub thrust: f64,
}

/// The high-voltage bus, behind the main contactor.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BusTruth {
    /// Voltage across the bus capacitor, V.
    pub voltage: f64,
    /// Current into the bus from the packs, A.
    pub current: f64,
    /// Voltage of the connected packs before the main contactor, V (0: none connected).
    pub source: f64,
    /// The main contactor's contacts touch.
    pub main_closed: bool,
    /// Greatest current into the bus capacitor in this tick, A.
    pub inrush: f64,
    /// Insulation resistance to the airframe, ohm.
    pub insulation: f64,
}

/// One battery pack.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PackTruth {
    /// Voltage the pack offers at its terminals, V; 0 while its own disconnect is open.
    pub voltage: f64,
    /// Current out of the pack, A.
    pub current: f64,
    /// State of charge, 0 to 1.
    pub charge: f64,
    /// Hottest cell, deg C.
    pub temperature: f64,
    /// The pack's own contactor is closed.
    pub connected: bool,
}

/// The aircraft.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AircraftTruth {
    /// Airspeed, m/s.
    pub airspeed: f64,
    /// Height above the field, m.
    pub height: f64,
    /// Rate of climb, m/s.
    pub climb: f64,
    /// The aircraft stands or rolls on the ground.
    pub on_ground: bool,
}
