//! What may have failed when the controller latched a fault: the plainest single cause
//! in the catalogue, a guess to begin from.

use mastwright_core::Fault;

/// A fault of the catalogue, and how long before the alert it begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cause {
    /// What fails.
    pub target: &'static str,
    /// How.
    pub kind: &'static str,
    /// Ticks from its beginning to the alert, about.
    pub before: u32,
}

const fn of(target: &'static str, kind: &'static str, before: u32) -> Option<Cause> {
    Some(Cause {
        target,
        kind,
        before,
    })
}

/// About as long as a lost reading takes to be told.
const LOST: u32 = 20;
/// About as long as a contradiction or an overload takes to be told.
const SEEN: u32 = 50;
/// A drive or a stage of the bus that runs its time out.
const LATE: u32 = 500;

/// The plainest cause of `fault`; none where it follows from something else, or from how
/// the day went.
#[must_use]
pub const fn cause(fault: Fault) -> Option<Cause> {
    match fault {
        Fault::MastContradiction => of("sensor.mast.stowed-switch", "inverted", SEEN),
        Fault::MastSensorLost => of("sensor.mast.position", "dropout", LOST),
        Fault::MastOverload => of("mechanics.mast-jam", "acts", SEEN),
        Fault::MastOverdue => of("actuator.mast-drive", "slow", LATE),
        Fault::MastNotFollowing => of("actuator.mast-drive", "dead", SEEN),
        Fault::MastUnasked => of("mechanics.spindle-free", "acts", SEEN),
        Fault::LockLost => of("sensor.mast.lock-switch", "dropout", LOST),
        Fault::DoorContradiction => of("sensor.doors.shut", "inverted", SEEN),
        Fault::DoorSensorLost => of("sensor.doors.left-open", "dropout", LOST),
        Fault::DoorOverload => of("mechanics.door-jam", "acts", SEEN),
        Fault::DoorOverdue => of("actuator.door-drive", "dead", LATE),
        Fault::DoorUnasked => of("actuator.door-drive", "stuck-on", SEEN),
        Fault::BladeDisagreement => of("sensor.propeller.angle-b", "offset", SEEN),
        Fault::BladeSensorLost => of("sensor.propeller.angle-b", "dropout", LOST),
        Fault::BrakeOverdue => of("actuator.motor", "dead", LATE),
        Fault::ParkOverdue => of("mechanics.shaft-drag", "acts", LATE),
        Fault::ParkLost => of("mechanics.blade-push", "acts", SEEN),
        Fault::MotorUnasked => of("actuator.motor", "stuck-on", SEEN),
        Fault::InsulationLow => of("mechanics.insulation-aged", "acts", LOST),
        Fault::PrechargeFailed => of("mechanics.precharge-open", "acts", LATE),
        Fault::MainStuckOpen => of("actuator.main-contactor", "dead", SEEN),
        Fault::MainWelded => of("mechanics.main-weld", "acts", LATE),
        Fault::DischargeFailed => of("mechanics.discharge-open", "acts", LATE),
        Fault::Pack1Unusable => of("mechanics.pack1-dropout", "acts", SEEN),
        Fault::Pack2Unusable => of("mechanics.pack2-dropout", "acts", SEEN),
        Fault::TemperatureUnknown => of("sensor.thermal.motor", "dropout", LOST),
        Fault::FansFailed => of("mechanics.fans-seized", "acts", LATE),
        Fault::ThrottleUnproven => of("sensor.controls.throttle-a", "dropout", LOST),
        Fault::StopSwitchUnproven => of("sensor.controls.stop-b", "dropout", LOST),
        Fault::SelectorUnproven => of("sensor.controls.select-hold", "dropout", LOST),
        Fault::AirspeedUnknown => of("sensor.airspeed", "dropout", LOST),
        Fault::Overspeed => of("mechanics.over-speed", "acts", SEEN),
        Fault::AuxiliaryLow => of("mechanics.aux-drain", "acts", LATE),
        Fault::DeadlineMissed => of("processor", "slow", 1),
        Fault::BusLost
        | Fault::PacksUnbalanced
        | Fault::ChargeLow
        | Fault::PackHot
        | Fault::MotorHot
        | Fault::ControllerHot
        | Fault::HeatingTooFast => None,
    }
}
