//! What a moment can measure: quantities of the world's truth, with their units.

use mastwright_core::fault::Faults;

use crate::frame::Frame;

/// A number that can be read from every frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Mast travel, %: 0 stowed, 100 deployed.
    Mast,
    /// Door opening, %: 0 shut, 100 open.
    Doors,
    /// Shaft speed whatever its sense, rpm.
    Propeller,
    /// Propeller thrust, N; negative when windmilling.
    Thrust,
    /// Voltage across the bus capacitor, V.
    Bus,
    /// Insulation resistance of the bus, kohm.
    Insulation,
    /// Charge of the emptier pack, %.
    Charge,
    /// Temperature of the hotter pack, C.
    Pack,
    /// Motor winding temperature, C.
    Motor,
    /// Motor controller temperature, C.
    Controller,
    /// Air temperature at the hottest heat detector, C.
    Bay,
    /// Auxiliary battery voltage, V.
    Auxiliary,
    /// Airspeed, m/s.
    Airspeed,
    /// Height above the field, m.
    Height,
    /// Rate of climb, m/s.
    Climb,
    /// Throttle lever, %.
    Throttle,
    /// Time since the start, s.
    Time,
}

impl Quantity {
    /// Every quantity with its name in a scenario and its unit.
    pub const ALL: [(Self, &'static str, &'static str); 17] = [
        (Self::Mast, "mast", "%"),
        (Self::Doors, "doors", "%"),
        (Self::Propeller, "propeller", "rpm"),
        (Self::Thrust, "thrust", "N"),
        (Self::Bus, "bus", "V"),
        (Self::Insulation, "insulation", "kohm"),
        (Self::Charge, "charge", "%"),
        (Self::Pack, "pack", "C"),
        (Self::Motor, "motor", "C"),
        (Self::Controller, "controller", "C"),
        (Self::Bay, "bay", "C"),
        (Self::Auxiliary, "auxiliary", "V"),
        (Self::Airspeed, "airspeed", "m/s"),
        (Self::Height, "height", "m"),
        (Self::Climb, "climb", "m/s"),
        (Self::Throttle, "throttle", "%"),
        (Self::Time, "time", "s"),
    ];

    /// The quantity and its unit, by its name.
    #[must_use]
    pub fn named(name: &str) -> Option<(Self, &'static str)> {
        Self::ALL
            .iter()
            .find_map(|&(quantity, known, unit)| (known == name).then_some((quantity, unit)))
    }

    /// Its value in `frame`, in its unit.
    #[must_use]
    pub fn read(self, frame: &Frame) -> f64 {
        const RPM: f64 = 60.0 / core::f64::consts::TAU;
        let truth = &frame.truth;
        match self {
            Self::Mast => truth.mast.position * 100.0,
            Self::Doors => truth.doors * 100.0,
            Self::Propeller => truth.propeller.speed.abs() * RPM,
            Self::Thrust => truth.propeller.thrust,
            Self::Bus => truth.bus.voltage,
            Self::Insulation => truth.bus.insulation / 1000.0,
            Self::Charge => truth.packs.iter().fold(1.0, |least, p| p.charge.min(least)) * 100.0,
            Self::Pack => hottest(truth.packs.iter().map(|pack| pack.temperature)),
            Self::Motor => truth.motor_temperature,
            Self::Controller => truth.controller_temperature,
            Self::Bay => hottest(truth.bay_heat.iter().copied()),
            Self::Auxiliary => truth.auxiliary,
            Self::Airspeed => truth.aircraft.airspeed,
            Self::Height => truth.aircraft.height,
            Self::Climb => truth.aircraft.climb,
            Self::Throttle => frame.controls.throttle * 100.0,
            Self::Time => frame.seconds(),
        }
    }
}

fn hottest(temperatures: impl Iterator<Item = f64>) -> f64 {
    temperatures.fold(f64::NEG_INFINITY, f64::max)
}

/// Something that is so or is not, in every frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flag {
    /// The latch pin has engaged, in truth.
    MastLocked,
    /// The controller has proven the propeller parked.
    PropellerParked,
    /// Thrust would follow the throttle.
    ThrustArmed,
    /// The controller has proven the bus dead.
    BusDead,
    /// The main contactor's contacts touch, in truth.
    MainClosed,
    /// The cooling fans turn, in truth.
    FansTurning,
    /// The aircraft stands or rolls on the ground.
    OnGround,
    /// The controller has its supply.
    PowerOn,
    /// The heat warning sounds.
    HeatWarning,
    /// Some fault is latched.
    AnyFault,
}

impl Flag {
    /// Every flag with its words in a scenario.
    pub const ALL: [(Self, &'static str); 10] = [
        (Self::MastLocked, "mast is locked"),
        (Self::PropellerParked, "propeller is parked"),
        (Self::ThrustArmed, "thrust is armed"),
        (Self::BusDead, "bus is dead"),
        (Self::MainClosed, "contactor is closed"),
        (Self::FansTurning, "fans are turning"),
        (Self::OnGround, "aircraft is on-ground"),
        (Self::PowerOn, "power is on"),
        (Self::HeatWarning, "heat is warned"),
        (Self::AnyFault, "fault is any"),
    ];

    /// Whether it is so in `frame`.
    #[must_use]
    pub fn read(self, frame: &Frame) -> bool {
        let told = &frame.outputs.indications;
        match self {
            Self::MastLocked => frame.truth.mast.locked,
            Self::PropellerParked => told.parked,
            Self::ThrustArmed => told.armed,
            Self::BusDead => told.bus_dead,
            Self::MainClosed => frame.truth.bus.main_closed,
            Self::FansTurning => frame.truth.fans_turning,
            Self::OnGround => frame.truth.aircraft.on_ground,
            Self::PowerOn => frame.powered,
            Self::HeatWarning => frame.heat_warning,
            Self::AnyFault => told.faults != Faults::empty(),
        }
    }
}
