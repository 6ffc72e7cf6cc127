//! Checks from outside: what two packs can do, and what fans are for.

use mastwright_core::outputs::{BusDrive, Drives, Fans, Motor};
use mastwright_core::units::Permille;
use mastwright_sim::plant::defects::Defects;
use mastwright_sim::plant::setup::{InitialState, Setup};
use mastwright_sim::plant::truth::Truth;
use mastwright_sim::plant::{Plant, Surroundings};

const FULL_THRUST: Drives = Drives {
    motor: Motor::Thrust(Permille::FULL),
    motor_enable: true,
    mast: mastwright_core::outputs::MastDrive::Off,
    doors: mastwright_core::outputs::DoorDrive::Off,
    mast_power: false,
    door_power: false,
    bus: BusDrive {
        packs: [true; 2],
        precharge: false,
        main: true,
        discharge: false,
    },
    fans: Fans::On,
    aux_charger: false,
};

/// Ready to roll: mast up, bus live.
fn lined_up() -> Plant {
    Plant::new(&Setup {
        initial: InitialState {
            mast: 1.0,
            bus_live: true,
            ..InitialState::default()
        },
        ..Setup::default()
    })
}

/// Steps at full thrust until `done`, at most 30 minutes. Gives the seconds flown.
fn fly(plant: &mut Plant, defects: &Defects, mut done: impl FnMut(&Truth) -> bool) -> f64 {
    let mut ticks = 0_u32;
    while ticks < 180_000 && !done(plant.truth()) {
        let around = Surroundings {
            target_airspeed: 25.0,
            rotor_angle_seen: plant.truth().propeller.angle,
            ..Surroundings::default()
        };
        plant.step(&FULL_THRUST, &around, defects);
        ticks += 1;
    }
    f64::from(ticks) * 0.01
}

/// Two packs of 25 kg each lift the sailplane at least 2000 m from a self-launch.
/// Source: common practice, no source. A credible reserve is taken as 15 to 50 %.
#[test]
fn two_packs_lift_the_sailplane_2000_m_with_a_credible_reserve() {
    let mut plant = lined_up();
    let mut hottest = [f64::MIN; 3];
    let seconds = fly(&mut plant, &Defects::default(), |truth| {
        let now = [
            truth.controller_temperature,
            truth.motor_temperature,
            truth.packs[0].temperature,
        ];
        for (most, now) in hottest.iter_mut().zip(now) {
            *most = most.max(now);
        }
        truth.aircraft.height >= 2_000.0
    });
    let truth = plant.truth();
    assert!(truth.aircraft.height >= 2_000.0, "{seconds} s: {truth:?}");
    assert!((600.0..1_400.0).contains(&seconds), "{seconds} s");
    for pack in truth.packs {
        assert!((0.15..0.50).contains(&pack.charge), "{}", pack.charge);
    }
    let [controller, motor, pack] = hottest;
    assert!(
        controller < 75.0 && motor < 110.0 && pack < 50.0,
        "{hottest:?}"
    );
}

/// The energy drawn from the packs covers what the climb must cost: potential energy
/// alone is m g h. Source: conservation of energy.
#[test]
fn the_climb_costs_more_than_its_potential_energy() {
    let mut plant = lined_up();
    let mut drawn = 0.0;
    fly(&mut plant, &Defects::default(), |truth| {
        drawn += truth.bus.source * truth.bus.current * 0.01;
        truth.aircraft.height >= 1_000.0
    });
    let potential = 470.0 * 9.806_65 * plant.truth().aircraft.height;
    assert!(
        drawn > 1.5 * potential && drawn < 5.0 * potential,
        "{drawn} J"
    );
}

/// Fans failed on take-off: the controller's temperature climbs fast. Source: common
/// practice, no source.
#[test]
fn without_fans_the_controller_heats_faster_than_with_them_and_overheats() {
    let rise = |defects: &Defects| {
        let mut plant = lined_up();
        fly(&mut plant, defects, |truth| {
            truth.controller_temperature >= 40.0
        });
        let start = plant.truth().controller_temperature;
        let mut ticks = 0_u32;
        fly(&mut plant, defects, |_| {
            ticks += 1;
            ticks > 500
        });
        plant.truth().controller_temperature - start
    };
    let failed = Defects {
        fans_failed: true,
        ..Defects::default()
    };
    let (with, without) = (rise(&Defects::default()), rise(&failed));
    assert!(with < 4.0, "with fans {with} K in 5 s");
    assert!(without > 4.2, "without fans {without} K in 5 s");
    let overheated = fly(&mut lined_up(), &failed, |truth| {
        truth.controller_temperature >= 95.0
    });
    assert!((55.0..100.0).contains(&overheated), "{overheated} s");
}
