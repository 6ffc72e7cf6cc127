//! Readings at random, near what the limits tell apart, each on its own.

use mastwright_core::Inputs;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_tests::draw::Draw;

/// A reading of one of these, now and then lost or old.
fn any<T: Copy>(draw: &mut Draw, of: &[T]) -> Signal<T> {
    let signal = Signal::aged(
        draw.one(of),
        Age::new(draw.one(&[0, 0, 0, 0, 9, 10, 11, 20])),
    );
    if draw.chance(10) {
        signal.invalidated()
    } else {
        signal
    }
}

/// Readings of every sensor.
pub(super) fn sound(draw: &mut Draw) -> Inputs {
    let mut inputs = Inputs::default();
    for sensor in 0..SENSORS {
        renew(&mut inputs, sensor, draw);
    }
    inputs
}

/// Renews some of them.
pub(super) fn disturb(inputs: &mut Inputs, draw: &mut Draw) {
    // Long quiet stretches, in which proofs that take their time come about.
    if draw.chance(90) {
        return;
    }
    for _ in 0..draw.below(6) {
        let sensor = draw.below(SENSORS);
        renew(inputs, sensor, draw);
    }
}

const SENSORS: u32 = 13;
const SWITCH: &[bool] = &[false, true];

fn renew(inputs: &mut Inputs, sensor: u32, draw: &mut Draw) {
    match sensor {
        0 => {
            let lever = [0, 0, 20, 51, 600, 1000].map(Permille::new);
            inputs.controls.throttle_a = any(draw, &lever);
            inputs.controls.throttle_b = any(draw, &lever);
        }
        1 => {
            let selected = draw.below(4);
            inputs.controls.select_hold = Signal::fresh(selected == 0);
            inputs.controls.select_deploy = Signal::fresh(selected == 1);
            inputs.controls.select_stow = Signal::fresh(selected == 2);
            inputs.controls.bench_key = any(draw, SWITCH);
        }
        2 => {
            inputs.controls.stop_a = any(draw, SWITCH);
            inputs.controls.stop_b = any(draw, SWITCH);
        }
        3 => {
            let pressed = draw.chance(50);
            inputs.controls.acknowledge = Signal::fresh(pressed);
            inputs.controls.acknowledge_rest = Signal::fresh(!pressed);
        }
        4 => {
            let at = [0, 14, 16, 300, 649, 650, 900, 984, 985, 1000].map(Permille::new);
            inputs.mast.position = any(draw, &at);
            inputs.mast.drive_current = any(draw, &[0, 40_000].map(Milliamps::new));
        }
        5 => {
            inputs.mast.stowed_switch = any(draw, SWITCH);
            inputs.mast.deployed_switch = any(draw, SWITCH);
            inputs.mast.lock_switch = any(draw, SWITCH);
        }
        6 => {
            inputs.doors.left_open = any(draw, SWITCH);
            inputs.doors.right_open = any(draw, SWITCH);
            inputs.doors.shut = any(draw, SWITCH);
        }
        7 => {
            // Both blades of a two-bladed propeller: half a turn is no difference.
            let angles = [0, 0, 0, 399, 401, 899, 901, 9_000, 17_900].map(CentiDegrees::new);
            inputs.propeller.angle_a = any(draw, &angles);
            inputs.propeller.angle_b = any(draw, &angles);
        }
        8 => {
            let speeds = [0, 0, 0, 3, 4, 45, 46, 2_000].map(Rpm::new);
            inputs.propeller.speed = any(draw, &speeds);
        }
        9 => {
            let volts =
                [0, 59_000, 61_000, 240_000, 380_000, 400_000, 445_000].map(Millivolts::new);
            inputs.bus.voltage = any(draw, &volts);
            inputs.bus.current = any(draw, &[0, 1_000, 5_000, 200_000].map(Milliamps::new));
            inputs.bus.main_feedback = any(draw, SWITCH);
        }
        10 => {
            inputs.bus.insulation = any(draw, &[100, 200, 500].map(KiloOhms::new));
            for pack in &mut inputs.packs {
                let volts = [0, 240_000, 380_000, 400_000, 445_000, 500_000].map(Millivolts::new);
                pack.voltage = any(draw, &volts);
                pack.charge = any(draw, &[0, 300, 800].map(Permille::new));
                pack.temperature = Signal::fresh(DeciCelsius::new(200));
            }
        }
        11 => {
            inputs.thermal.motor = any(draw, &[200, 1_200, 1_400].map(DeciCelsius::new));
            inputs.thermal.controller = any(draw, &[200, 850, 1_100].map(DeciCelsius::new));
            inputs.thermal.fans_turning = any(draw, SWITCH);
        }
        _ => {
            inputs.airspeed = any(draw, &[0, 250, 320, 500].map(DeciMetresPerSecond::new));
            inputs.auxiliary = any(draw, &[11_000, 14_000].map(Millivolts::new));
            inputs.missed_deadline = draw.chance(10);
        }
    }
}
