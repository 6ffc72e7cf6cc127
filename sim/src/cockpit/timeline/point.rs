//! One instant of a flight: everything that follows, follows from it.

use std::sync::Arc;

use super::{Happened, Item, Order};
use crate::faults::Fault;
use crate::flight::{Begun, Flight};
use crate::frame::Frame;
use crate::join::{Judged, take_off};
use crate::lesson::Lesson;
use crate::lesson::progress::Progress;
use crate::report::timeline::Timeline as Teller;
use crate::report::words;
use crate::scenario::Scenario;
use crate::scenario::moment::Moment;
use crate::scenario::script::Marks;
use crate::world::World;

/// A fault that waits for its moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Armed {
    /// What will fail.
    pub fault: Fault,
    /// When.
    pub moment: Moment,
    /// When, as it was written.
    pub when: String,
}

/// A world at one instant, with what judges it and what tells of it.
#[derive(Clone, Debug)]
pub struct Point {
    judged: Judged,
    teller: Teller,
    armed: Vec<Arc<Armed>>,
    begun: Begun,
    progress: Option<Progress>,
    seed: u64,
}

impl Point {
    /// A scenario before its first tick.
    pub(super) fn new(scenario: &Scenario, seed: u64, lesson: Option<&Lesson>) -> Self {
        Self {
            judged: take_off(scenario, seed),
            teller: Teller::default(),
            armed: Vec::new(),
            begun: Begun::default(),
            progress: lesson.map(Progress::new),
            seed,
        }
    }

    /// The frame of its tick.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        self.judged.world().frame()
    }

    /// The world.
    #[must_use]
    pub const fn world(&self) -> &World {
        self.judged.world()
    }

    /// The flight so far and what judged it.
    #[must_use]
    pub const fn flight(&self) -> &Judged {
        &self.judged
    }

    /// What the scenario has begun so far.
    #[must_use]
    pub const fn begun(&self) -> Begun {
        self.begun
    }

    /// How the lesson goes, if one is flown.
    #[must_use]
    pub const fn progress(&self) -> Option<&Progress> {
        self.progress.as_ref()
    }

    /// Faults that wait for their moment.
    #[must_use]
    pub fn armed(&self) -> &[Arc<Armed>] {
        &self.armed
    }

    /// Moves on by one tick; `hear` is given what happened in it.
    pub(super) fn step(&mut self, hear: &mut dyn FnMut(Item)) {
        self.judged.step();
        let begun = self.judged.begun();
        begun
            .actions
            .iter()
            .for_each(|index| self.begun.actions.add(index));
        begun
            .faults
            .iter()
            .for_each(|index| self.begun.faults.add(index));
        if let Some(progress) = &mut self.progress {
            progress.observe(self.judged.frame(), begun);
        }
        self.teller.note(self.judged.frame(), begun, &mut |note| {
            hear(Item {
                tick: note.tick,
                phase: note.phase,
                happened: Happened::Seen(note.what),
            });
        });
        self.spring_armed(hear);
    }

    /// Begins, from the next tick on, the armed faults whose moment has come.
    fn spring_armed(&mut self, hear: &mut dyn FnMut(Item)) {
        let mut index = 0;
        while index < self.armed.len() {
            let frame = self.judged.world().frame();
            let armed = Arc::make_mut(&mut self.armed[index]);
            if armed.moment.feed(frame, Marks::default()) {
                let fault = armed.fault;
                self.armed.remove(index);
                self.judged.world_mut().inject(fault, self.seed);
                self.note(&format!("fault let in: {fault}"));
                hear(self.item(self.frame().tick, Happened::Injected(fault)));
            } else {
                index += 1;
            }
        }
    }

    /// Obeys an order; what it means for the tape. What it does to faults stands in the
    /// debrief of a lesson too.
    pub(super) fn obey(&mut self, order: &Order) -> Option<Happened> {
        let world = self.judged.world_mut();
        match order {
            Order::Do(deed) => {
                world.take(*deed);
                Some(Happened::Did(*deed))
            }
            Order::Inject(fault) => {
                world.inject(*fault, self.seed);
                self.note(&format!("fault let in: {fault}"));
                Some(Happened::Injected(*fault))
            }
            Order::Arm(armed) => {
                self.armed.push(Arc::clone(armed));
                Some(Happened::Armed(armed.fault))
            }
            Order::Disarm(index) => {
                if *index < self.armed.len() {
                    self.armed.remove(*index);
                }
                None
            }
            Order::Clear(index) => {
                let mut active = world.active_faults();
                let (_, fault) = active.find(|(number, _)| number == index)?;
                let fault = *fault;
                drop(active);
                world.clear(*index);
                self.note(&format!("fault ended: {fault}"));
                Some(Happened::Cleared(fault))
            }
            Order::ClearAll => {
                world.active_faults().next()?;
                world.heal();
                self.note("every active fault ended");
                Some(Happened::ClearedAll)
            }
        }
    }

    /// Notes something for the debrief, if a lesson is flown.
    fn note(&mut self, what: &str) {
        if let Some(progress) = &mut self.progress {
            progress.note(what);
        }
    }

    /// An item of the tape, for `tick`.
    pub(super) fn item(&self, tick: u64, happened: Happened) -> Item {
        Item {
            tick,
            phase: words::phase(self.frame()),
            happened,
        }
    }
}
