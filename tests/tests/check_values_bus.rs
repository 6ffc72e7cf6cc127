//! Checks from outside: pre-charge and discharge of the bus capacitor.

use mastwright_sim::plant::bus::{BusSetup, Capacitor};

/// Step fine enough to meet the worked times, s. The model is exact at any step.
const STEP: f64 = 1e-5;

/// 400 V, 50 ohm, 1 mF, nothing else connected: a time constant of 50 ms.
fn worked() -> BusSetup {
    BusSetup {
        capacitance: 1.0e-3,
        precharge: 50.0,
        idle_current: 0.0,
        ..BusSetup::default()
    }
}

fn precharged_after(milliseconds: u32, step: f64) -> f64 {
    let mut capacitor = Capacitor::new(worked(), 0.0, step);
    let steps = (f64::from(milliseconds) * 1e-3 / step).round() as u32;
    for _ in 0..steps {
        capacitor.relax(400.0, true, false, 0.0);
    }
    capacitor.voltage()
}

/// Source: V(1 - exp(-t/RC)). Standing: computed.
#[test]
fn pre_charge_passes_its_worked_voltages_at_the_plants_own_step() {
    for (milliseconds, volts) in [(50, 252.85), (150, 380.09), (250, 397.30)] {
        let found = precharged_after(milliseconds, 0.01);
        assert!((found - volts).abs() < 0.006, "{milliseconds} ms: {found}");
    }
}

/// Source: t = -RC ln(1 - share). Standing: computed.
#[test]
fn pre_charge_reaches_its_worked_shares_in_time() {
    let mut capacitor = Capacitor::new(worked(), 0.0, STEP);
    let mut steps = 0_u32;
    for (share, milliseconds) in [(0.90, 115.13), (0.95, 149.79), (0.99, 230.26)] {
        while capacitor.voltage() < share * 400.0 {
            capacitor.relax(400.0, true, false, 0.0);
            steps += 1;
        }
        let found = f64::from(steps) * STEP * 1e3;
        assert!((found - milliseconds).abs() < 0.02, "{share}: {found} ms");
    }
}

/// First current 8 A; the resistor takes as much as the capacitor holds, 80 J. Source:
/// V/R, C V²/2. Standing: computed.
#[test]
fn pre_charge_starts_at_8_a_and_costs_the_resistor_80_j() {
    let mut capacitor = Capacitor::new(worked(), 0.0, STEP);
    let mut heat = 0.0;
    let mut first = None;
    for _ in 0..200_000 {
        let before = (400.0 - capacitor.voltage()) / 50.0;
        first.get_or_insert(before);
        capacitor.relax(400.0, true, false, 0.0);
        let after = (400.0 - capacitor.voltage()) / 50.0;
        let mean = 0.5 * (before + after);
        heat += 50.0 * mean * mean * STEP;
    }
    assert!((first.unwrap_or(0.0) - 8.0).abs() < 1e-12);
    assert!((heat - 80.0).abs() < 0.01, "{heat} J");
}

fn discharge_time(resistance: f64) -> f64 {
    let setup = BusSetup {
        discharge: resistance,
        ..worked()
    };
    let mut capacitor = Capacitor::new(setup, 400.0, 1e-4);
    let mut steps = 0_u32;
    while capacitor.voltage() > 60.0 {
        capacitor.relax(0.0, false, true, 0.0);
        steps += 1;
    }
    f64::from(steps) * 1e-4
}

/// 400 to 60 V takes 1.8971 time constants; 5 s with 1 mF needs at most 2636 ohm.
/// Source: exponential decay. Standing: computed. The 60 V limit: 49 CFR 571.305 S3
/// (road vehicles, analogy; quoted).
#[test]
fn discharge_to_60_v_takes_its_worked_time() {
    assert!((discharge_time(500.0) / 0.5 - 1.8971).abs() < 3e-4);
    assert!((discharge_time(2_636.0) - 5.0).abs() < 2e-3);
    assert!(discharge_time(2_700.0) > 5.1);
}
