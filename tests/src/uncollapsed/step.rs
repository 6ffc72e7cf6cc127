//! One tick of the real controller in the abstract world, every counter of it exact.

use mastwright_core::command::{Intention, Selector};
use mastwright_core::outputs::Event;
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::{Permille, Ticks};
use mastwright_core::walk::{Motion, Pushes, Timer, Timers, Visitor};
use mastwright_core::{Config, Inputs, Outputs, Sequencer, State};
use mastwright_sim::explore::cases::Several;
use mastwright_sim::explore::facts::{Situation, may_run_out};
use mastwright_sim::explore::hands::{Hands, Push};
use mastwright_sim::explore::memory as packed;
use mastwright_sim::explore::memory::Acknowledge;
use mastwright_sim::explore::plant::Plant;
use mastwright_sim::explore::space::World;
use mastwright_sim::explore::watch::Asked;

use super::limits::Limits;
use crate::abstraction::memory;

/// The real controller, whole, in an abstract world.
#[derive(Clone, Copy, Debug)]
pub struct Whole {
    /// The controller.
    pub controller: Sequencer,
    /// The world.
    pub world: World,
}

/// What comes to it in a tick.
#[derive(Clone, Copy, Debug)]
pub struct Comes<'a> {
    /// The plant, the blade where it was chosen to be.
    pub plant: &'a Plant,
    /// The hands, as they are.
    pub hands: &'a Hands,
    /// What is read.
    pub inputs: &'a Inputs,
}

/// The selector as a controller knows it.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known {
    /// What counts of it.
    pub settled: Selector,
    /// What was last read of it.
    pub last: Selector,
    /// It was seen centred since a fresh push was last demanded.
    pub centred: bool,
}

impl Known {
    /// As this controller knows it.
    #[must_use]
    pub fn of(controller: &Sequencer, config: &Config) -> Self {
        struct Reads(Known);
        impl Visitor for Reads {
            fn pushes(&mut self, pushes: Pushes<'_>) {
                self.0 = Known {
                    settled: *pushes.settled,
                    last: *pushes.last,
                    centred: *pushes.centred,
                };
            }
        }
        let mut reads = Reads(Self::default());
        let mut copy = *controller;
        copy.walk(&mut reads, config);
        reads.0
    }
}

impl Whole {
    /// Calls `each` with everything that one tick may lead to, unless a timer would run out
    /// in it that the facts say cannot.
    pub fn tick(
        &self,
        comes: &Comes<'_>,
        limits: &Limits,
        config: &Config,
        mut each: impl FnMut(Self),
    ) {
        let mut controller = self.controller;
        let mut sets = Sets {
            position: comes.inputs.mast.position.raw(),
            reading: comes.hands.selector.selector(),
        };
        controller.walk(&mut sets, config);
        if self.breaks_a_fact(&controller, comes, config) {
            return;
        }
        let before = controller;
        let outputs = controller.step(comes.inputs, config);
        limits.cut(&mut controller, config);
        let World {
            plant: was,
            troubles,
            watch,
        } = self.world;
        let hands = self.counted(comes.hands, &before, &controller, &outputs, config);
        let watch = watch.after(&was, &hands, before.state(), &outputs);
        let [mast, doors] = ended(&before, &controller, config);
        let broken = Several::one(troubles);
        comes.plant.each_next(&outputs.drives, broken, |next, _| {
            let mut plant = if mast { next.mast_rested() } else { next };
            if doors {
                plant.door_motion = plant.door_motion.rested();
            }
            let world = World {
                plant,
                troubles,
                watch,
            };
            each(Self { controller, world });
        });
    }

