//! Which fault of the catalogue stands for a trouble of the abstract world.
//!
//! A trouble covers a whole row of the catalogue; the one that fits what the story shows
//! is taken: for a sensor the lie it first tells, for all else the plainest kind.

use mastwright_core::Inputs;
use mastwright_core::signal::Signal;

use super::super::trouble::Trouble;

/// A fault of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct StandIn {
    /// What fails.
    pub target: &'static str,
    /// How.
    pub kind: &'static str,
    /// How much, in the unit that the catalogue gives.
    pub strength: Option<f64>,
}

/// The fault that stands for `trouble`, given the first lie it tells.
#[must_use]
pub fn stand_in(trouble: Trouble, lie: Option<&Inputs>) -> Option<StandIn> {
    if let Some(target) = sensor(trouble) {
        let (kind, strength) = lie.map_or(("dropout", None), |lie| lied(trouble, lie));
        return Some(StandIn {
            target,
            kind,
            strength,
        });
    }
    let (target, kind) = thing(trouble)?;
    Some(StandIn {
        target,
        kind,
        strength: None,
    })
}

const fn sensor(trouble: Trouble) -> Option<&'static str> {
    Some(match trouble {
        Trouble::MastPosition => "sensor.mast.position",
        Trouble::StowedSwitch => "sensor.mast.stowed-switch",
        Trouble::DeployedSwitch => "sensor.mast.deployed-switch",
        Trouble::LockSwitch => "sensor.mast.lock-switch",
        Trouble::MastCurrent => "sensor.mast.drive-current",
        Trouble::LeftOpen => "sensor.doors.left-open",
        Trouble::RightOpen => "sensor.doors.right-open",
        Trouble::ShutSwitch => "sensor.doors.shut",
        Trouble::DoorCurrent => "sensor.doors.drive-current",
        Trouble::AngleA => "sensor.propeller.angle-a",
        Trouble::AngleB => "sensor.propeller.angle-b",
        Trouble::ShaftSpeed => "sensor.propeller.speed",
        Trouble::BusVoltage => "sensor.bus.voltage",
        Trouble::BusCurrent => "sensor.bus.current",
        Trouble::InsulationMonitor => "sensor.bus.insulation",
        Trouble::MainFeedback => "sensor.bus.main-feedback",
        Trouble::Pack1Voltage => "sensor.pack1.voltage",
        Trouble::Pack2Voltage => "sensor.pack2.voltage",
        Trouble::ThrottleA => "sensor.controls.throttle-a",
        Trouble::ThrottleB => "sensor.controls.throttle-b",
        Trouble::SelectHold => "sensor.controls.select-hold",
        Trouble::SelectDeploy => "sensor.controls.select-deploy",
        Trouble::SelectStow => "sensor.controls.select-stow",
        Trouble::StopA => "sensor.controls.stop-a",
        Trouble::StopB => "sensor.controls.stop-b",
        Trouble::BenchKey => "sensor.controls.bench-key",
        Trouble::AuxContact => "sensor.controls.aux-charge",
        Trouble::Airspeed => "sensor.airspeed",
        Trouble::None
        | Trouble::SelectorLingers
        | Trouble::MastStuck
        | Trouble::MastReversed
        | Trouble::SpindleFree
        | Trouble::DoorsStuck
        | Trouble::MotorDead
        | Trouble::MotorDisobeys
        | Trouble::BladeTurned
        | Trouble::MainWelded
        | Trouble::MainStuckOpen
        | Trouble::PrechargeOpen
        | Trouble::DischargeOpen
        | Trouble::PacksOff
        | Trouble::InsulationLow
        | Trouble::LateTicks
        | Trouble::PowerCut => return None,
    })
}

/// What is no sensor. `PacksOff` has no single fault: each pack drops out by itself. The
/// simulated selector goes over in no time, so nothing stands for one that lingers.
const fn thing(trouble: Trouble) -> Option<(&'static str, &'static str)> {
    Some(match trouble {
        Trouble::MastStuck => ("mechanics.mast-jam", "acts"),
        Trouble::MastReversed => ("actuator.mast-drive", "reversed"),
        Trouble::SpindleFree => ("mechanics.spindle-free", "acts"),
        Trouble::DoorsStuck => ("mechanics.door-jam", "acts"),
        Trouble::MotorDead => ("actuator.motor", "dead"),
        Trouble::MotorDisobeys => ("actuator.motor", "stuck-on"),
        Trouble::BladeTurned => ("mechanics.blade-push", "acts"),
        Trouble::MainWelded => ("mechanics.main-weld", "acts"),
        Trouble::MainStuckOpen => ("actuator.main-contactor", "dead"),
        Trouble::PrechargeOpen => ("mechanics.precharge-open", "acts"),
        Trouble::DischargeOpen => ("mechanics.discharge-open", "acts"),
        Trouble::PacksOff => ("mechanics.pack1-dropout", "acts"),
        Trouble::InsulationLow => ("mechanics.insulation-aged", "acts"),
        Trouble::LateTicks => ("processor", "slow"),
        Trouble::PowerCut => ("power", "reset"),
        Trouble::None
        | Trouble::MastPosition
        | Trouble::StowedSwitch
        | Trouble::DeployedSwitch
        | Trouble::LockSwitch
        | Trouble::MastCurrent
        | Trouble::LeftOpen
        | Trouble::RightOpen
        | Trouble::ShutSwitch
        | Trouble::DoorCurrent
        | Trouble::AngleA
        | Trouble::AngleB
        | Trouble::ShaftSpeed
        | Trouble::BusVoltage
        | Trouble::BusCurrent
        | Trouble::InsulationMonitor
        | Trouble::MainFeedback
        | Trouble::Pack1Voltage
        | Trouble::Pack2Voltage
        | Trouble::ThrottleA
        | Trouble::ThrottleB
        | Trouble::SelectHold
        | Trouble::SelectDeploy
        | Trouble::SelectStow
        | Trouble::SelectorLingers
        | Trouble::StopA
        | Trouble::StopB
        | Trouble::BenchKey
        | Trouble::AuxContact
        | Trouble::Airspeed => return None,
    })
}

