//! The air in the bay, at its heat detectors.
//!
//! Source: first-order lag (textbook). The figures are invented.

use serde::{Deserialize, Serialize};

use super::truth::HEAT_DETECTORS;

/// The bay.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BaySetup {
    /// Time constant of the air at a detector, s.
    pub lag: f64,
    /// Share of a heat source's rise that reaches each detector.
    pub reach: [f64; HEAT_DETECTORS],
}

impl Default for BaySetup {
    fn default() -> Self {
        Self {
            lag: 3.0,
            reach: [1.0, 0.9, 0.75, 0.6],
        }
    }
}

/// The air at each detector.
#[derive(Clone, Copy, Debug)]
pub struct Bay {
    setup: BaySetup,
    air: [f64; HEAT_DETECTORS],
}

impl Bay {
    /// A bay at ambient temperature, deg C.
    #[must_use]
    pub const fn new(setup: BaySetup, ambient: f64) -> Self {
        Self {
            setup,
            air: [ambient; HEAT_DETECTORS],
        }
    }

    /// Moves on by `dt` s at an ambient temperature, with a source `rise` K above it.
    pub fn step(&mut self, ambient: f64, rise: f64, dt: f64) {
        let x = dt / self.setup.lag;
        let share = x / (1.0 + 0.5 * x);
        for (air, reach) in self.air.iter_mut().zip(self.setup.reach) {
            *air += (ambient + rise * reach - *air) * share;
        }
    }

    /// Air temperature at each detector, deg C.
    #[must_use]
    pub const fn air(&self) -> [f64; HEAT_DETECTORS] {
        self.air
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heat_reaches_every_detector_and_leaves_again() {
        let mut bay = Bay::new(BaySetup::default(), 20.0);
        for _ in 0..300 {
            bay.step(20.0, 100.0, 0.1);
        }
        assert!(bay.air().iter().all(|air| *air > 75.0));
        assert!(bay.air()[0] > bay.air()[3]);
        for _ in 0..300 {
            bay.step(20.0, 0.0, 0.1);
        }
        assert!(bay.air().iter().all(|air| *air < 21.0));
    }
}
