//! Checks from outside: the pack's one-RC equivalent circuit.

use mastwright_sim::plant::packs::{OCV_POINTS, Pack, PackSetup};

/// A single cell of constant open-circuit voltage: OCV 3.7 V, R0 0.02, R1 0.01 ohm,
/// C1 2000 F (20 s).
fn worked() -> PackSetup {
    PackSetup {
        cells: 1.0,
        ocv: [3.7; OCV_POINTS],
        r0: 0.02,
        r1: 0.01,
        tau: 20.0,
        ..PackSetup::default()
    }
}

/// Source: one-RC equivalent circuit. Standing: crossed; the independent package
/// `pybamm` (Thevenin model) agrees within 4 microvolts.
#[test]
fn a_cell_under_10_a_passes_its_worked_voltages() {
    let mut cell = Pack::new(worked(), 1.0, 0.01);
    let mut steps = 0_u32;
    // At the very start only the series resistance counts.
    let first = cell.inner() - 10.0 * worked().resistance();
    assert!((first - 3.5).abs() < 1e-9);
    for (seconds, volts) in [
        (10_u32, 3.460_653),
        (20, 3.436_788),
        (40, 3.413_534),
        (60, 3.404_979),
    ] {
        while steps < seconds * 100 {
            cell.step(10.0);
            steps += 1;
        }
        assert!(
            (cell.terminal() - volts).abs() < 1e-6,
            "{seconds} s: {}",
            cell.terminal()
        );
    }
}
