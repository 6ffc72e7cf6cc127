//! Whether what the tables of the exploration leave out in a state changes anything there.
//!
//! In each tick of a real flight what the table says cannot matter is varied: the commands
//! and the reduced memory after the tick must be the same.

use std::collections::BTreeMap;

use mastwright_core::bus::Stage;
use mastwright_core::command::Intention;
use mastwright_core::outputs::{Drives, Event};
use mastwright_core::signal::Signal;
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, Permille, Rpm, Ticks,
};
use mastwright_core::walk::{Button, Timer, Visitor};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, State};
use mastwright_sim::explore::checks::decisive;
use mastwright_sim::explore::hands::{Airs, Key, Matters};
use mastwright_sim::explore::memory::{self as packed, Acknowledge};
use mastwright_sim::explore::plant::{Blade, Mast};
use mastwright_sim::world::Controller;

use super::twin::compared;

/// The real controller, put to the test in each tick.
#[derive(Clone)]
pub struct Idle {
    real: Sequencer,
    /// A power cut begins a new controller; what it found is told by the last.
    pub found: Found,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// Of each thing and state: how often it was varied, how often that changed anything.
    pub varied: BTreeMap<(&'static str, &'static str), [u64; 2]>,
    /// What changed first.
    pub first: BTreeMap<(&'static str, &'static str), String>,
}

impl Found {
    /// Adds what was found in a flight of this name.
    pub fn add(&mut self, flight: &str, found: &Self) {
        for (key, [times, changed]) in &found.varied {
            let count = self.varied.entry(*key).or_default();
            count[0] += times;
            count[1] += changed;
        }
        for (key, first) in &found.first {
            let told = || format!("{flight}: {first}");
            self.first.entry(*key).or_insert_with(told);
        }
    }
}

/// A memory and readings in which something is not as it was.
struct Other {
    what: &'static str,
    controller: Sequencer,
    inputs: Inputs,
}

/// A tick as it is.
struct Tick<'a> {
    controller: &'a Sequencer,
    inputs: &'a Inputs,
    config: &'a Config,
    /// A push or a stop is made in this tick.
    asked: bool,
    /// A stop is made, or the selector is pushed to stow.
    put_away: bool,
}

