//! The controller's names in plain words.

use mastwright_core::bus::Stage;
use mastwright_core::command::Intention;
use mastwright_core::fault::Class;
use mastwright_core::interlock::Permission;
use mastwright_core::{Fault, State};

use crate::frame::Frame;

/// The controller's state, or that it has no supply.
#[must_use]
pub fn phase(frame: &Frame) -> &'static str {
    if frame.powered {
        frame.outputs.indications.state.name()
    } else {
        "no supply"
    }
}

/// A state with what goes on in it; a halt with its reason and way out.
#[must_use]
pub fn state(state: State) -> String {
    let name = state.name();
    match state.halt() {
        Some(halt) => format!("{name}: {}; way out: {}", halt.words(), halt.way_out()),
        None => format!("{name}: {}", meaning(state)),
    }
}

/// What goes on in a state.
#[must_use]
pub const fn meaning(state: State) -> &'static str {
    match state {
        State::Waking => "just powered, listening to its sensors",
        State::Resting => "nothing moves, waiting for an intention",
        State::Stowed => "mast in its bay, doors shut",
        State::DeployPower => "making the bus live",
        State::DeployPark => "proving the blade parked",
        State::DeployDoors => "opening the doors",
        State::DeployMast => "raising the mast",
        State::Deployed => "mast locked, blade held, thrust not armed",
        State::Armed => "throttle seen at zero, thrust is ready",
        State::Thrust => "propelling as the throttle demands",
        State::StowPower => "making the bus live to stow",
        State::StowBrake => "slowing the propeller",
        State::StowPark => "turning the blade to its park angle",
        State::StowProve => "proving that the blade stays parked by itself",
        State::StowMast => "lowering the mast",
        State::StowDoors => "closing the doors",
        State::Jog => "the pilot moves the mast by holding the selector",
        State::Halted(_) => "safe halt, nothing moves",
        State::Bench => "maintenance on the ground, the crew moves the mast slowly",
    }
}

/// The word an alert of this class begins with.
#[must_use]
pub const fn class(class: Class) -> &'static str {
    match class {
        Class::Warning => "WARNING",
        Class::Caution => "CAUTION",
        Class::Advisory => "ADVISORY",
    }
}

/// An intention.
#[must_use]
pub const fn intention(intention: Intention) -> &'static str {
    match intention {
        Intention::Deploy => "Deploy",
        Intention::Stow => "Stow",
        Intention::StopAndStow => "stop-and-stow",
    }
}

/// A stage of the bus.
#[must_use]
pub const fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::Draining => "draining",
        Stage::Dead => "dead",
        Stage::Checking => "checking insulation and contactor",
        Stage::Precharging => "pre-charging",
        Stage::Closing => "closing the main contactor",
        Stage::Live => "live",
        Stage::Opening => "opening",
    }
}

/// What a permission allows.
#[must_use]
pub const fn permission(permission: Permission) -> &'static str {
    match permission {
        Permission::Propel => "propel",
        Permission::Extend => "extend mast",
        Permission::Retract => "retract mast",
        Permission::OpenDoors => "open doors",
        Permission::CloseDoors => "close doors",
        Permission::TurnBlade => "turn blade",
        Permission::HoldBlade => "hold blade",
        Permission::BrakeBlade => "brake propeller",
        Permission::Precharge => "pre-charge bus",
        Permission::CloseMain => "close main contactor",
        Permission::AuxCharge => "charge auxiliary",
    }
}

/// A fault, as its alert names it.
#[must_use]
pub const fn fault(fault: Fault) -> &'static str {
    match fault {
        Fault::MastContradiction => "mast sensors contradict each other",
        Fault::MastSensorLost => "mast sensor lost",
        Fault::MastOverload => "mast drive overloaded",
        Fault::MastOverdue => "mast overdue",
        Fault::MastNotFollowing => "mast does not follow its drive",
        Fault::MastUnasked => "mast moves unasked",
        Fault::LockLost => "mast lock lost",
        Fault::DoorContradiction => "door switches contradict each other",
        Fault::DoorSensorLost => "door switch lost",
        Fault::DoorOverload => "door drive overloaded",
        Fault::DoorOverdue => "doors overdue",
        Fault::DoorUnasked => "doors move unasked",
        Fault::BladeDisagreement => "blade angle sources disagree",
        Fault::BladeSensorLost => "blade angle or shaft speed lost",
        Fault::BrakeOverdue => "propeller did not slow down",
        Fault::ParkOverdue => "propeller not parked in time",
        Fault::ParkLost => "propeller left its parked angle",
        Fault::MotorUnasked => "motor draws current unasked",
        Fault::InsulationLow => "insulation low or unknown",
        Fault::PrechargeFailed => "pre-charge failed",
        Fault::MainStuckOpen => "main contactor did not close",
        Fault::MainWelded => "main contactor welded",
        Fault::DischargeFailed => "bus did not discharge",
        Fault::BusLost => "bus lost",
        Fault::Pack1Unusable => "pack 1 unusable",
        Fault::Pack2Unusable => "pack 2 unusable",
        Fault::PacksUnbalanced => "packs unbalanced, one serves alone",
        Fault::ChargeLow => "charge below reserve",
        Fault::PackHot => "pack hot",
        Fault::MotorHot => "motor hot",
        Fault::ControllerHot => "motor controller hot",
        Fault::TemperatureUnknown => "a temperature is unknown, power limited",
        Fault::FansFailed => "cooling fans do not turn",
        Fault::HeatingTooFast => "motor controller heats too fast",
        Fault::ThrottleUnproven => "throttle unproven",
        Fault::StopSwitchUnproven => "stop-and-stow switch unproven",
        Fault::SelectorUnproven => "mast selector unproven",
        Fault::AirspeedUnknown => "airspeed unknown, mast will not move",
        Fault::Overspeed => "too fast for a mast out of its bay",
        Fault::AuxiliaryLow => "auxiliary battery low",
        Fault::DeadlineMissed => "the controller missed a deadline",
    }
}
