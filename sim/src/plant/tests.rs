//! The models together.

use core::f64::consts::PI;

use mastwright_core::outputs::{BusDrive, Motor, Pace};
use mastwright_core::units::{Permille, Rpm};

use super::*;
use crate::rng::Rng;
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

fn sound() -> Defects {
    Defects::default()
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

#[test]
fn full_thrust_takes_22_to_25_kw_and_climbs() {
    let thrust = commanding(Motor::Thrust(Permille::FULL));
    let truth = run(&mut airborne(0.0, 0.0), &thrust, &sound(), 30.0);
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
    let slowed = run(&mut plant, &brake, &sound(), 5.0);
    assert!(slowed.propeller.speed.abs() < 45.0 * TAU / 60.0);
    let hold = commanding(Motor::Hold(Permille::FULL));
    let parked = run(&mut plant, &hold, &sound(), 2.0);
    assert!(off_park(parked.propeller.angle).abs() < 2.0_f64.to_radians());
    assert!(parked.propeller.speed.abs() < 0.05);
}

#[test]
fn the_hold_settles_from_45_rpm_wherever_the_blade_stands() {
    for degrees in [0.0, 30.0, 60.0, 89.0, 120.0, 179.0, 200.0, 300.0] {
        let mut plant = airborne(degrees, 45.0);
        let hold = commanding(Motor::Hold(Permille::FULL));
        let truth = run(&mut plant, &hold, &sound(), 1.5);
        let off = off_park(truth.propeller.angle).to_degrees();
        assert!(off.abs() < 2.0, "from {degrees}: {off}");
        assert!(truth.propeller.speed.abs() < 0.05);
    }
}

#[test]
fn creeping_reaches_its_speed_slowly_and_stays_near_it() {
    let creep = commanding(Motor::Creep(Rpm::new(15)));
    let truth = run(&mut airborne(45.0, 0.0), &creep, &sound(), 1.0);
    let rpm = truth.propeller.speed * 60.0 / TAU;
    assert!((10.0..20.0).contains(&rpm), "{rpm}");
}

#[test]
fn the_shorted_motor_slows_the_propeller_but_does_not_stop_it() {
    let short = Drives {
        motor: Motor::Short,
        ..Drives::default()
    };
    let truth = run(&mut airborne(70.0, 2_200.0), &short, &sound(), 60.0);
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
            ..sound()
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
        plant.step(&hold, &around, &sound());
    }
    assert!(off_park(plant.truth().propeller.angle).abs() > 0.3);
}

#[test]
fn an_unsound_angle_source_makes_no_holding_torque() {
    let hold = commanding(Motor::Hold(Permille::FULL));
    let mut plant = airborne(0.0, 0.0);
    let unsound = Signal::fresh(CentiDegrees::new(500)).invalidated();
    let around = Surroundings {
        rotor_angle_seen: rotor_angle(&unsound),
        ..Surroundings::default()
    };
    plant.step(&hold, &around, &sound());
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
    let still = run(&mut plant, &drives, &sound(), 2.0);
    assert!((still.mast.position - 1.0).abs() < 1e-12 && (still.doors - 1.0).abs() < 1e-12);
    drives.mast_power = true;
    drives.door_power = true;
    let moved = run(&mut plant, &drives, &sound(), 2.0);
    assert!(moved.mast.position < 0.9 && moved.doors < 0.7);
}

#[test]
fn a_clone_goes_on_exactly_as_the_plant_it_came_from() {
    let thrust = commanding(Motor::Thrust(Permille::new(800)));
    let mut plant = airborne(PI, 0.0);
    run(&mut plant, &thrust, &sound(), 3.0);
    let mut copy = plant.clone();
    let left = run(&mut plant, &thrust, &sound(), 3.0);
    assert_eq!(left, run(&mut copy, &thrust, &sound(), 3.0));
}

#[test]
fn a_flat_pair_of_packs_ends_the_thrust() {
    let thrust = commanding(Motor::Thrust(Permille::FULL));
    let mut plant = Plant::new(&Setup {
        initial: InitialState {
            mast: 1.0,
            on_ground: false,
            airspeed: 25.0,
            height: 2_000.0,
            bus_live: true,
            charge: [0.03; 2],
            ..InitialState::default()
        },
        ..Setup::default()
    });
    let truth = run(&mut plant, &thrust, &sound(), 180.0);
    assert!(truth.propeller.thrust < 0.0 && truth.propeller.motor_torque.abs() < 1e-12);
    assert!(truth.aircraft.climb < 0.0);
}

