//! The real controller beside one whose memory is reduced and restored before each tick.
//!
//! Of a timer the reduced memory holds whether it is over; that it is about to run out is
//! taken from the real one. What the exploration chooses anew in each step (selector and
//! acknowledge button on their way, motion of the mast, doors at rest, the parking proof,
//! the sides of hystereses) is taken from it too. Then both must command the same, and come
//! to the same reduced memory, whatever is read.

use mastwright_core::command::Selector;
use mastwright_core::doors::Place;
use mastwright_core::outputs::{Drives, Fans, Motor};
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::{Permille, Ticks};
use mastwright_core::walk::{Button, Motion, Pushes, Straying, Timer, Visitor};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, axis::Way};
use mastwright_sim::explore::memory as packed;
use mastwright_sim::world::Controller;

use super::channels::CHANNELS;
use super::memory;
use crate::draw::Draw;

/// What is chosen anew in each step.
#[derive(Clone, Copy, Debug, Default)]
struct Anew {
    last: Selector,
    left: Countdown,
    button: (bool, bool, bool, Countdown, Sustained),
    motion: (Option<Way>, Option<Permille>, Countdown),
    straying: (Place, Sustained, Sustained),
    parked: Sustained,
    sides: [bool; 8],
}

/// Takes from a memory what is chosen anew.
#[derive(Default)]
struct Taker {
    anew: Anew,
    sides: usize,
}

/// Gives it to another.
struct Giver {
    anew: Anew,
    sides: usize,
}

impl Visitor for Taker {
    fn hysteresis(&mut self, side: &mut bool) {
        self.anew.sides[self.sides] = *side;
        self.sides += 1;
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
        if timer == Timer::Parked {
            self.anew.parked = *held;
        }
    }

    fn motion(&mut self, motion: Motion<'_>) {
        self.anew.motion = (*motion.driven, *motion.reference, *motion.window);
    }

    fn straying(&mut self, straying: Straying<'_>) {
        self.anew.straying = (*straying.left_at, *straying.resting, *straying.strayed);
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        (self.anew.last, self.anew.left) = (*pushes.last, *pushes.left);
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        self.anew.button = (
            *button.seen,
            *button.settled,
            *button.candidate,
            *button.left,
            *button.clearing,
        );
    }
}

impl Visitor for Giver {
    fn hysteresis(&mut self, side: &mut bool) {
        *side = self.anew.sides[self.sides];
        self.sides += 1;
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
        if timer == Timer::Parked {
            *held = self.anew.parked;
        }
    }

    fn motion(&mut self, motion: Motion<'_>) {
        (*motion.driven, *motion.reference, *motion.window) = self.anew.motion;
    }

    fn straying(&mut self, straying: Straying<'_>) {
        (*straying.left_at, *straying.resting, *straying.strayed) = self.anew.straying;
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        (*pushes.last, *pushes.left) = (self.anew.last, self.anew.left);
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        (
            *button.seen,
            *button.settled,
            *button.candidate,
            *button.left,
            *button.clearing,
        ) = self.anew.button;
    }
}

/// The reduced memory of a controller, restored: its timers run or are over, those that are
/// about to run out are, if these are told.
#[must_use]
pub fn restored(real: &Sequencer, told: bool, config: &Config) -> Sequencer {
    let bits = packed::pack(*real, false, config).bits;
    let mut restored = packed::unpack(bits, config);
    if told {
        packed::ripen(&mut restored, memory::running(real, config).ripe, config);
    }
    let mut taker = Taker::default();
    let mut copy = *real;
    copy.walk(&mut taker, config);
    let anew = taker.anew;
    restored.walk(&mut Giver { anew, sides: 0 }, config);
    restored
}

