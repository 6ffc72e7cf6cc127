//! Hand-made frames for the rules' own tests.

use mastwright_core::Inputs;
use mastwright_core::outputs::Motor;
use mastwright_core::signal::Signal;
use mastwright_core::units::{CentiDegrees, KiloOhms, Millivolts, Permille, Rpm};

use super::{Limits, Oracle, Outcome};
use crate::frame::Frame;

/// Everything heard, a mast told to be at `position` permille.
pub(super) fn told(position: i16) -> Inputs {
    let mut inputs = Inputs::default();
    inputs.mast.position = Signal::fresh(Permille::new(position));
    inputs.mast.stowed_switch = Signal::fresh(position <= 10);
    inputs.mast.deployed_switch = Signal::fresh(position >= 990);
    inputs.mast.lock_switch = Signal::fresh(position >= 990);
    inputs.doors.left_open = Signal::fresh(position > 10);
    inputs.doors.right_open = Signal::fresh(position > 10);
    inputs.propeller.angle_a = Signal::fresh(CentiDegrees::ZERO);
    inputs.propeller.angle_b = Signal::fresh(CentiDegrees::ZERO);
    inputs.propeller.speed = Signal::fresh(Rpm::ZERO);
    inputs.controls.throttle_a = Signal::fresh(Permille::ZERO);
    inputs.controls.throttle_b = Signal::fresh(Permille::ZERO);
    inputs.controls.stop_a = Signal::fresh(false);
    inputs.controls.stop_b = Signal::fresh(false);
    inputs.bus.voltage = Signal::fresh(Millivolts::ZERO);
    inputs.bus.insulation = Signal::fresh(KiloOhms::new(1000));
    inputs
}

/// A world at rest: stowed, shut, dead, cool, powered.
pub(super) fn stowed() -> Frame {
    let mut frame = Frame {
        powered: true,
        inputs: told(0),
        ..Frame::default()
    };
    let truth = &mut frame.truth;
    truth.bus.insulation = 1e6;
    for pack in &mut truth.packs {
        pack.voltage = 400.0;
        pack.temperature = 20.0;
    }
    truth.motor_temperature = 20.0;
    truth.controller_temperature = 20.0;
    truth.bay_heat = [20.0; 4];
    truth.fans_turning = true;
    frame
}

/// The mast half out between open doors, the blade parked, nothing driven.
pub(super) fn half_out() -> Frame {
    let mut frame = stowed();
    frame.truth.doors = 1.0;
    frame.truth.mast.position = 0.4;
    frame.inputs = told(400);
    frame
}

/// The mast locked, the bus live, nothing driven.
pub(super) fn locked() -> Frame {
    let mut frame = half_out();
    frame.truth.mast.position = 1.0;
    frame.truth.mast.locked = true;
    frame.truth.bus.voltage = 400.0;
    frame.truth.bus.source = 400.0;
    frame.truth.bus.main_closed = true;
    frame.truth.packs[0].connected = true;
    frame.outputs.drives.bus.packs = [true, false];
    frame.outputs.drives.bus.main = true;
    frame.inputs = told(1000);
    frame
}

/// The same frame with full thrust commanded.
pub(super) fn thrusting(mut frame: Frame) -> Frame {
    frame.outputs.drives.motor = Motor::Thrust(Permille::FULL);
    frame.outputs.drives.motor_enable = true;
    frame
}

/// The same frame, changed.
pub(super) fn with(frame: &Frame, change: impl FnOnce(&mut Frame)) -> Frame {
    let mut changed = frame.clone();
    change(&mut changed);
    changed
}

/// Judges each frame for as many ticks as stand beside it; what became of `id`.
pub(super) fn judge(id: &str, script: &[(u32, &Frame)]) -> Outcome {
    let mut oracle = Oracle::new(&Limits::default());
    let mut tick = 0;
    for &(ticks, frame) in script {
        for _ in 0..ticks {
            let mut frame = frame.clone();
            frame.tick = tick;
            oracle.judge(&frame);
            tick += 1;
        }
    }
    *oracle.finish().outcome(id).expect("a known id")
}

/// True when the script breaks `id`.
pub(super) fn breaks(id: &str, script: &[(u32, &Frame)]) -> bool {
    judge(id, script).is_broken()
}

/// True when the script meets the condition of `id` and holds it.
pub(super) fn holds(id: &str, script: &[(u32, &Frame)]) -> bool {
    matches!(judge(id, script), Outcome::Held { .. })
}
