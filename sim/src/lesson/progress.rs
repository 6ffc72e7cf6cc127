//! A lesson being flown: which cue is up, what the hands did about it, what is overdue.
//!
//! Rules:
//! 1. A *cue* comes once, at its time or in the tick in which its moment comes.
//! 2. A *task* is called for by its cue. It is *made* in the first tick from the cue on
//!    in which the hands stand as it asks and have done so for as long as it asks; what
//!    counts is when they came to stand so. Before the cue: early. Within its time: in
//!    time. After that: late. Never: missed, once the time is over.
//! 3. A push or press that was over before its cue came is early too, if no task before
//!    it in the lesson is still open; doing it again after the cue mends that.
//! 4. A thing *to avoid* is a slip each time the hands come to do it, from its cue on.
//!
//! Everything follows from frames. A copy goes on exactly as the original does.

use std::sync::Arc;

use super::Lesson;
use super::gesture::Held;
use super::hands::Hands;
use super::section::Section;
use crate::controls::Controls;
use crate::flight::Begun;
use crate::frame::Frame;
use crate::scenario::expect::Watch;
use crate::scenario::moment::Moment;
use crate::scenario::script::Marks;
use crate::scenario::{Cue as Begin, Start};

/// The tick of a frame; a lesson is far shorter than 2^32 ticks.
pub(super) fn tick_of(frame: &Frame) -> u32 {
    u32::try_from(frame.tick).unwrap_or(u32::MAX)
}

/// Beginnings that wait for their time or moment.
#[derive(Clone, Debug)]
pub(super) struct Waits(Vec<Wait>);

#[derive(Clone, Debug)]
enum Wait {
    Moment { moment: Moment, delay: u32 },
    Until(u32),
    Came(u32),
}

fn short(ticks: u64) -> u32 {
    u32::try_from(ticks).unwrap_or(u32::MAX)
}

impl Waits {
    pub(super) fn new<'a>(begins: impl Iterator<Item = &'a Begin>) -> Self {
        let waits = begins.map(|begin| match &begin.start {
            Start::At(tick) => Wait::Until(short(tick + begin.delay)),
            Start::When(moment) => Wait::Moment {
                moment: moment.clone(),
                delay: short(begin.delay),
            },
        });
        Self(waits.collect())
    }

    pub(super) fn feed(&mut self, frame: &Frame, tick: u32) {
        for wait in &mut self.0 {
            if let Wait::Moment { moment, delay } = wait
                && moment.feed(frame, Marks::default())
            {
                *wait = Wait::Until(tick.saturating_add(*delay));
            }
            if let Wait::Until(due) = *wait
                && due <= tick
            {
                *wait = Wait::Came(tick);
            }
        }
    }

    /// The tick in which it came.
    pub(super) fn came(&self, index: usize) -> Option<u32> {
        match self.0.get(index)? {
            Wait::Came(tick) => Some(*tick),
            Wait::Moment { .. } | Wait::Until(_) => None,
        }
    }
}

/// What became of a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Its cue has not come, and the hands have not anticipated it.
    NotCalledFor,
    /// It is called for, and there is time left.
    Open,
    /// Done before its cue; the tick in which the hands came to stand so.
    Early(u32),
    /// Done in its time; likewise.
    InTime(u32),
    /// Done after its time; likewise.
    Late(u32),
    /// Its time is over, and it is not done.
    Missed,
}

#[derive(Clone, Debug)]
struct Watched {
    held: Held,
    /// The hands came to stand so in this tick, and so it was made.
    made: Option<u32>,
    /// A push that was over before its cue came began in this tick.
    anticipated: Option<u32>,
    /// Its hint came up in this tick.
    hinted: Option<u32>,
}

/// A thing to avoid that was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slip {
    /// Which, by its index in the lesson.
    pub index: usize,
    /// The tick in which the hands first came to do it.
    pub first: u32,
    /// How often.
    pub times: u32,
}

#[derive(Clone, Debug)]
struct Watchful {
    held: Held,
    slip: Option<Slip>,
}

/// A lesson being flown. It is fed every frame and may be copied at any.
#[derive(Clone, Debug)]
pub struct Progress {
    lesson: Lesson,
    tick: u32,
    cues: Waits,
    tasks: Vec<Watched>,
    avoid: Vec<Watchful>,
    hands: Hands,
    faults: Vec<(u32, usize)>,
    watch: Watch,
}

impl Progress {
    /// `lesson` before its first tick.
    #[must_use]
    pub fn new(lesson: &Lesson) -> Self {
        let section = lesson.section();
        let watched = |held| Watched {
            held,
            made: None,
            anticipated: None,
            hinted: None,
        };
        let watchful = |held| Watchful { held, slip: None };
        Self {
            lesson: lesson.clone(),
            tick: 0,
            cues: Waits::new(section.cues.iter().map(|cue| &cue.begin)),
            tasks: section
                .tasks
                .iter()
                .map(|task| watched(Held::new(task.gesture)))
                .collect(),
            avoid: section
                .avoid
                .iter()
                .map(|avoid| watchful(Held::new(avoid.gesture)))
                .collect(),
            hands: Hands::default(),
            faults: Vec::new(),
            watch: Watch::new(&lesson.scenario.expect),
        }
    }

    /// Sees one frame, and what the scenario began in it.
    pub fn observe(&mut self, frame: &Frame, begun: Begun) {
        let tick = tick_of(frame);
        self.tick = tick;
        let section = Arc::clone(&self.lesson.section);
        self.watch.see(frame);
        self.hands.see(&frame.controls, tick);
        self.faults
            .extend(begun.faults.iter().map(|index| (tick, index)));
        self.cues.feed(frame, tick);
        self.see_tasks(&section, frame);
        self.see_slips(&section, frame);
        self.give_hints(&section);
    }

