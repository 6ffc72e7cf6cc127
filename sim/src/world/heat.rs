//! The heat detectors and their warning, on a supply of their own.

use mastwright_core::heat_warning::{HeatInputs, HeatLimits, HeatWarning};
use mastwright_core::signal::Signal;
use mastwright_core::units::DeciCelsius;

use crate::controls::Controls;
use crate::faults::Injector;
use crate::plant::truth::Truth;

/// What a sound detector reads while the test button heats its element, 0.1 deg C.
const TESTED: i16 = 1250;

/// The unit with its limits.
#[derive(Clone, Debug)]
pub(super) struct Heat {
    unit: HeatWarning,
    limits: HeatLimits,
}

impl Heat {
    pub(super) fn new(limits: HeatLimits) -> Self {
        Self {
            unit: HeatWarning::default(),
            limits,
        }
    }

    /// One tick; true while the warning sounds.
    pub(super) fn step(
        &mut self,
        truth: &Truth,
        controls: &Controls,
        injector: &mut Injector,
    ) -> bool {
        let mut inputs = HeatInputs {
            detectors: truth.bay_heat.map(|celsius| {
                Signal::fresh(if controls.heat_test {
                    DeciCelsius::new(TESTED)
                } else {
                    deci(celsius)
                })
            }),
            test: Signal::fresh(controls.heat_test),
        };
        injector.corrupt_heat(&mut inputs);
        self.unit.step(&inputs, &self.limits).sounding
    }
}

fn deci(celsius: f64) -> DeciCelsius {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a float to integer conversion saturates"
    )]
    let deci = (celsius * 10.0).round() as i16;
    DeciCelsius::new(deci)
}