/// What is compared of commands: all but the size of a thrust and the fans, which depend on
/// temperatures, of which the exploration keeps nothing.
#[must_use]
pub fn compared(drives: &Drives) -> Drives {
    let motor = match drives.motor {
        Motor::Thrust(_) => Motor::Thrust(Permille::FULL),
        motor @ (Motor::Free
        | Motor::Short
        | Motor::Brake(_)
        | Motor::Creep(_)
        | Motor::Hold(_)) => motor,
    };
    Drives {
        motor,
        fans: Fans::On,
        ..*drives
    }
}

/// The real controller, readings of which are meddled with, and its twin. Without `RIPE` the
/// twin is not told which timers run out: it must be seen to differ.
#[derive(Clone)]
pub struct Twin<const RIPE: bool> {
    real: Sequencer,
    draw: Option<Draw>,
    /// The lies told now: channel, what it says, for how long.
    lies: Vec<(usize, Option<u32>, u32)>,
    /// The first tick in which the two differed.
    pub differs: Option<String>,
    /// The states it was in, as [`crate::flown::bit`]s.
    pub states: u32,
}

impl<const RIPE: bool> Twin<RIPE> {
    /// Now and then something that is read is not so, for a while.
    fn meddle(&mut self, inputs: &Inputs) -> Inputs {
        let mut told = *inputs;
        let draw = self.draw.get_or_insert_with(|| seeded(inputs));
        if draw.below(250) == 0 {
            let channel = draw.below(u32::try_from(CHANNELS.len()).unwrap_or(1)) as usize;
            let number = draw.below(u32::MAX);
            let said = (!draw.chance(20)).then_some(number);
            let lasting = draw.one(&[1, 2, 3, 8, 12, 40, 300]);
            self.lies.push((channel, said, lasting));
        }
        for (channel, said, left) in &mut self.lies {
            (CHANNELS[*channel].say)(&mut told, *said);
            *left -= 1;
        }
        self.lies.retain(|(_, _, left)| *left > 0);
        told
    }
}

/// A draw that follows from the errors of the first readings.
fn seeded(inputs: &Inputs) -> Draw {
    let sum = [
        i64::from(inputs.bus.current.raw().get()),
        i64::from(inputs.auxiliary.raw().get()),
        i64::from(inputs.packs[0].voltage.raw().get()),
        i64::from(inputs.propeller.angle_a.raw().get()),
    ];
    let mix = |seed: u64, number: &i64| {
        let mixed = seed.wrapping_mul(1_000_003);
        mixed.wrapping_add(number.unsigned_abs())
    };
    Draw::new(sum.iter().fold(7, mix))
}

impl<const RIPE: bool> Controller for Twin<RIPE> {
    fn wake(retained: Faults, config: &Config) -> Self {
        Self {
            real: Sequencer::wake(retained, config),
            draw: None,
            lies: Vec::new(),
            differs: None,
            states: 0,
        }
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let inputs = self.meddle(inputs);
        let before = self.real;
        let mut twin = restored(&before, RIPE, config);
        let outputs = self.real.step(&inputs, config);
        let told = twin.step(&inputs, config);
        let rests = memory::running(&self.real, config).resting;
        let timers = [Timer::MastRest, Timer::DoorRest];
        for ((timer, real), still) in timers
            .into_iter()
            .zip(rests)
            .zip(memory::running(&twin, config).resting)
        {
            // That a dead time is over is a move of its own.
            if real.is_none() && still.is_some() && !packed::rest(&mut twin, timer, config) {
                self.differs
                    .get_or_insert(format!("{timer:?} does not end"));
            }
        }
        let bits = |controller| packed::pack(controller, false, config).bits;
        let same =
            bits(self.real) == bits(twin) && compared(&outputs.drives) == compared(&told.drives);
        if !same && self.differs.is_none() {
            self.differs = Some(format!(
                "{:?}\nand\n{:?}\nfrom\n{before:?}\nby\n{inputs:?}",
                (outputs.drives, self.real),
                (told.drives, twin)
            ));
        }
        self.states |= crate::flown::bit(self.real.state());
        outputs
    }

    fn with_bit_flipped(&self, _bit: u32) -> Self {
        self.clone()
    }
}