    fn see_tasks(&mut self, section: &Section, frame: &Frame) {
        // Rule 3: the first task whose cue is still to come, when none before it is open.
        let mut next = true;
        for index in 0..self.tasks.len() {
            let task = &section.tasks[index];
            let called = self.cues.came(task.cue);
            let watched = &mut self.tasks[index];
            let made = watched.held.feed(&frame.controls, self.tick);
            match (called, made) {
                (Some(_), Some(made)) => {
                    watched.made = watched.made.or(Some(made.began));
                }
                (None, Some(made)) if next && made.fresh && !task.gesture.stays() => {
                    watched.anticipated = Some(made.began);
                }
                (Some(_) | None, None) | (None, Some(_)) => {}
            }
            next = match (self.outcome(index), called) {
                (Outcome::NotCalledFor | Outcome::Open, _) | (Outcome::Early(_), None) => false,
                (
                    Outcome::Early(_) | Outcome::InTime(_) | Outcome::Late(_) | Outcome::Missed,
                    _,
                ) => next,
            };
        }
    }

    fn see_slips(&mut self, section: &Section, frame: &Frame) {
        for (index, watchful) in self.avoid.iter_mut().enumerate() {
            let avoid = &section.avoid[index];
            let made = watchful.held.feed(&frame.controls, self.tick);
            let began = avoid.from.is_none_or(|cue| self.cues.came(cue).is_some());
            let ended = avoid.until.is_some_and(|cue| self.cues.came(cue).is_some());
            // A lever or switch that stands so from the beginning was not moved.
            let at_rest = self.tick == 0 && avoid.gesture.is_made(&Controls::default());
            if let Some(made) = made
                && made.fresh
                && began
                && !ended
                && !at_rest
            {
                let slip = watchful.slip.get_or_insert(Slip {
                    index,
                    first: made.began,
                    times: 0,
                });
                slip.times += 1;
            }
        }
    }

    fn give_hints(&mut self, section: &Section) {
        for (index, task) in section.tasks.iter().enumerate() {
            if let (Some(hint), Some(called)) = (&task.hint, self.cues.came(task.cue))
                && self.tick - called >= hint.after
                && self.tasks[index].made.is_none()
                && self.tasks[index].hinted.is_none()
            {
                self.tasks[index].hinted = Some(self.tick);
            }
        }
    }

    /// The lesson that is flown.
    #[must_use]
    pub const fn lesson(&self) -> &Lesson {
        &self.lesson
    }

    /// The tick last seen.
    #[must_use]
    pub const fn tick(&self) -> u32 {
        self.tick
    }

    /// The latest cue, by its index in the lesson, and the tick in which it came.
    #[must_use]
    pub fn cue(&self) -> Option<(usize, u32)> {
        let came = (0..self.lesson.section.cues.len())
            .filter_map(|index| self.cues.came(index).map(|tick| (index, tick)));
        came.max_by_key(|(_, tick)| *tick)
    }

    /// The tick in which a cue came.
    #[must_use]
    pub fn came(&self, cue: usize) -> Option<u32> {
        self.cues.came(cue)
    }

    /// The hint that is up: that of the first task that is called for and not made.
    #[must_use]
    pub fn hint(&self) -> Option<&str> {
        let tasks = self.lesson.section.tasks.iter().enumerate();
        tasks
            .filter(|(index, _)| self.tasks[*index].made.is_none())
            .find(|(index, _)| self.tasks[*index].hinted.is_some())
            .and_then(|(_, task)| task.hint.as_ref())
            .map(|hint| hint.say.as_str())
    }

    /// The tick in which the hint of a task came up.
    #[must_use]
    pub fn hinted(&self, task: usize) -> Option<u32> {
        self.tasks.get(task)?.hinted
    }

    /// What has become of a task up to now, by its index in the lesson.
    ///
    /// # Panics
    /// When the lesson has no such task.
    #[must_use]
    pub fn outcome(&self, index: usize) -> Outcome {
        let task = &self.lesson.section.tasks[index];
        let watched = &self.tasks[index];
        let early = watched.anticipated.map(Outcome::Early);
        let Some(called) = self.cues.came(task.cue) else {
            return early.unwrap_or(Outcome::NotCalledFor);
        };
        let due = called.saturating_add(task.within);
        match watched.made {
            Some(began) if began < called => Outcome::Early(began),
            Some(began) if began <= due => Outcome::InTime(began),
            Some(began) => Outcome::Late(began),
            None if early.is_some() => early.unwrap_or(Outcome::Missed),
            None if self.tick <= due => Outcome::Open,
            None => Outcome::Missed,
        }
    }

    /// What has become of every task up to now.
    pub fn outcomes(&self) -> impl Iterator<Item = Outcome> {
        (0..self.tasks.len()).map(|index| self.outcome(index))
    }

    /// Everything to avoid that was done, in the order of the lesson.
    pub fn slips(&self) -> impl Iterator<Item = Slip> {
        self.avoid.iter().filter_map(|avoid| avoid.slip)
    }

    /// What the hands did.
    #[must_use]
    pub const fn hands(&self) -> &Hands {
        &self.hands
    }

    /// The faults of the scenario that have begun: tick, and index in the scenario.
    #[must_use]
    pub fn faults(&self) -> &[(u32, usize)] {
        &self.faults
    }

    /// What the scenario expects, watched up to now.
    #[must_use]
    pub const fn watch(&self) -> &Watch {
        &self.watch
    }
}