/// Kind and strength of what a broken sensor says in `lie`.
fn lied(trouble: Trouble, lie: &Inputs) -> (&'static str, Option<f64>) {
    match trouble {
        Trouble::MastPosition => stuck_at(lie.mast.position, 1.0, |v| v.get().into()),
        Trouble::MastCurrent => stuck_at(lie.mast.drive_current, 1e3, |v| v.get().into()),
        Trouble::DoorCurrent => stuck_at(lie.doors.drive_current, 1e3, |v| v.get().into()),
        Trouble::AngleA => stuck_at(lie.propeller.angle_a, 100.0, |v| v.get().into()),
        Trouble::AngleB => stuck_at(lie.propeller.angle_b, 100.0, |v| v.get().into()),
        Trouble::ShaftSpeed => stuck_at(lie.propeller.speed, 1.0, |v| v.get().into()),
        Trouble::BusVoltage => stuck_at(lie.bus.voltage, 1e3, |v| v.get().into()),
        Trouble::BusCurrent => stuck_at(lie.bus.current, 1e3, |v| v.get().into()),
        Trouble::InsulationMonitor => stuck_at(lie.bus.insulation, 1.0, |v| v.get().into()),
        Trouble::Pack1Voltage => stuck_at(lie.packs[0].voltage, 1e3, |v| v.get().into()),
        Trouble::Pack2Voltage => stuck_at(lie.packs[1].voltage, 1e3, |v| v.get().into()),
        Trouble::ThrottleA => stuck_at(lie.controls.throttle_a, 1.0, |v| v.get().into()),
        Trouble::ThrottleB => stuck_at(lie.controls.throttle_b, 1.0, |v| v.get().into()),
        Trouble::Airspeed => stuck_at(lie.airspeed, 10.0, |v| v.get().into()),
        Trouble::StowedSwitch => stuck(lie.mast.stowed_switch),
        Trouble::DeployedSwitch => stuck(lie.mast.deployed_switch),
        Trouble::LockSwitch => stuck(lie.mast.lock_switch),
        Trouble::LeftOpen => stuck(lie.doors.left_open),
        Trouble::RightOpen => stuck(lie.doors.right_open),
        Trouble::ShutSwitch => stuck(lie.doors.shut),
        Trouble::MainFeedback => stuck(lie.bus.main_feedback),
        Trouble::SelectHold => stuck(lie.controls.select_hold),
        Trouble::SelectDeploy => stuck(lie.controls.select_deploy),
        Trouble::SelectStow => stuck(lie.controls.select_stow),
        Trouble::StopA => stuck(lie.controls.stop_a),
        Trouble::StopB => stuck(lie.controls.stop_b),
        Trouble::BenchKey => stuck(lie.controls.bench_key),
        Trouble::AuxContact => stuck(lie.controls.aux_charge),
        Trouble::None
        | Trouble::SelectorLingers
        | Trouble::MastStuck
        | Trouble::MastReversed
        | Trouble::SpindleFree
        | Trouble::DoorsStuck
        | Trouble::MotorDead
        | Trouble::MotorDisobeys
        | Trouble::BladeTurned
        | Trouble::MainWelded
        | Trouble::MainStuckOpen
        | Trouble::PrechargeOpen
        | Trouble::DischargeOpen
        | Trouble::PacksOff
        | Trouble::InsulationLow
        | Trouble::LateTicks
        | Trouble::PowerCut => ("dropout", None),
    }
}

/// A number in the catalogue's unit, of which one is `counts` of the reading.
fn stuck_at<T: Copy>(
    signal: Signal<T>,
    counts: f64,
    value: impl Fn(T) -> f64,
) -> (&'static str, Option<f64>) {
    if signal.is_valid() {
        ("stuck-at", Some(value(signal.raw()) / counts))
    } else {
        ("dropout", None)
    }
}

fn stuck(signal: Signal<bool>) -> (&'static str, Option<f64>) {
    let kind = match (signal.is_valid(), signal.raw()) {
        (false, _) => "dropout",
        (true, true) => "stuck-closed",
        (true, false) => "stuck-open",
    };
    (kind, None)
}