/// Drives as a controller gone mad would give them.
fn any_drives(rng: &mut Rng) -> Drives {
    let bits = rng.bits();
    let flag = |place: u32| bits >> place & 1 == 1;
    let share = Permille::new((bits >> 48) as i16);
    Drives {
        motor: match bits % 6 {
            0 => Motor::Free,
            1 => Motor::Thrust(share),
            2 => Motor::Short,
            3 => Motor::Brake(share),
            4 => Motor::Creep(Rpm::new((bits >> 48) as i16)),
            _ => Motor::Hold(share),
        },
        motor_enable: flag(8),
        mast: match (flag(9), flag(10)) {
            (true, true) => MastDrive::Extend(Pace::Full),
            (true, false) => MastDrive::Retract(Pace::Slow),
            (false, _) => MastDrive::Off,
        },
        doors: match (flag(11), flag(12)) {
            (true, true) => DoorDrive::Open,
            (true, false) => DoorDrive::Close,
            (false, _) => DoorDrive::Off,
        },
        mast_power: flag(13),
        door_power: flag(13),
        bus: BusDrive {
            packs: [flag(14), flag(15)],
            precharge: flag(16),
            main: flag(17),
            discharge: flag(18),
        },
        fans: if flag(19) { Fans::On } else { Fans::Off },
        aux_charger: flag(20),
    }
}

fn any_defects(rng: &mut Rng) -> Defects {
    let bits = rng.bits();
    let flag = |place: u32| bits >> place & 7 == 0;
    let [some, other] = rng.pair();
    Defects {
        mast_jam: flag(0).then_some(some.abs()),
        mast_free: flag(3),
        door_jam: flag(6).then_some(other.abs()),
        main_welded: flag(9),
        pack_contactor_welded: [flag(12), flag(15)],
        pack_dropout: [flag(18), flag(21)],
        pack_aged: [4.0 * some.abs(), 4.0 * other.abs()],
        insulation_ohm: flag(24).then_some(1_000.0),
        fans_failed: flag(27),
        discharge_open: flag(30),
        precharge_open: flag(33),
        blade_push: 40.0 * some,
        gust: 20.0 * other,
        over_speed: 10.0 * some.abs(),
        shaft_drag: if flag(42) { 100.0 * other.abs() } else { 0.0 },
        detent_worn: flag(36),
        extra_heat_bay: 200.0 * some.abs(),
        aux_drain: 10.0 * other.abs(),
        ambient: flag(39).then_some(60.0 * some),
    }
}

#[test]
fn the_truth_stays_within_nature_whatever_is_driven_or_broken() {
    for seed in 0..20 {
        let mut rng = Rng::new(seed);
        let mut plant = airborne(10.0 * seed as f64, 0.0);
        let (mut drives, mut defects) = (Drives::default(), Defects::default());
        for tick in 0..10_000_u32 {
            if tick % 37 == 0 {
                drives = any_drives(&mut rng);
                defects = any_defects(&mut rng);
            }
            let around = Surroundings {
                target_airspeed: 30.0 + 20.0 * rng.pair()[0],
                rotor_angle_seen: plant.truth().propeller.angle,
                ..Surroundings::default()
            };
            plant.step(&drives, &around, &defects);
            let t = plant.truth();
            let unit = 0.0..=1.0;
            assert!(unit.contains(&t.mast.position) && unit.contains(&t.doors));
            assert!(t.packs.iter().all(|pack| unit.contains(&pack.charge)));
            assert!((0.0..TAU).contains(&t.propeller.angle));
            assert!(t.propeller.speed.abs() <= 600.0 && t.propeller.thrust.is_finite());
            assert!((0.0..500.0).contains(&t.bus.voltage), "{:?}", t.bus);
            assert!(t.bus.current.abs() < 5_000.0 && t.bus.inrush < 5_000.0);
            assert!((5.0..20.0).contains(&t.auxiliary), "{}", t.auxiliary);
            assert!((-80.0..300.0).contains(&t.motor_temperature));
            assert!((-80.0..300.0).contains(&t.controller_temperature));
            assert!((0.0..90.0).contains(&t.aircraft.airspeed));
            assert!(!t.mast.locked || t.mast.position > 0.99);
        }
    }
}