impl Tick<'_> {
    fn other(&self, what: &'static str, change: impl FnOnce(&mut Inputs)) -> Other {
        let mut inputs = *self.inputs;
        change(&mut inputs);
        Other {
            what,
            controller: *self.controller,
            inputs,
        }
    }

    /// Everything that cannot matter, by the tables.
    fn each(&self, mut each: impl FnMut(&Other)) {
        let state = self.controller.state();
        let latched = !decisive(self.controller.latched()).is_empty();
        let matters = Matters::of(state, latched, true);
        let enters = matters.key == Key::Enters && self.inputs.controls.bench_key.raw();
        if !matters.thrust && !enters {
            for open in [0, 600] {
                each(&self.other("throttle", |inputs| {
                    let lever = Signal::fresh(Permille::new(open));
                    inputs.controls.throttle_a = lever;
                    inputs.controls.throttle_b = lever;
                }));
            }
        }
        if !matters.thrust {
            for heat in [300, 1_225, 1_350] {
                each(&self.other("heat", |inputs| {
                    inputs.thermal.motor = Signal::fresh(DeciCelsius::new(heat));
                }));
            }
        }
        // Whoever stops does it with the throttle open, and cool.
        if matters.thrust && self.put_away {
            for (open, heat) in [(0, 300), (600, 300), (0, 1_350)] {
                each(&self.other("throttle of a stop", |inputs| {
                    let lever = Signal::fresh(Permille::new(open));
                    inputs.controls.throttle_a = lever;
                    inputs.controls.throttle_b = lever;
                    inputs.thermal.motor = Signal::fresh(DeciCelsius::new(heat));
                }));
            }
        }
        if matters.key == Key::Not {
            for on in [false, true] {
                each(&self.other("bench key", |inputs| {
                    inputs.controls.bench_key = Signal::fresh(on);
                }));
            }
        }
        if !matters.aux {
            for on in [false, true] {
                each(&self.other("charge request", |inputs| {
                    inputs.controls.aux_charge = Signal::fresh(on);
                    inputs.controls.aux_charge_off = Signal::fresh(!on);
                }));
            }
        }
        let air = match matters.air {
            Airs::Not => true,
            Airs::IfAsked => !self.asked,
            Airs::Matter => false,
        };
        // In Waking calm air enters Bench, with the key.
        if air && matters.key != Key::Enters {
            for airspeed in [0, 200, 350] {
                each(&self.other("air", |inputs| {
                    inputs.airspeed = Signal::fresh(DeciMetresPerSecond::new(airspeed));
                }));
            }
        }
        let by_button = matches!(matters.key, Key::Enters | Key::Keeps);
        self.each_button(matters.acknowledge, by_button, &mut each);
        self.each_blade(&mut each);
    }

    /// A press is told, and decides nothing; held it clears faults, if there are any.
    fn each_button(&self, clears: bool, enters: bool, each: &mut impl FnMut(&Other)) {
        let key = self.inputs.controls.bench_key.raw();
        if enters && (key || self.controller.state() == State::Bench) {
            return;
        }
        let mut ways = vec![Acknowledge::Pressed, Acknowledge::Down, Acknowledge::Up];
        if clears {
            // Its being held is varied by the exploration; whether it is now stays as it is.
            if is_held(self.controller, self.config) {
                return;
            }
        } else {
            ways.push(Acknowledge::Held);
        }
        for way in ways {
            let mut other = self.other("acknowledge", |inputs| {
                let pressed = way != Acknowledge::Up;
                inputs.controls.acknowledge = Signal::fresh(pressed);
                inputs.controls.acknowledge_rest = Signal::fresh(!pressed);
            });
            other.controller.walk(&mut Pressing(way), self.config);
            each(&other);
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
            let mut other = self.other("blade", |inputs| {
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

/// Does this with the acknowledge button.
struct Pressing(Acknowledge);

impl Visitor for Pressing {
    fn acknowledge(&mut self, button: Button<'_>) {
        let (settled, candidate, left, held) = match self.0 {
            Acknowledge::Up => (false, false, 0, Ticks::ZERO),
            Acknowledge::Pressed => (false, true, 1, Ticks::ZERO),
            Acknowledge::Down => (true, true, 0, Ticks::ZERO),
            Acknowledge::Held => (true, true, 0, button.clear_after),
        };
        *button.seen = true;
        *button.settled = settled;
        *button.candidate = candidate;
        *button.left = Countdown::of(Ticks::new(left));
        *button.clearing = Sustained::of(held);
    }
}

/// True when the button has been held, or will have been in this tick, long enough to clear
/// faults.
fn is_held(controller: &Sequencer, config: &Config) -> bool {
    struct Reader(bool);
    impl Visitor for Reader {
        fn acknowledge(&mut self, button: Button<'_>) {
            self.0 = button.clearing.held().plus(Ticks::new(1)) >= button.clear_after;
        }
    }
    let mut reader = Reader(false);
    let mut copy = *controller;
    copy.walk(&mut reader, config);
    reader.0
}

/// What is compared: the charger is asked for wherever charging is.
fn came(mut controller: Sequencer, inputs: &Inputs, config: &Config) -> (Drives, u128) {
    let outputs = controller.step(inputs, config);
    let drives = Drives {
        aux_charger: false,
        ..compared(&outputs.drives)
    };
    (drives, packed::pack(controller, false, config).bits)
}

impl Controller for Idle {
    fn wake(retained: Faults, config: &Config) -> Self {
        Self {
            real: Sequencer::wake(retained, config),
            found: Found::default(),
        }
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let before = self.real;
        let outputs = self.real.step(inputs, config);
        let asks = |event: &Event| matches!(event, Event::Intended(_));
        let stows = |event: &Event| matches!(event, Event::Intended(Intention::Stow));
        let stop = inputs.controls.stop_a.raw() && inputs.controls.stop_b.raw();
        let tick = Tick {
            controller: &before,
            inputs,
            config,
            asked: outputs.events.iter().any(asks),
            put_away: stop || outputs.events.iter().any(stows),
        };
        let real = came(before, inputs, config);
        let state = before.state().name();
        let found = &mut self.found;
        tick.each(|other| {
            let count = found.varied.entry((other.what, state)).or_default();
            count[0] += 1;
            let came = came(other.controller, &other.inputs, config);
            if came != real {
                count[1] += 1;
                found.first.entry((other.what, state)).or_insert_with(|| {
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
