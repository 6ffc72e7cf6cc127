//! One tick of the world, as everything that judges or shows it sees it.

use mastwright_core::{Inputs, Outputs};

use crate::controls::Controls;
use crate::plant::truth::Truth;

/// Duration of one tick, s.
pub const TICK: f64 = 0.01;

/// When a tick is, as it is told, s: the number nearest to its two decimals. Products with
/// [`TICK`] are not always that, and print as 24.560000000000002.
#[must_use]
pub fn told_seconds(tick: u64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let ticks = tick as f64;
    ticks / 100.0
}

/// What held in one tick.
///
/// Order within a tick: the pilot's `controls` are set, sensors read the `truth` left
/// by the previous tick into `inputs` (faults included), the controller answers with
/// `outputs`, and the plant moves on under them (actuator faults included) to the next
/// tick's truth. `powered` is false while the controller has no supply; its outputs
/// are then the fail-safe ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frame {
    /// Ticks since the start.
    pub tick: u64,
    /// The controller has its supply.
    pub powered: bool,
    /// The pilot's hands.
    pub controls: Controls,
    /// The physical truth at the start of the tick.
    pub truth: Truth,
    /// What the controller was told.
    pub inputs: Inputs,
    /// What the controller commanded and told.
    pub outputs: Outputs,
    /// The heat warning sounds (a unit with a supply of its own).
    pub heat_warning: bool,
}

impl Frame {
    /// Time since the start, s.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let ticks = self.tick as f64;
        ticks * TICK
    }
}
