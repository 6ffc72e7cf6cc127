//! Saboteurs of mast and doors: SR-02, SR-03, SR-05, SR-09, SR-13, SR-14, SR-23, SR-24,
//! SR-25, HZ-1, HZ-3, HZ-6.

use mastwright_core::config::Settings;
use mastwright_core::outputs::{DoorDrive, MastDrive, Motor, Pace};
use mastwright_core::signal::Signal;
use mastwright_core::units::{CentiDegrees, DeciMetresPerSecond, Milliamps, Millis, Permille, Rpm};
use mastwright_core::{Inputs, Outputs, State};

use super::{Saboteur, Tamper, remembers, scenes};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur::flown::<BelievesParked>(
        "believes-parked",
        "SR-02",
        "takes the blade for parked, wherever it is, and does not hold it",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<BelievesParked>(
        "believes-parked",
        "HZ-1",
        "takes the blade for parked, wherever it is, and does not hold it",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<TrustsOneAngle>(
        "trusts-one-angle",
        "SR-02",
        "parks the blade by one angle source alone",
        &scenes::ANGLE_WRONG,
    ),
    Saboteur::flown::<TakesRestraintForGranted>(
        "takes-restraint-for-granted",
        "SR-02",
        "moves the mast in Bench without a confirmation of restraint",
        &scenes::BENCH,
    ),
    Saboteur::flown::<ShortRest>(
        "short-rest",
        "SR-03",
        "is set to a dead time of 50 ms, the least that settings allow",
        &scenes::OPPOSING,
    ),
    Saboteur::flown::<MovesByItself>(
        "moves-by-itself",
        "SR-05",
        "goes on raising the mast after a brown-out",
        &scenes::BROWN_OUT,
    ),
    Saboteur::flown::<TakesHeldSelector>(
        "takes-held-selector",
        "SR-05",
        "takes a selector held over a reset for a fresh push",
        &scenes::BROWN_OUT,
    ),
    Saboteur::flown::<ClosesOnMast>(
        "closes-on-mast",
        "SR-09",
        "closes the doors while the mast still comes down",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ClosesOnMast>(
        "closes-on-mast",
        "HZ-3",
        "closes the doors while the mast still comes down",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<BelievesOpen>(
        "believes-open",
        "SR-09",
        "takes the doors for open and raises the mast against them",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<FeelsNoCurrent>(
        "feels-no-current",
        "SR-13",
        "reads no current of a drive that is stalled",
        &scenes::DOOR_JAM,
    ),
    Saboteur::flown::<PushesOn>(
        "pushes-on",
        "SR-13",
        "pushes against a stalled mast for a second longer",
        &scenes::MAST_JAM,
    ),
    Saboteur::flown::<Patient>(
        "patient",
        "SR-13",
        "is set to let the mast drive run for 40 s",
        &scenes::SLOW_MAST,
    ),
    Saboteur::flown::<MovesInHalt>(
        "moves-in-halt",
        "SR-14",
        "goes on raising the mast in a declared safe halt",
        &scenes::CONTRADICTION,
    ),
    Saboteur::flown::<FullPaceInBench>(
        "full-pace-in-bench",
        "HZ-6",
        "moves the mast at full pace in Bench, a person near it",
        &scenes::BENCH,
    ),
    Saboteur::flown::<FullPaceInBench>(
        "full-pace-in-bench",
        "SR-24",
        "moves the mast at full pace in Bench, a person near it",
        &scenes::BENCH,
    ),
    Saboteur::flown::<RunsOnInBench>(
        "runs-on-in-bench",
        "SR-24",
        "goes on for a second when the selector is let go in Bench, a person near",
        &scenes::BENCH,
    ),
    Saboteur::flown::<BelievesSlowAir>(
        "believes-slow-air",
        "SR-23",
        "takes the air for slow and stows beyond the greatest airspeed",
        &scenes::FAST_AIR,
    ),
    Saboteur::flown::<HoldsInBay>(
        "holds-in-bay",
        "SR-25",
        "holds the blade by the motor all the way into the bay",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<RunsOnInBench>(
        "runs-on-in-bench",
        "HZ-6",
        "goes on for a second when the selector is let go in Bench, a person near",
        &scenes::BENCH,
    ),
];

/// Reads both angles at park and the shaft at rest, always, and lets the blade go.
#[derive(Clone, Default)]
struct BelievesParked;

impl Tamper for BelievesParked {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.propeller.angle_a = Signal::fresh(CentiDegrees::ZERO);
        inputs.propeller.angle_b = Signal::fresh(CentiDegrees::ZERO);
        inputs.propeller.speed = Signal::fresh(Rpm::ZERO);
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.indications.state.is_stowing() {
            outputs.drives.motor = Motor::Free;
            outputs.drives.motor_enable = false;
        }
    }
}

/// Reads no airspeed at all.
#[derive(Clone, Default)]
struct BelievesSlowAir;

impl Tamper for BelievesSlowAir {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO);
    }
}

/// Never lets go of the blade while it stows.
#[derive(Clone, Default)]
struct HoldsInBay;

impl Tamper for HoldsInBay {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.indications.state == State::StowMast {
            outputs.drives.motor = Motor::Hold(Permille::FULL);
            outputs.drives.motor_enable = true;
        }
    }
}

/// Takes the first angle source for both.
#[derive(Clone, Default)]
struct TrustsOneAngle;

impl Tamper for TrustsOneAngle {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.propeller.angle_b = inputs.propeller.angle_a;
    }
}

