//! The demonstration: the flight plays itself, stands still while a caption is read, and
//! ends in the debrief.

use std::time::Duration;

use super::App;
use crate::cockpit::timeline::{Happened, Item};
use crate::frame::Frame;
use crate::lesson::Lesson;
use crate::lesson::captions::Captions;
use crate::report::timeline::Kind;
use crate::scenario::Scenario;

/// Time to read a word: two and a half a second, slow enough for reading beside looking
/// (common practice, no source).
const WORD: Duration = Duration::from_millis(400);

/// A demonstration under way.
#[derive(Clone, Debug, Default)]
pub(super) struct Demo {
    /// The captions of a lesson; without them what happens is told as it comes.
    captions: Option<Captions>,
    caption: Option<String>,
    /// Until the caption has been read.
    left: Duration,
    /// The caption for which the flight stands still.
    next: Option<String>,
}

impl Demo {
    /// The demonstration of `scenario`, in its own words if it has some.
    pub(super) fn of(scenario: &Scenario) -> Self {
        let lesson = Lesson::of(scenario.clone());
        let lesson = lesson.filter(|lesson| !lesson.section().captions.is_empty());
        Self {
            captions: lesson.as_ref().map(Captions::new),
            ..Self::default()
        }
    }

    /// The caption that comes in `frame`, given what else `happened` in it.
    fn comes<'a>(
        &mut self,
        frame: &Frame,
        happened: impl Iterator<Item = &'a Item>,
        scenario: &Scenario,
    ) -> Option<String> {
        let Some(captions) = &mut self.captions else {
            return caption(happened, scenario);
        };
        let comes = captions.observe(frame)?;
        let section = scenario.lesson.as_ref()?;
        let caption = section.captions.get(comes.index)?;
        Some(caption.say.clone())
    }

    /// What there is to read.
    pub(super) fn caption(&self) -> Option<&str> {
        self.caption.as_deref()
    }

    fn show(&mut self, caption: String) {
        let words = u32::try_from(caption.split_whitespace().count()).unwrap_or(u32::MAX);
        self.left = WORD.saturating_mul(words.saturating_add(2));
        self.caption = Some(caption);
    }

    /// Time passes for the reader; true when the flight may go on.
    fn read(&mut self, passed: Duration) -> bool {
        self.left = self.left.saturating_sub(passed);
        if !self.left.is_zero() {
            return self.next.is_none();
        }
        if let Some(next) = self.next.take() {
            self.show(next);
        }
        true
    }

    /// Takes a caption; false when the flight must stand still for it.
    fn offer(&mut self, caption: String) -> bool {
        if self.left.is_zero() {
            self.show(caption);
            return true;
        }
        self.next = Some(caption);
        false
    }
}

impl App {
    /// Plays the demonstration for `passed` on the clock.
    pub(super) fn play(&mut self, passed: Duration) {
        let Some(demo) = &mut self.demo else {
            return;
        };
        if !self.desk.is_running() {
            return;
        }
        self.changed = true;
        let due = self.desk.due(passed);
        if !demo.read(passed) {
            return;
        }
        for _ in 0..due {
            if self.desk.timeline().now() >= self.desk.last_tick() {
                if demo.left.is_zero() {
                    self.demo = None;
                    self.debrief();
                }
                return;
            }
            self.desk.step();
            let now = self.desk.timeline().now();
            let new = self.desk.timeline().tape().at(now);
            if let Some(caption) = demo.comes(self.desk.frame(), new, self.desk.scenario())
                && !demo.offer(caption)
            {
                return;
            }
        }
    }
}

/// The caption of what happened in one tick: what the pilot does, what fails, and what the
/// controller goes on to.
fn caption<'a>(items: impl Iterator<Item = &'a Item>, scenario: &Scenario) -> Option<String> {
    let told = |item: &&'a Item| match &item.happened {
        Happened::Seen(what) => matches!(
            what.kind(),
            Kind::Pilot | Kind::Fault | Kind::Phase | Kind::Warning | Kind::Caution | Kind::Heat
        ),
        Happened::Did(_)
        | Happened::Injected(_)
        | Happened::Armed(_)
        | Happened::Cleared(_)
        | Happened::ClearedAll => false,
    };
    let words = |item: &'a Item| {
        let entry = item.entry(scenario);
        let who = match entry.kind {
            Kind::Pilot => "The pilot: ",
            Kind::Fault => "It fails: ",
            Kind::Warning => "Warning: ",
            Kind::Caution => "Caution: ",
            Kind::Supply
            | Kind::Asked
            | Kind::Phase
            | Kind::Bus
            | Kind::Drive
            | Kind::Denied
            | Kind::Advisory
            | Kind::Crew
            | Kind::Heat
            | Kind::Target => "",
        };
        format!("{who}{}", entry.text)
    };
    let all: Vec<String> = items.filter(told).map(words).collect();
    (!all.is_empty()).then(|| all.join(". "))
}
