//! Which abstract plants a physical truth may stand for.
//!
//! Where a guard draws the line by a number that is read with an error, a truth so near to
//! the line that it may be read on either side stands for both classes. Where a switch or a
//! hazard draws it, the truth stands for one.

use std::f64::consts::{PI, TAU};

use mastwright_core::Config;
use mastwright_sim::explore::plant::{Doors, Mast, Motion, Pace, Place, Plant, Volts, keeps_blade};
use mastwright_sim::oracle::Limits;
use mastwright_sim::plant::truth::Truth;
use mastwright_sim::sensors::contacts::{
    DEPLOYED_ABOVE, DOORS_OPEN_ABOVE, DOORS_SHUT_BELOW, STOWED_BELOW,
};

/// What a position may be read off by: the sensor's error and half a count.
const POSITION: f64 = 0.0016;
/// The same of a blade angle, deg.
const ANGLE: f64 = 0.31;
/// The same of a shaft speed, rpm.
const SPEED: f64 = 1.01;
/// The same of a bus voltage, V.
const VOLTAGE: f64 = 0.31;
/// What bus and pack voltage, each renewed at its own time, may be read apart by, as a share.
const SHARE: f64 = 0.01;
/// Doors that are open further than this are out of the way of the mast.
const DOORS_CLEAR: f64 = 0.97;

/// True when `plant` may stand for `truth`; `coasts` tells of mast and doors whether the
/// dead time of their drive runs.
#[must_use]
pub fn fits(plant: &Plant, truth: &Truth, coasts: [bool; 2], config: &Config) -> bool {
    let kept = keeps_blade(plant.mast, plant.mast_motion);
    mast_fits(plant.mast, truth, config)
        && doors_fit(plant.doors, truth.doors)
        && volts_fit(plant.volts, truth, config)
        && plant.main == truth.bus.main_closed
        && motion_fits(plant, truth, coasts)
        && (!kept
            || (place_fits(plant.place, truth, config) && pace_fits(plant.pace, truth, config)))
}

fn mast_fits(mast: Mast, truth: &Truth, config: &Config) -> bool {
    let position = truth.mast.position;
    let bay = Limits::default().clearance_position;
    let clear = f64::from(config.mast_clear_min.get()) / 1_000.0;
    let half = 0.5 * (bay + clear);
    let between = (STOWED_BELOW..=DEPLOYED_ABOVE).contains(&position) && !truth.mast.locked;
    match mast {
        Mast::Locked => truth.mast.locked,
        Mast::Deployed => position > DEPLOYED_ABOVE && !truth.mast.locked,
        Mast::Stowed => position < STOWED_BELOW && !truth.mast.locked,
        Mast::Inside => between && position < bay,
        Mast::Brink => between && position >= bay && position < half,
        Mast::Edge => between && position >= half && position < clear + POSITION,
        Mast::Clear => between && position >= clear - POSITION,
    }
}

fn doors_fit(doors: Doors, opening: f64) -> bool {
    match doors {
        Doors::Shut => opening < DOORS_SHUT_BELOW,
        Doors::Ajar => (DOORS_SHUT_BELOW..DOORS_CLEAR).contains(&opening),
        Doors::Agape => (DOORS_CLEAR..=DOORS_OPEN_ABOVE).contains(&opening),
        Doors::Open => opening > DOORS_OPEN_ABOVE,
    }
}

/// What moves is not at rest, unless it coasts on within its class, which it does no longer
/// than the dead time of its drive. What stands may be taken for coasting still.
fn motion_fits(plant: &Plant, truth: &Truth, coasts: [bool; 2]) -> bool {
    let limits = Limits::default();
    let [mast, doors] = coasts;
    let mast_moves = truth.mast.speed.abs() > limits.mast_moving + POSITION;
    let doors_move = truth.door_speed.abs() > limits.doors_moving;
    let strays = |moves, motion, coasts: bool| moves && motion == Motion::Rest && !coasts;
    let mast = strays(mast_moves, plant.mast_motion, mast);
    let doors = strays(doors_move, plant.door_motion, doors);
    !mast && !doors
}

/// How far a blade is off its park angle, deg.
#[must_use]
pub fn off_park(angle: f64) -> f64 {
    let turned = angle.rem_euclid(PI);
    turned.min(PI - turned) * 360.0 / TAU
}

fn place_fits(place: Place, truth: &Truth, config: &Config) -> bool {
    let off = off_park(truth.propeller.angle);
    let degrees = |centi: i32| f64::from(centi) / 100.0;
    let window = degrees(config.park_window.get());
    let near = degrees(config.hold_capture.get());
    let sector = Limits::default().clearance_sector * 360.0 / TAU;
    match place {
        Place::Window => off <= window + ANGLE,
        Place::Near => off >= window - ANGLE && off <= sector,
        Place::Away => off >= near - ANGLE,
    }
}

fn pace_fits(pace: Pace, truth: &Truth, config: &Config) -> bool {
    let rpm = truth.propeller.speed.abs() * 60.0 / TAU;
    let slow = f64::from(config.shaft_slow.get());
    match pace {
        // A blade that turns slowly is remembered as one that stands still.
        Pace::Still | Pace::Slow => rpm <= slow + SPEED,
        Pace::Fast => rpm >= slow - SPEED,
    }
}

fn volts_fit(volts: Volts, truth: &Truth, config: &Config) -> bool {
    let voltage = truth.bus.voltage;
    let high = f64::from(config.high_voltage.get()) / 1_000.0;
    let share = f64::from(config.precharge_share.get()) / 1_000.0;
    let packs = truth.packs.iter().map(|pack| pack.voltage);
    let most = packs.clone().fold(0.0, f64::max);
    let least = packs.filter(|&volts| volts > 0.0).fold(most, f64::min);
    match volts {
        Volts::Dead => voltage < high + VOLTAGE,
        Volts::Part => {
            voltage >= high - VOLTAGE && (most <= 0.0 || voltage <= most * (share + SHARE))
        }
        Volts::Full => voltage >= high - VOLTAGE && voltage >= least * (share - SHARE),
    }
}

/// The classes of mast, doors and bus that a truth stands for, the first of several; motion
/// and blade are left at rest.
///
/// # Panics
/// When no class fits: a hole in the classes.
#[must_use]
pub fn classes(truth: &Truth, config: &Config) -> Plant {
    let mast = Mast::ALL
        .into_iter()
        .find(|&mast| mast_fits(mast, truth, config));
    let doors = Doors::ALL
        .into_iter()
        .find(|&doors| doors_fit(doors, truth.doors));
    let volts = Volts::ALL
        .into_iter()
        .find(|&volts| volts_fit(volts, truth, config));
    Plant {
        mast: mast.expect("every mast lies in a class"),
        doors: doors.expect("all doors lie in a class"),
        volts: volts.expect("every voltage lies in a class"),
        main: truth.bus.main_closed,
        ..Plant::default()
    }
}
