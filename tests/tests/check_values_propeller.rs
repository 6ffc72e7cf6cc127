//! Checks from outside: propeller and motor.

use core::f64::consts::{PI, TAU};

use mastwright_core::outputs::{Drives, Motor};
use mastwright_sim::plant::defects::Defects;
use mastwright_sim::plant::motor::MotorSetup;
use mastwright_sim::plant::propeller::{Propeller, PropellerSetup};
use mastwright_sim::plant::setup::{InitialState, Setup};
use mastwright_sim::plant::{Plant, Surroundings};

const RHO: f64 = 1.225;
const TURNS: f64 = 38.0;

/// Ideal power of an actuator disk, W. Source: momentum theory. Standing: computed.
fn ideal_power(diameter: f64, thrust: f64, airspeed: f64) -> f64 {
    let area = PI / 4.0 * diameter * diameter;
    let induced = 0.5 * ((airspeed * airspeed + 2.0 * thrust / (RHO * area)).sqrt() - airspeed);
    thrust * (airspeed + induced)
}

/// D 2 m, T 1000 N: 29.417 kW at 25 m/s, 11.398 kW standing. Standing: computed. This
/// holds the yardstick itself against its worked figures.
#[test]
fn the_actuator_disk_gives_its_worked_powers() {
    assert!((ideal_power(2.0, 1_000.0, 25.0) - 29_417.0).abs() < 1.0);
    assert!((ideal_power(2.0, 1_000.0, 0.0) - 11_398.0).abs() < 1.0);
}

/// CT = T/(rho n² D⁴), CP = P/(rho n³ D⁵), J = V/(nD), efficiency = J CT/CP. Source:
/// textbook definitions, from memory. They are identities: thrust power over shaft
/// power must be J CT/CP, at any density and speed.
#[test]
fn thrust_and_torque_follow_the_coefficients() {
    let setup = PropellerSetup::default();
    let propeller = Propeller::new(setup);
    let d = setup.diameter;
    for j in [0.1_f64, 0.3, 0.5, 0.7] {
        for (n, rho) in [(20.0_f64, 1.225), (38.0, 0.9)] {
            let airspeed = j * n * d;
            let aero = propeller.aero(TAU * n, airspeed, rho);
            let ct = setup.ct[0] + setup.ct[1] * j + setup.ct[2] * j * j;
            let cp = setup.cp[0] + setup.cp[1] * j + setup.cp[2] * j * j;
            let power = aero.torque * TAU * n;
            assert!((aero.thrust / (rho * n.powi(2) * d.powi(4)) - ct).abs() < 1e-9);
            assert!((power / (rho * n.powi(3) * d.powi(5)) - cp).abs() < 1e-9);
            let efficiency = aero.thrust * airspeed / power;
            assert!((efficiency - j * ct / cp).abs() < 1e-9);
            assert!(efficiency > 0.0 && efficiency < 0.9, "J {j}: {efficiency}");
        }
    }
}

/// A real propeller needs more power than the ideal disk of its size. Source: momentum
/// theory.
#[test]
fn real_power_exceeds_the_ideal_at_every_advance_ratio() {
    let setup = PropellerSetup::default();
    let propeller = Propeller::new(setup);
    for step in 0..=14_u32 {
        let j = f64::from(step) * 0.05;
        let airspeed = j * TURNS * setup.diameter;
        let aero = propeller.aero(TAU * TURNS, airspeed, RHO);
        assert!(aero.thrust > 0.0, "J {j} propels");
        let real = aero.torque * TAU * TURNS;
        let ideal = ideal_power(setup.diameter, aero.thrust, airspeed);
        assert!(real > 1.02 * ideal, "J {j}: {real} W against {ideal} W");
    }
}

/// Air drives the shaft: CP and thrust are negative. Source: textbook (windmilling).
#[test]
fn at_a_high_advance_ratio_power_and_thrust_are_negative() {
    let setup = PropellerSetup::default();
    let propeller = Propeller::new(setup);
    for j in [0.9, 1.2, 2.0, 5.0] {
        let n = 10.0;
        let aero = propeller.aero(TAU * n, j * n * setup.diameter, RHO);
        assert!(aero.thrust < 0.0 && aero.torque < 0.0, "J {j}: {aero:?}");
    }
    let locked = propeller.aero(0.0, 25.0, RHO);
    assert!(locked.thrust < 0.0);
    assert!((-10.0..-8.0).contains(&locked.torque), "{}", locked.torque);
}

/// Motor off is not propeller stopped. Source: textbook (windmilling).
#[test]
fn with_the_motor_off_the_propeller_goes_on_turning() {
    let mut plant = Plant::new(&Setup {
        initial: InitialState {
            mast: 1.0,
            on_ground: false,
            airspeed: 25.0,
            height: 800.0,
            shaft_rpm: 2_300.0,
            ..InitialState::default()
        },
        ..Setup::default()
    });
    let around = Surroundings {
        target_airspeed: 25.0,
        ..Surroundings::default()
    };
    let off = Drives {
        motor: Motor::Free,
        ..Drives::default()
    };
    for _ in 0..6_000 {
        plant.step(&off, &around, &Defects::default());
    }
    let truth = plant.truth().propeller;
    let rpm = truth.speed * 60.0 / TAU;
    assert!(rpm > 500.0, "after a minute still {rpm} rpm");
    assert!(truth.thrust < 0.0 && truth.motor_torque.abs() < 1e-12);
}

/// 20 rpm/V gives 0.47746 N m/A, and E = Kt w. Source: 60/(2 pi Kv). Standing:
/// computed.
#[test]
fn torque_constant_and_back_emf_constant_are_one() {
    let constant = MotorSetup::torque_constant_of(20.0);
    assert!((constant - 0.477_46).abs() < 5e-6);
    let motor = MotorSetup {
        torque_constant: constant,
        ..MotorSetup::default()
    };
    // At 20 rpm/V, 2000 rpm make 100 V.
    assert!((motor.back_emf(2_000.0 * TAU / 60.0) - 100.0).abs() < 1e-9);
}
