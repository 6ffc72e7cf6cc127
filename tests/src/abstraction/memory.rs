//! What of the real controller's memory stands for what in the abstract one.

use mastwright_core::axis::Way;
use mastwright_core::command::Selector;
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::Ticks;
use mastwright_core::walk::{Button, Pushes, Rest, Timer, Timers, Visitor};
use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::memory::Acknowledge;

/// What counts of the selector; what was read first since power-up counts at once.
#[must_use]
pub fn settled(controller: &Sequencer, config: &Config) -> Selector {
    struct Reader(Selector);
    impl Visitor for Reader {
        fn pushes(&mut self, pushes: Pushes<'_>) {
            let first = !*pushes.seen_centred && *pushes.settled == Selector::Unproven;
            self.0 = if first { *pushes.last } else { *pushes.settled };
        }
    }
    let mut reader = Reader(Selector::Unproven);
    let mut copy = *controller;
    copy.walk(&mut reader, config);
    reader.0
}

/// The same controller with the selector as the abstract memory knows it: what was read
/// first since power-up counts at once, and what is not proven counts as what `known`
/// counted before.
#[must_use]
pub fn with_selector_known(
    controller: &Sequencer,
    known: &Sequencer,
    config: &Config,
) -> Sequencer {
    struct First(Selector);
    impl Visitor for First {
        fn pushes(&mut self, pushes: Pushes<'_>) {
            if *pushes.settled != Selector::Unproven {
                return;
            }
            let never = !*pushes.seen_centred;
            if never && *pushes.last != Selector::Unproven {
                *pushes.settled = *pushes.last;
                if *pushes.last == Selector::Hold {
                    *pushes.seen_centred = true;
                    *pushes.centred = true;
                    *pushes.ready = true;
                }
            } else {
                *pushes.settled = self.0;
                *pushes.last = self.0;
            }
        }
    }
    let mut copy = *controller;
    copy.walk(&mut First(settled(known, config)), config);
    copy
}

/// What the acknowledge button did in a step: what counts of it.
#[must_use]
pub fn acknowledge(before: &Sequencer, after: &Sequencer, config: &Config) -> Acknowledge {
    #[derive(Default)]
    struct Reader {
        settled: bool,
        down: bool,
        held: bool,
    }
    impl Visitor for Reader {
        fn acknowledge(&mut self, button: Button<'_>) {
            self.settled = *button.settled;
            // A button that was never seen released is not pressed.
            self.down = *button.settled && *button.seen;
            self.held = self.down && button.clearing.held() >= button.clear_after;
        }
    }
    let read = |controller: &Sequencer| {
        let mut reader = Reader::default();
        let mut copy = *controller;
        copy.walk(&mut reader, config);
        reader
    };
    let (was, is) = (read(before), read(after));
    match (is.held, is.down, was.settled) {
        (true, _, _) => Acknowledge::Held,
        (false, true, false) => Acknowledge::Pressed,
        (false, true, true) => Acknowledge::Down,
        (false, false, _) => Acknowledge::Up,
    }
}

/// Reads timers.
struct Reader<'a> {
    over: Timers,
    ripe: Timers,
    running: Timers,
    rests: &'a mut dyn FnMut(Timer, &Rest<'_>),
}

impl Visitor for Reader<'_> {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        if left.is_over() {
            self.over |= timer;
        } else {
            self.running |= timer;
        }
        if left.left() == Ticks::new(1) {
            self.ripe |= timer;
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if held.held() >= limit {
            self.over |= timer;
        } else if held.held() > Ticks::ZERO {
            self.running |= timer;
        }
        if held.held().plus(Ticks::new(1)) >= limit {
            self.ripe |= timer;
        }
    }

    fn rest(&mut self, timer: Timer, rest: Rest<'_>) {
        (self.rests)(timer, &rest);
    }
}

/// The timers of a controller.
#[derive(Clone, Copy, Debug)]
pub struct Running {
    /// Those that are over, or have held for their limit.
    pub over: Timers,
    /// Those that would be after one more tick, or are already: a condition that has held
    /// for its limit goes on holding for it.
    pub ripe: Timers,
    /// Those that run.
    pub running: Timers,
    /// What mast and doors are driven to.
    pub driven: [Option<Way>; 2],
    /// What of mast and doors must still rest.
    pub resting: [Option<Way>; 2],
}

/// Reads the timers of a controller.
#[must_use]
pub fn running(controller: &Sequencer, config: &Config) -> Running {
    let mut driven = [None; 2];
    let mut resting = [None; 2];
    let mut rests = |timer, rest: &Rest<'_>| {
        let axis = usize::from(timer == Timer::DoorRest);
        driven[axis] = rest.driven;
        resting[axis] = *rest.resting;
    };
    let mut reader = Reader {
        over: Timers::empty(),
        ripe: Timers::empty(),
        running: Timers::empty(),
        rests: &mut rests,
    };
    let mut copy = *controller;
    copy.walk(&mut reader, config);
    let Reader {
        over,
        ripe,
        running,
        ..
    } = reader;
    Running {
        over,
        ripe,
        running,
        driven,
        resting,
    }
}
