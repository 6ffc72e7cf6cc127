//! What is chosen of a memory before a step, since it is not stored, and which timers run out
//! in it.

use mastwright_core::command::Selector;
use mastwright_core::doors::Place;
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::{Permille, Ticks};
use mastwright_core::walk::{Button, Motion, Pushes, Rest, Straying, Timer, Timers, Visitor};
use mastwright_core::{Config, Sequencer};

use super::RUNNING;

/// What the acknowledge button does in a step, and since when.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Acknowledge {
    /// It is up.
    #[default]
    Up,
    /// It goes down, and counts as pressed.
    Pressed,
    /// It is down since before.
    Down,
    /// It has been held for as long as it takes to clear faults.
    Held,
}

/// What is chosen of the memory before a step.
#[derive(Clone, Copy, Debug)]
pub struct Chosen {
    /// The acknowledge button.
    pub acknowledge: Acknowledge,
    /// What counted of the selector before, where that is not remembered.
    pub counted: Option<Selector>,
    /// The selector's reading, which settles in this step.
    pub selector: Selector,
    /// Where the mast is.
    pub position: Permille,
    /// Its motion is judged in this step, and is not as it should be.
    pub strange: bool,
    /// Where the doors were left, if they are found elsewhere in this step.
    pub strayed_from: Option<Place>,
    /// The blade has been parked for its proof time.
    pub parked: bool,
}

/// Makes the choices of a step.
pub fn prepare(controller: &mut Sequencer, chosen: &Chosen, config: &Config) {
    controller.walk(&mut Preparer(chosen), config);
}

/// Lets timers run out in the next step.
pub fn ripen(controller: &mut Sequencer, timers: Timers, config: &Config) {
    if !timers.is_empty() {
        controller.walk(&mut Ripener(timers), config);
    }
}

/// Lets the dead time of a drive be over; false if it does not run.
#[must_use]
pub fn rest(controller: &mut Sequencer, timer: Timer, config: &Config) -> bool {
    let mut rester = Rester { timer, runs: false };
    controller.walk(&mut rester, config);
    rester.runs
}

/// The timers of a real controller that are about to run out: over after one more tick.
#[must_use]
pub fn ripe(controller: &Sequencer, config: &Config) -> Timers {
    let mut finder = Ripe(Timers::empty());
    let mut copy = *controller;
    copy.walk(&mut finder, config);
    finder.0
}

struct Preparer<'a>(&'a Chosen);

impl Visitor for Preparer<'_> {
    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if timer == Timer::Parked && self.0.parked {
            *held = Sustained::of(limit);
        }
    }

    fn straying(&mut self, straying: Straying<'_>) {
        straying.resting.restart();
        straying.strayed.restart();
        *straying.left_at = Place::Unknown;
        if let Some(place) = self.0.strayed_from {
            *straying.resting = Sustained::of(straying.settle);
            *straying.strayed = Sustained::of(straying.after.minus(Ticks::new(1)));
            *straying.left_at = place;
        }
    }

    fn motion(&mut self, motion: Motion<'_>) {
        const FAR: Permille = Permille::new(100);
        let position = self.0.position;
        *motion.driven = motion.drive;
        if !self.0.strange {
            *motion.reference = Some(position);
            *motion.window = Countdown::of(RUNNING);
            return;
        }
        // A driven mast that has not moved; a resting one that has.
        *motion.window = Countdown::of(Ticks::new(1));
        *motion.reference = Some(match motion.drive {
            Some(_) => position,
            None => position.plus(FAR),
        });
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        if let Some(counted) = self.0.counted {
            *pushes.settled = counted;
            *pushes.last = counted;
            *pushes.ready = counted == Selector::Hold;
        }
        if self.0.selector != *pushes.settled {
            *pushes.last = self.0.selector;
            *pushes.left = Countdown::of(Ticks::new(1));
        }
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        let (settled, candidate, left, held) = match self.0.acknowledge {
            Acknowledge::Up => (false, false, Ticks::ZERO, Ticks::ZERO),
            Acknowledge::Pressed => (false, true, Ticks::new(1), Ticks::ZERO),
            Acknowledge::Down => (true, true, Ticks::ZERO, Ticks::ZERO),
            Acknowledge::Held => (true, true, Ticks::ZERO, button.clear_after),
        };
        *button.settled = settled;
        *button.candidate = candidate;
        *button.left = Countdown::of(left);
        *button.clearing = Sustained::of(held);
    }
}

struct Ripener(Timers);

impl Visitor for Ripener {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        if self.0.contains(timer) {
            *left = Countdown::of(Ticks::new(1));
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        // What has held for its limit already goes on.
        if self.0.contains(timer) && held.held() < limit {
            *held = Sustained::of(limit.minus(Ticks::new(1)));
        }
    }
}

struct Rester {
    timer: Timer,
    runs: bool,
}

impl Visitor for Rester {
    fn rest(&mut self, timer: Timer, rest: Rest<'_>) {
        if timer == self.timer && rest.driven.is_none() && rest.resting.is_some() {
            self.runs = true;
            *rest.resting = None;
            *rest.left = Countdown::default();
        }
    }
}

struct Ripe(Timers);

impl Visitor for Ripe {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        if left.left() == Ticks::new(1) {
            self.0 |= timer;
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if held.held().plus(Ticks::new(1)) == limit {
            self.0 |= timer;
        }
    }
}
