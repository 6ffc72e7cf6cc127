//! Saboteurs of thrust: SR-01, SR-06, SR-08, HZ-2.

use mastwright_core::inputs::MastSensors;
use mastwright_core::outputs::{MastDrive, Motor};
use mastwright_core::signal::Signal;
use mastwright_core::units::Permille;
use mastwright_core::{Inputs, Outputs, State};

use super::{Saboteur, Tamper, remembers, scenes};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur::flown::<ThrustWhileRising>(
        "thrust-while-rising",
        "SR-01",
        "propels while the mast is being raised",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<BelievesLocked>(
        "believes-locked",
        "SR-01",
        "takes the mast for locked once it is half way out",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<BelievesLocked>(
        "believes-locked",
        "HZ-2",
        "takes the mast for locked once it is half way out",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<MissesLostLock>(
        "misses-lost-lock",
        "SR-01",
        "takes the mast for locked for as long as it propels",
        &scenes::LOCK_LOST,
    ),
    Saboteur::flown::<LingeringThrust>(
        "lingering-thrust",
        "SR-06",
        "goes on with thrust for two ticks when the stop switch is thrown",
        &scenes::EMERGENCY,
    ),
    Saboteur::flown::<RearmsItself>(
        "re-arms-itself",
        "SR-06",
        "resumes thrust when the stop switch is released with the throttle still open",
        &scenes::EMERGENCY,
    ),
    Saboteur::flown::<ArmsOpen>(
        "arms-open",
        "SR-08",
        "arms without having seen the throttle at zero",
        &scenes::THROTTLE_OPEN,
    ),
];

/// Propels whenever the mast is raised.
#[derive(Clone, Default)]
struct ThrustWhileRising;

impl Tamper for ThrustWhileRising {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if matches!(outputs.drives.mast, MastDrive::Extend(_)) {
            propel(outputs, Permille::new(300));
        }
    }
}

/// Believes in every proof of the lock as soon as the mast is half way out.
#[derive(Clone, Default)]
struct BelievesLocked;

impl Tamper for BelievesLocked {
    fn mislead(&mut self, inputs: &mut Inputs) {
        if inputs.mast.position.raw() > Permille::new(500) {
            believe_locked(&mut inputs.mast);
        }
    }
}

/// Believes in every proof of the lock while it propels.
#[derive(Clone, Default)]
struct MissesLostLock {
    propels: bool,
}

impl Tamper for MissesLostLock {
    remembers!(propels: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if self.propels {
            believe_locked(&mut inputs.mast);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.propels = outputs.indications.state == State::Thrust;
    }
}

/// Goes on with the thrust it had for the first two ticks in which the switch is thrown.
#[derive(Clone, Default)]
struct LingeringThrust {
    had: Permille,
    left: u8,
}

impl Tamper for LingeringThrust {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        if let Motor::Thrust(share) = outputs.drives.motor {
            (self.had, self.left) = (share, 2);
        } else if is_stop_thrown(told) && self.left > 0 {
            self.left -= 1;
            propel(outputs, self.had);
        }
    }
}

/// Takes the release of the stop switch for leave to go on.
#[derive(Clone, Default)]
struct RearmsItself {
    stopped: bool,
}

impl Tamper for RearmsItself {
    remembers!(stopped: bool);

    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        self.stopped |= is_stop_thrown(told);
        let demand = told.controls.throttle_a.raw();
        let open = demand > Permille::new(50);
        if self.stopped && !is_stop_thrown(told) && open && outputs.drives.bus.main {
            propel(outputs, demand);
        }
    }
}

/// Reads the throttle as closed until it has armed.
#[derive(Clone, Default)]
struct ArmsOpen {
    deployed: bool,
}

impl Tamper for ArmsOpen {
    remembers!(deployed: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if self.deployed {
            inputs.controls.throttle_a = Signal::fresh(Permille::ZERO);
            inputs.controls.throttle_b = Signal::fresh(Permille::ZERO);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.deployed = outputs.indications.state == State::Deployed;
    }
}

fn believe_locked(mast: &mut MastSensors) {
    mast.position = Signal::fresh(Permille::FULL);
    mast.deployed_switch = Signal::fresh(true);
    mast.lock_switch = Signal::fresh(true);
}

fn propel(outputs: &mut Outputs, share: Permille) {
    outputs.drives.motor = Motor::Thrust(share);
    outputs.drives.motor_enable = true;
}

fn is_stop_thrown(told: &Inputs) -> bool {
    told.controls.stop_a.raw() || told.controls.stop_b.raw()
}
