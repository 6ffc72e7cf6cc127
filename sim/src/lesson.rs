//! Lessons: a scenario that a trainee flies, what is expected of the hands, and what is
//! to be said of it afterwards.
//!
//! Responsibilities:
//! 1. Read the `[lesson]` section of a scenario file (`file`, into a `section`).
//! 2. Follow a flight tick by tick and tell which cue is up, what was done and what is
//!    overdue (`progress`, over `gesture` and `hands`).
//! 3. Time the words of the demonstration (`captions`).
//! 4. Say afterwards what was done when, what was right and why, and what it came to
//!    (`debrief`): as text, as JSON and as a page to print.
//!
//! Whose hands fly makes the flight: in the *demonstration* the script's own; when a
//! *trainee* flies, the script's hands are left out, and faults and surroundings stay.
//!
//! A lesson recognises what the hands do, never what the script ordered, and judges by
//! frames alone: the same frames give the same debrief, live or after a rewind.
//!
//! The format is described in `docs/lesson-format.md`.

pub mod captions;
pub mod debrief;
pub(crate) mod file;
pub mod gesture;
pub mod hands;
pub mod progress;
pub mod section;
mod shipped;

pub use shipped::{find, shipped};

use std::sync::Arc;

use crate::scenario::Scenario;
use section::Section;

/// Whose hands are at the controls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// Those of the lesson's own script.
    Demonstration,
    /// Those of somebody at the controls.
    Trainee,
}

/// A lesson, ready to be flown. Copies share its contents.
#[derive(Clone, Debug, PartialEq)]
pub struct Lesson {
    scenario: Arc<Scenario>,
    section: Arc<Section>,
}

impl Lesson {
    /// The lesson in a scenario; none if it has no `[lesson]` section.
    #[must_use]
    pub fn of(scenario: Scenario) -> Option<Self> {
        let section = Arc::new(scenario.lesson.clone()?);
        Some(Self {
            scenario: Arc::new(scenario),
            section,
        })
    }

    /// Its name: that of its file, without the ending.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.scenario.name
    }

    /// Its title, one line.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.scenario.title
    }

    /// What it teaches and watches for.
    #[must_use]
    pub fn section(&self) -> &Section {
        &self.section
    }

    /// The scenario to fly. Without the script's hands its actions are those of the
    /// surroundings alone; nothing else is different.
    #[must_use]
    pub fn scenario(&self, hands: Whose) -> Scenario {
        let mut scenario = Scenario::clone(&self.scenario);
        match hands {
            Whose::Demonstration => {}
            Whose::Trainee => scenario.actions.retain(|action| !action.deed.is_by_hand()),
        }
        scenario
    }
}
