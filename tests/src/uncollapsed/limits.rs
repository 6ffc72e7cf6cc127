//! Time limits of a few ticks.
//!
//! No settings are valid with them, so they are made of the valid ones: a timer that has
//! more than so many ticks to go is put forward to where it has as many. A guard asks only
//! whether a timer is over, or a condition has held for its limit; so a controller whose
//! timers are put forward after each step is one whose limits are that short.

use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::Ticks;
use mastwright_core::walk::{Button, Pushes, Rest, Straying, Timer, Visitor};
use mastwright_core::{Config, Sequencer};

/// The limits, in ticks; one at least.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Of every timer that is not told of.
    pub most: u16,
    /// Of these.
    pub of: &'static [(Timer, u16)],
    /// How long doors rest until it counts where they are left.
    pub settle: u16,
    /// How long a control reads the same until it counts, after the tick in which it changed.
    pub debounce: u16,
    /// How long acknowledge is held to clear faults.
    pub clear: u16,
}

impl Limits {
    fn of(&self, timer: Timer) -> Ticks {
        let told = self.of.iter().find(|(of, _)| *of == timer);
        Ticks::new(told.map_or(self.most, |(_, ticks)| *ticks))
    }

    /// Puts the timers of a controller forward to where these limits have them.
    pub fn cut(&self, controller: &mut Sequencer, config: &Config) {
        controller.walk(&mut Cut(self), config);
    }
}

struct Cut<'a>(&'a Limits);

fn down(left: &mut Countdown, most: Ticks) {
    *left = Countdown::of(left.left().min(most));
}

fn up(held: &mut Sustained, limit: Ticks, most: Ticks) {
    *held = Sustained::of(held.held().max(limit.minus(most)));
}

impl Visitor for Cut<'_> {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        down(left, self.0.of(timer));
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        up(held, limit, self.0.of(timer));
    }

    fn straying(&mut self, straying: Straying<'_>) {
        up(straying.resting, straying.settle, Ticks::new(self.0.settle));
        up(straying.strayed, straying.after, Ticks::new(self.0.most));
    }

    fn rest(&mut self, timer: Timer, rest: Rest<'_>) {
        down(rest.left, self.0.of(timer));
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        down(pushes.left, Ticks::new(self.0.debounce));
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        down(button.left, Ticks::new(self.0.debounce));
        up(
            button.clearing,
            button.clear_after,
            Ticks::new(self.0.clear),
        );
    }
}
