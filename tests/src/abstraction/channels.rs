//! Every reading that a controller is given, and any value whatever in it.

use mastwright_core::Inputs;
use mastwright_core::signal::Signal;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_sim::explore::trouble::Trouble;

/// A reading.
#[derive(Clone, Copy)]
pub struct Channel {
    /// What of the abstract world breaks it.
    pub trouble: Option<Trouble>,
    /// Lets it say the value that follows from a number, or nothing.
    pub say: fn(&mut Inputs, Option<u32>),
}

macro_rules! channels {
    ($($trouble:expr, ($($path:tt)+), $value:expr;)+) => {
        &[$(Channel {
            trouble: $trouble,
            say: |inputs, said| {
                let signal = &mut inputs.$($path)+;
                *signal = match said {
                    Some(number) => Signal::fresh($value(number)),
                    None => signal.invalidated(),
                };
            },
        }),+]
    };
}

/// Every reading.
pub const CHANNELS: &[Channel] = channels! {
    Some(Trouble::ThrottleA), (controls.throttle_a), share;
    Some(Trouble::ThrottleB), (controls.throttle_b), share;
    Some(Trouble::SelectHold), (controls.select_hold), contact;
    Some(Trouble::SelectDeploy), (controls.select_deploy), contact;
    Some(Trouble::SelectStow), (controls.select_stow), contact;
    Some(Trouble::StopA), (controls.stop_a), contact;
    Some(Trouble::StopB), (controls.stop_b), contact;
    Some(Trouble::BenchKey), (controls.bench_key), contact;
    None, (controls.acknowledge), contact;
    None, (controls.acknowledge_rest), contact;
    Some(Trouble::AuxContact), (controls.aux_charge), contact;
    None, (controls.aux_charge_off), contact;
    Some(Trouble::MastPosition), (mast.position), share;
    Some(Trouble::StowedSwitch), (mast.stowed_switch), contact;
    Some(Trouble::DeployedSwitch), (mast.deployed_switch), contact;
    Some(Trouble::LockSwitch), (mast.lock_switch), contact;
    Some(Trouble::MastCurrent), (mast.drive_current), drive;
    Some(Trouble::LeftOpen), (doors.left_open), contact;
    Some(Trouble::RightOpen), (doors.right_open), contact;
    Some(Trouble::ShutSwitch), (doors.shut), contact;
    Some(Trouble::DoorCurrent), (doors.drive_current), drive;
    Some(Trouble::AngleA), (propeller.angle_a), angle;
    Some(Trouble::AngleB), (propeller.angle_b), angle;
    Some(Trouble::ShaftSpeed), (propeller.speed), speed;
    Some(Trouble::BusVoltage), (bus.voltage), high;
    Some(Trouble::BusCurrent), (bus.current), traction;
    Some(Trouble::InsulationMonitor), (bus.insulation), resistance;
    Some(Trouble::MainFeedback), (bus.main_feedback), contact;
    Some(Trouble::Pack1Voltage), (packs[0].voltage), high;
    Some(Trouble::Pack2Voltage), (packs[1].voltage), high;
    None, (packs[0].charge), share;
    None, (packs[1].charge), share;
    None, (thermal.motor), heat;
    None, (auxiliary), low;
    Some(Trouble::Airspeed), (airspeed), air;
};

fn contact(number: u32) -> bool {
    number % 2 == 1
}

fn below(number: u32, limit: i32) -> i32 {
    let limit = u32::try_from(limit).unwrap_or(1);
    i32::try_from(number % limit).unwrap_or(0)
}

fn short(number: u32, limit: i32) -> i16 {
    i16::try_from(below(number, limit)).unwrap_or(i16::MAX)
}

fn share(number: u32) -> Permille {
    Permille::new(short(number, 1_001))
}

fn drive(number: u32) -> Milliamps {
    Milliamps::new(below(number, 60_000))
}

/// Half of all angles near the park angle.
fn angle(number: u32) -> CentiDegrees {
    let any = below(number >> 1, 36_000);
    CentiDegrees::new(if contact(number) {
        (any / 18 - 1_000).rem_euclid(36_000)
    } else {
        any
    })
}

/// Half of all speeds slow.
fn speed(number: u32) -> Rpm {
    let any = short(number >> 1, 2_000) - 1_000;
    Rpm::new(if contact(number) { any / 10 } else { any })
}

fn high(number: u32) -> Millivolts {
    Millivolts::new(below(number, 600_001))
}

fn traction(number: u32) -> Milliamps {
    let any = below(number >> 1, 200_000) - 50_000;
    Milliamps::new(if contact(number) { any / 50 } else { any })
}

fn resistance(number: u32) -> KiloOhms {
    KiloOhms::new(u16::try_from(number % 600).unwrap_or(0))
}

fn heat(number: u32) -> DeciCelsius {
    DeciCelsius::new(short(number, 2_000))
}

fn low(number: u32) -> Millivolts {
    Millivolts::new(below(number, 20_000))
}

fn air(number: u32) -> DeciMetresPerSecond {
    DeciMetresPerSecond::new(short(number, 500))
}