    /// True when a timer runs out in this tick that the facts say cannot: it would run on in
    /// it, had it more time.
    fn breaks_a_fact(&self, before: &Sequencer, comes: &Comes<'_>, config: &Config) -> bool {
        /// Chosen with the readings, and moves of their own.
        const OTHERS: Timers =
            enumset::enum_set!(Timer::Parked | Timer::MastRest | Timer::DoorRest);
        let now = Situation {
            plant: comes.plant,
            broken: Several::one(self.world.troubles),
            state: before.state(),
            stage: before.bus_stage(),
        };
        let ripe = packed::ripe(before, config) - OTHERS;
        let cannot: Timers = ripe
            .iter()
            .filter(|&timer| may_run_out(timer, &now).is_empty())
            .collect();
        if cannot.is_empty() {
            return false;
        }
        let mut slower = *before;
        slower.walk(&mut Slower(cannot), config);
        slower.step(comes.inputs, config);
        let mut ran = Ran {
            of: cannot,
            ran: Timers::empty(),
        };
        slower.walk(&mut ran, config);
        !ran.ran.is_empty()
    }

    /// The hands as they count in a tick: what the observer is to see. A push that is held
    /// counts as none once something was asked for, but by hand; one that was not seen
    /// centred since a fresh one was demanded counts as none by hand as well.
    fn counted(
        &self,
        hands: &Hands,
        before: &Sequencer,
        after: &Sequencer,
        outputs: &Outputs,
        config: &Config,
    ) -> Hands {
        let pushed =
            |event: &Event| matches!(event, Event::Intended(Intention::Deploy | Intention::Stow));
        let fresh = outputs.events.iter().any(pushed);
        let by_hand = matches!(before.state(), State::Jog | State::Bench);
        let given = self.world.watch.asked == Asked::Given;
        let counts = if by_hand {
            Known::of(before, config).centred
        } else {
            fresh
        };
        let selector = match Known::of(after, config).settled {
            Selector::Deploy if counts || !given => Push::Deploy,
            Selector::Stow if counts || !given => Push::Stow,
            Selector::Deploy | Selector::Stow | Selector::Hold | Selector::Unproven => Push::Hold,
        };
        Hands {
            selector,
            acknowledge: memory::acknowledge(before, after, config),
            ..*hands
        }
    }
}

/// The hands as they are, not as they count: of the button only whether it is down.
#[must_use]
pub fn as_they_are(hands: &Hands) -> Hands {
    let acknowledge = match hands.acknowledge {
        Acknowledge::Up => Acknowledge::Up,
        Acknowledge::Pressed | Acknowledge::Down | Acknowledge::Held => Acknowledge::Down,
    };
    Hands {
        acknowledge,
        ..*hands
    }
}

/// Which of the dead times of mast and doors ended.
fn ended(before: &Sequencer, after: &Sequencer, config: &Config) -> [bool; 2] {
    let was = memory::running(before, config).resting;
    let is = memory::running(after, config).resting;
    [0, 1].map(|axis: usize| was[axis].is_some() && is[axis].is_none())
}

/// What the abstract plant cannot tell: a sound mast follows its drive, and rests without.
/// And what the abstract memory is ahead by: what is read first of the selector counts.
struct Sets {
    position: Permille,
    reading: Selector,
}

impl Visitor for Sets {
    fn motion(&mut self, motion: Motion<'_>) {
        *motion.driven = motion.drive;
        *motion.reference = Some(self.position);
        *motion.window = Countdown::of(LONG);
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        if (*pushes.settled, *pushes.last) == (Selector::Unproven, Selector::Unproven) {
            *pushes.last = self.reading;
            *pushes.left = Countdown::of(Ticks::new(1));
        }
    }
}

/// Longer than anything is started with.
const LONG: Ticks = Ticks::new(60_001);
const LONG_LESS_ONE: Ticks = Ticks::new(60_000);

/// Gives timers all the time there is.
struct Slower(Timers);

impl Visitor for Slower {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        if self.0.contains(timer) {
            *left = Countdown::of(LONG);
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
        if self.0.contains(timer) {
            held.restart();
        }
    }
}

/// Sees which of them ran in the step since.
struct Ran {
    of: Timers,
    ran: Timers,
}

impl Visitor for Ran {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        if self.of.contains(timer) && left.left() == LONG_LESS_ONE {
            self.ran |= timer;
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
        if self.of.contains(timer) && held.held() > Ticks::ZERO {
            self.ran |= timer;
        }
    }
}
