//! Whether the blade may be left out where the exploration leaves it out.
//!
//! In each tick of a real flight in which blade and shaft cannot matter, by the table, they
//! are varied: the commands and the reduced memory after the tick must be the same.

use std::collections::BTreeMap;

use mastwright_core::bus::Stage;
use mastwright_core::outputs::Drives;
use mastwright_core::signal::Signal;
use mastwright_core::timer::Sustained;
use mastwright_core::units::{CentiDegrees, Permille, Rpm, Ticks};
use mastwright_core::walk::{Timer, Visitor};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer};
use mastwright_sim::explore::memory as packed;
use mastwright_sim::explore::plant::{Blade, Mast};
use mastwright_sim::world::Controller;

use super::twin::compared;

/// The real controller, put to the test in each tick.
#[derive(Clone)]
pub struct AnyBlade {
    real: Sequencer,
    /// A power cut begins a new controller; what it found is told by the last.
    pub found: Found,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// Of each state: how often the blade was varied.
    pub varied: BTreeMap<&'static str, u64>,
    /// Where that changed anything, first.
    pub first: BTreeMap<&'static str, String>,
}

impl Found {
    /// Adds what was found in a flight of this name.
    pub fn add(&mut self, flight: &str, found: &Self) {
        for (state, times) in &found.varied {
            *self.varied.entry(state).or_default() += times;
        }
        for (state, first) in &found.first {
            let told = || format!("{flight}: {first}");
            self.first.entry(state).or_insert_with(told);
        }
    }
}

/// A memory and readings in which the blade is not as it was.
struct Other {
    controller: Sequencer,
    inputs: Inputs,
}

/// A tick as it is.
struct Tick<'a> {
    controller: &'a Sequencer,
    inputs: &'a Inputs,
    config: &'a Config,
}

impl Tick<'_> {
    fn other(&self, change: impl FnOnce(&mut Inputs)) -> Other {
        let mut inputs = *self.inputs;
        change(&mut inputs);
        Other {
            controller: *self.controller,
            inputs,
        }
    }

    /// Where blade and shaft are chosen anew, only what of them can matter is.
    fn each_blade(&self, each: &mut impl FnMut(&Other)) {
        let mast = &self.inputs.mast;
        // Nearer to the bay it is remembered.
        if mast.position.raw() < Permille::new(640) {
            return;
        }
        let locked = if mast.lock_switch.raw() {
            Mast::Locked
        } else {
            Mast::Clear
        };
        let state = self.controller.state();
        let live = self.controller.bus_stage() == Stage::Live;
        let blade = Blade::of(state, locked, self.controller.grips() || live);
        let place = self.inputs.propeller;
        let windowed = [place.angle_a, place.angle_b]
            .iter()
            .all(|angle| angle.raw().off_park().magnitude() <= self.config.park_window);
        let other = |angle: i32, rpm: i16| {
            let mut other = self.other(|inputs| {
                inputs.propeller.angle_a = Signal::fresh(CentiDegrees::new(angle));
                inputs.propeller.angle_b = Signal::fresh(CentiDegrees::new(angle));
                inputs.propeller.speed = Signal::fresh(Rpm::new(rpm));
            });
            if (angle, rpm) != (0, 0) {
                other.controller.walk(&mut Unparked, self.config);
            }
            other
        };
        match blade {
            Blade::All => {}
            Blade::Not => {
                for (angle, rpm) in [(0, 0), (650, 20), (4_500, 20), (4_500, 1_000)] {
                    each(&other(angle, rpm));
                }
            }
            // Whether it is in its window is varied.
            Blade::Place if windowed => {}
            Blade::Place => {
                for (angle, rpm) in [(650, 0), (650, 20), (4_500, 20), (4_500, 1_000)] {
                    each(&other(angle, rpm));
                }
            }
        }
    }
}

/// Forgets that the blade was parked.
struct Unparked;

impl Visitor for Unparked {
    fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
        if timer == Timer::Parked {
            held.restart();
        }
    }
}

/// What is compared: the charger is asked for wherever charging is.
fn came(mut controller: Sequencer, inputs: &Inputs, config: &Config) -> (Drives, u64) {
    let outputs = controller.step(inputs, config);
    let drives = Drives {
        aux_charger: false,
        ..compared(&outputs.drives)
    };
    (drives, packed::pack(controller, false, config).bits)
}

impl Controller for AnyBlade {
    fn wake(retained: Faults, config: &Config) -> Self {
        Self {
            real: Sequencer::wake(retained, config),
            found: Found::default(),
        }
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let before = self.real;
        let outputs = self.real.step(inputs, config);
        let tick = Tick {
            controller: &before,
            inputs,
            config,
        };
        let real = came(before, inputs, config);
        let state = before.state().name();
        let found = &mut self.found;
        tick.each_blade(&mut |other| {
            *found.varied.entry(state).or_default() += 1;
            let came = came(other.controller, &other.inputs, config);
            if came != real {
                found.first.entry(state).or_insert_with(|| {
                    format!(
                        "{real:?}\nand\n{came:?}\nfrom\n{before:?}\nby\n{inputs:?}\nand\n{:?}",
                        other.inputs
                    )
                });
            }
        });
        outputs
    }

    fn with_bit_flipped(&self, _bit: u32) -> Self {
        self.clone()
    }
}