/// Raises the mast in Bench as long as the selector says so, and asks nothing else.
#[derive(Clone, Default)]
struct TakesRestraintForGranted;

impl Tamper for TakesRestraintForGranted {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        let bench = outputs.indications.state == State::Bench;
        if bench && told.controls.select_deploy.raw() {
            outputs.drives.mast = MastDrive::Extend(Pace::Slow);
            outputs.drives.mast_power = true;
        }
    }
}

/// Rests for 50 ms between opposite drives.
#[derive(Clone, Default)]
struct ShortRest;

impl Tamper for ShortRest {
    fn misconfigure(settings: &mut Settings) {
        settings.dead_time = Millis::new(50);
    }
}

/// Raises the mast where it finds it out of the bay.
#[derive(Clone, Default)]
struct MovesByItself;

impl Tamper for MovesByItself {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.indications.state == State::Resting {
            raise(outputs);
        }
    }
}

/// Reads a centred selector while it wakes, so that one held then looks freshly pushed.
#[derive(Clone, Default)]
struct TakesHeldSelector {
    awake: bool,
}

impl Tamper for TakesHeldSelector {
    remembers!(awake: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if !self.awake {
            inputs.controls.select_hold = Signal::fresh(true);
            inputs.controls.select_deploy = Signal::fresh(false);
            inputs.controls.select_stow = Signal::fresh(false);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.awake = outputs.indications.state != State::Waking;
    }
}

/// Closes the doors as soon as the mast is a third from its end.
#[derive(Clone, Default)]
struct ClosesOnMast;

impl Tamper for ClosesOnMast {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        let nearly_in = told.mast.position.raw() < Permille::new(333);
        if nearly_in && matches!(outputs.drives.mast, MastDrive::Retract(_)) {
            outputs.drives.doors = DoorDrive::Close;
            outputs.drives.door_power = true;
        }
    }
}

/// Reads both door switches as open, always.
#[derive(Clone, Default)]
struct BelievesOpen;

impl Tamper for BelievesOpen {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.doors.left_open = Signal::fresh(true);
        inputs.doors.right_open = Signal::fresh(true);
        inputs.doors.shut = Signal::fresh(false);
    }
}

/// Reads no drive current, ever.
#[derive(Clone, Default)]
struct FeelsNoCurrent;

impl Tamper for FeelsNoCurrent {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.mast.drive_current = Signal::fresh(Milliamps::ZERO);
        inputs.doors.drive_current = Signal::fresh(Milliamps::ZERO);
    }
}

/// Keeps the mast drive on for a second after it was switched off.
#[derive(Clone, Default)]
struct PushesOn {
    left: u8,
}

impl Tamper for PushesOn {
    remembers!(left: u8);

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.drives.mast != MastDrive::Off {
            self.left = 100;
        } else if self.left > 0 {
            self.left -= 1;
            raise(outputs);
        }
    }
}

/// Waits for the mast more than twice as long as it may.
#[derive(Clone, Default)]
struct Patient;

impl Tamper for Patient {
    fn misconfigure(settings: &mut Settings) {
        settings.mast_time = Millis::new(40_000);
        settings.mast_stage_time = Millis::new(60_000);
    }
}

/// Raises the mast in a safe halt.
#[derive(Clone, Default)]
struct MovesInHalt;

impl Tamper for MovesInHalt {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.indications.state.halt().is_some() {
            raise(outputs);
        }
    }
}

/// Knows only one pace.
#[derive(Clone, Default)]
struct FullPaceInBench;

impl Tamper for FullPaceInBench {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.drives.mast = match outputs.drives.mast {
            MastDrive::Off => MastDrive::Off,
            MastDrive::Extend(_) => MastDrive::Extend(Pace::Full),
            MastDrive::Retract(_) => MastDrive::Retract(Pace::Full),
        };
    }
}

/// Keeps raising for a second after the selector is let go.
#[derive(Clone, Default)]
struct RunsOnInBench {
    left: u8,
}

impl Tamper for RunsOnInBench {
    remembers!(left: u8);

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.drives.mast != MastDrive::Off {
            self.left = 100;
        } else if self.left > 0 {
            self.left -= 1;
            outputs.drives.mast = MastDrive::Extend(Pace::Slow);
            outputs.drives.mast_power = true;
        }
    }
}

fn raise(outputs: &mut Outputs) {
    outputs.drives.mast = MastDrive::Extend(Pace::Full);
    outputs.drives.mast_power = true;
}
