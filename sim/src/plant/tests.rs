//! The models together.

use core::f64::consts::PI;

use mastwright_core::outputs::{BusDrive, Motor, Pace};
use mastwright_core::units::{Permille, Rpm};

use super::*;
use propeller::off_park;
use setup::InitialState;

const LIVE: BusDrive = BusDrive {
    packs: [true; 2],
    precharge: false,
    main: true,
    discharge: false,
};

fn airborne(blade_angle: f64, shaft_rpm: f64) -> Plant {
    Plant::new(&Setup {
        initial: InitialState {
            mast: 1.0,
            on_ground: false,
            airspeed: 25.0,
            height: 500.0,
            bus_live: true,
            blade_angle,
            shaft_rpm,
            ..InitialState::default()
        },
        ..Setup::default()
    })
}

fn commanding(motor: Motor) -> Drives {
    Drives {
        motor,
        motor_enable: true,
        mast_power: true,
        door_power: true,
        bus: LIVE,
        ..Drives::default()
    }
}

/// Runs for some seconds with a true angle source, then gives the truth.
fn run(plant: &mut Plant, drives: &Drives, defects: &Defects, seconds: f64) -> Truth {
    let mut ticks = (seconds / TICK) as u32;
    while ticks > 0 {
        let around = Surroundings {
            target_airspeed: 25.0,
            rotor_angle_seen: plant.truth().propeller.angle,
            ..Surroundings::default()
        };
        plant.step(drives, &around, defects);
        ticks -= 1;
    }
    *plant.truth()
}

const SOUND: Defects = Defects {
    mast_jam: None,
    mast_free: false,
    door_jam: None,
    main_welded: false,
    pack_contactor_welded: [false; 2],
    pack_dropout: [false; 2],
    insulation_ohm: None,
    fans_failed: false,
    discharge_open: false,
    precharge_open: false,
    blade_push: 0.0,
    gust: 0.0,
    detent_worn: false,
    extra_heat_bay: 0.0,
    aux_drain: 0.0,
    ambient: None,
};

#[test]
fn full_thrust_takes_22_to_25_kw_and_climbs() {
    let thrust = commanding(Motor::Thrust(Permille::FULL));
    let truth = run(&mut airborne(0.0, 0.0), &thrust, &SOUND, 30.0);
    let power = truth.bus.voltage * truth.bus.current;
    assert!((22_000.0..25_000.0).contains(&power), "{power} W");
    assert!(truth.aircraft.climb > 1.8, "{} m/s", truth.aircraft.climb);
    let rpm = truth.propeller.speed * 60.0 / TAU;
    assert!((2_000.0..2_600.0).contains(&rpm), "{rpm}");
}

#[test]
fn the_brake_slows_the_propeller_in_seconds_and_the_hold_parks_it() {
    let mut plant = airborne(70.0, 2_200.0);
    let brake = commanding(Motor::Brake(Permille::new(600)));
    let slowed = run(&mut plant, &brake, &SOUND, 5.0);
    assert!(slowed.propeller.speed.abs() < 45.0 * TAU / 60.0);
    let hold = commanding(Motor::Hold(Permille::FULL));
    let parked = run(&mut plant, &hold, &SOUND, 2.0);
    assert!(off_park(parked.propeller.angle).abs() < 2.0_f64.to_radians());
    assert!(parked.propeller.speed.abs() < 0.05);
}

#[test]
fn the_hold_settles_from_45_rpm_wherever_the_blade_stands() {
    for degrees in [0.0, 30.0, 60.0, 89.0, 120.0, 179.0, 200.0, 300.0] {
        let mut plant = airborne(degrees, 45.0);
        let hold = commanding(Motor::Hold(Permille::FULL));
        let truth = run(&mut plant, &hold, &SOUND, 1.5);
        let off = off_park(truth.propeller.angle).to_degrees();
        assert!(off.abs() < 2.0, "from {degrees}: {off}");
        assert!(truth.propeller.speed.abs() < 0.05);
    }
}

#[test]
fn creeping_reaches_its_speed_slowly_and_stays_near_it() {
    let creep = commanding(Motor::Creep(Rpm::new(15)));
    let truth = run(&mut airborne(45.0, 0.0), &creep, &SOUND, 1.0);
    let rpm = truth.propeller.speed * 60.0 / TAU;
    assert!((10.0..20.0).contains(&rpm), "{rpm}");
}

#[test]
fn the_shorted_motor_slows_the_propeller_but_does_not_stop_it() {
    let short = Drives {
        motor: Motor::Short,
        ..Drives::default()
    };
    let truth = run(&mut airborne(70.0, 2_200.0), &short, &SOUND, 60.0);
    let rpm = truth.propeller.speed * 60.0 / TAU;
    assert!(rpm < 40.0, "{rpm}");
}

#[test]
fn a_hand_is_resisted_more_the_further_it_pushes() {
    let hold = commanding(Motor::Hold(Permille::FULL));
    let mut last = -1.0;
    for push in [0.0, 15.0, 30.0, 45.0] {
        let defects = Defects {
            blade_push: push,
            ..SOUND
        };
        let truth = run(&mut airborne(0.0, 0.0), &hold, &defects, 2.0);
        let off = off_park(truth.propeller.angle);
        assert!(off > last && off < 0.2, "{push} N m: {off} rad");
        last = off;
    }
}

#[test]
fn a_false_angle_source_holds_the_blade_at_the_wrong_place() {
    let hold = commanding(Motor::Hold(Permille::FULL));
    let mut plant = airborne(0.0, 0.0);
    for _ in 0..300 {
        let around = Surroundings {
            target_airspeed: 25.0,
            rotor_angle_seen: (plant.truth().propeller.angle + 0.5) % TAU,
            ..Surroundings::default()
        };
        plant.step(&hold, &around, &SOUND);
    }
    assert!(off_park(plant.truth().propeller.angle).abs() > 0.3);
}

#[test]
fn a_source_that_gives_no_number_makes_no_torque() {
    let hold = commanding(Motor::Hold(Permille::FULL));
    let mut plant = airborne(0.0, 0.0);
    let around = Surroundings {
        rotor_angle_seen: f64::NAN,
        ..Surroundings::default()
    };
    plant.step(&hold, &around, &SOUND);
    assert!(plant.truth().propeller.motor_torque.abs() < 1e-12);
    assert!(plant.truth().propeller.angle.is_finite());
}

#[test]
fn doors_and_mast_need_their_power_relays() {
    let mut drives = Drives {
        mast: MastDrive::Retract(Pace::Full),
        doors: DoorDrive::Close,
        ..Drives::default()
    };
    let mut plant = airborne(0.0, 0.0);
    let still = run(&mut plant, &drives, &SOUND, 2.0);
    assert!((still.mast.position - 1.0).abs() < 1e-12 && (still.doors - 1.0).abs() < 1e-12);
    drives.mast_power = true;
    drives.door_power = true;
    let moved = run(&mut plant, &drives, &SOUND, 2.0);
    assert!(moved.mast.position < 0.9 && moved.doors < 0.7);
}

#[test]
fn a_clone_goes_on_exactly_as_the_plant_it_came_from() {
    let thrust = commanding(Motor::Thrust(Permille::new(800)));
    let mut plant = airborne(PI, 0.0);
    run(&mut plant, &thrust, &SOUND, 3.0);
    let mut copy = plant.clone();
    let left = run(&mut plant, &thrust, &SOUND, 3.0);
    assert_eq!(left, run(&mut copy, &thrust, &SOUND, 3.0));
}
