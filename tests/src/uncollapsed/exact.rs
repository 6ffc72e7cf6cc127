//! The exact memory of a controller: every item that the walk comes to, as it is. What it
//! passes by only tells.

use std::hash::{Hash, Hasher};

use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::Ticks;
use mastwright_core::walk::{Button, Choice, Flag, Pushes, Rest, Straying, Timer, Visitor};
use mastwright_core::{Config, Faults, Sequencer, State};
use rustc_hash::FxHasher;

struct Hashes(FxHasher);

impl Hashes {
    fn put(&mut self, value: impl Hash) {
        value.hash(&mut self.0);
    }
}

/// The mast's motion is left out: it is set before each step.
impl Visitor for Hashes {
    fn flag(&mut self, _flag: Flag, is_set: &mut bool) {
        self.put(*is_set);
    }

    fn hysteresis(&mut self, side: &mut bool) {
        self.put(*side);
    }

    fn state(&mut self, state: &mut State) {
        self.put(*state);
    }

    fn choice<T: Choice>(&mut self, value: &mut T, _count: u8) {
        self.put(value.number());
    }

    fn countdown(&mut self, _timer: Timer, left: &mut Countdown) {
        self.put(*left);
    }

    fn sustained(&mut self, _timer: Timer, held: &mut Sustained, _limit: Ticks) {
        self.put(*held);
    }

    fn straying(&mut self, straying: Straying<'_>) {
        self.put((*straying.left_at, *straying.resting, *straying.strayed));
    }

    fn latched(&mut self, faults: &mut Faults) {
        self.put(*faults);
    }

    fn rest(&mut self, _timer: Timer, rest: Rest<'_>) {
        self.put((*rest.resting, *rest.left));
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        self.put((*pushes.settled, *pushes.last, *pushes.left));
        self.put((*pushes.seen_centred, *pushes.centred, *pushes.ready));
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        self.put((*button.seen, *button.settled, *button.candidate));
        self.put((*button.left, *button.clearing));
    }
}

/// A hash of the exact memory of a controller, and of the world beside it.
#[must_use]
pub fn hash(controller: &Sequencer, world: impl Hash, config: &Config) -> u64 {
    let mut hashes = Hashes(FxHasher::default());
    hashes.put(world);
    let mut copy = *controller;
    copy.walk(&mut hashes, config);
    hashes.0.finish()
}

/// A hash of what is under way in a controller: how much is left of each countdown, and what
/// is being read of selector and button.
#[must_use]
pub fn under_way(controller: &Sequencer, config: &Config) -> u64 {
    struct Left(FxHasher);
    impl Visitor for Left {
        fn countdown(&mut self, _timer: Timer, left: &mut Countdown) {
            left.hash(&mut self.0);
        }

        fn rest(&mut self, _timer: Timer, rest: Rest<'_>) {
            rest.left.hash(&mut self.0);
        }

        fn pushes(&mut self, pushes: Pushes<'_>) {
            (*pushes.last, *pushes.left).hash(&mut self.0);
        }

        fn acknowledge(&mut self, button: Button<'_>) {
            (*button.candidate, *button.left, *button.clearing).hash(&mut self.0);
        }
    }
    let mut left = Left(FxHasher::default());
    let mut copy = *controller;
    copy.walk(&mut left, config);
    left.0.finish()
}
