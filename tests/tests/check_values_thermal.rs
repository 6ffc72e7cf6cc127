//! Checks from outside: the thermal lag.

use mastwright_sim::plant::thermal::Node;

/// From 20 C, rise 80 K, time constant 300 s: 70.570 C at 300 s, 90 C at 623.83 s.
/// Source: first-order lag. Standing: computed.
#[test]
fn a_node_passes_its_worked_temperatures_at_the_plants_own_step() {
    const STEP: f64 = 0.1;
    let mut node = Node {
        capacity: 3_000.0,
        temperature: 20.0,
    };
    // 10 W/K: a time constant of 300 s, and 800 W for a rise of 80 K.
    let mut steps = 0_u32;
    while steps < 3_000 {
        node.step(800.0, 10.0, 20.0, STEP);
        steps += 1;
    }
    assert!(
        (node.temperature - 70.570).abs() < 1e-3,
        "{}",
        node.temperature
    );
    while node.temperature < 90.0 {
        node.step(800.0, 10.0, 20.0, STEP);
        steps += 1;
    }
    let seconds = f64::from(steps) * STEP;
    assert!((seconds - 623.83).abs() < 0.11, "{seconds} s");
}
