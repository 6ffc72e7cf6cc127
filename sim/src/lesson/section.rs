//! The `[lesson]` section of a scenario, checked.

use super::gesture::Gesture;
use crate::scenario::Cue as Begin;

/// What a lesson teaches and watches for, beside its scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// From 1, for a first day, to 5.
    pub level: u8,
    /// What the trainee is told before the flight. It does not give the fault away.
    pub briefing: String,
    /// What the trainee can do afterwards.
    pub objectives: Vec<String>,
    /// The safety requirements it is about, by id.
    pub requirements: Vec<String>,
    /// What the trainee sees or hears, and when.
    pub cues: Vec<Cue>,
    /// What the trainee must do.
    pub tasks: Vec<Task>,
    /// What the trainee must not do.
    pub avoid: Vec<Avoid>,
    /// What the demonstration says.
    pub captions: Vec<Caption>,
}

/// Something said to the trainee at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    /// Its name, by which tasks refer to it.
    pub name: String,
    /// When it comes.
    pub begin: Begin,
    /// What is said.
    pub say: String,
}

/// An action expected of the trainee.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// What hands must do.
    pub gesture: Gesture,
    /// The same, in the words of the lesson.
    pub words: String,
    /// What calls for it, by index.
    pub cue: usize,
    /// Ticks from the cue within which the hands must move.
    pub within: u32,
    /// The right action, as told in the debrief.
    pub right: String,
    /// Why it is right.
    pub why: String,
    /// Help for who hesitates.
    pub hint: Option<Hint>,
}

/// Help for who hesitates.
#[derive(Clone, Debug, PartialEq)]
pub struct Hint {
    /// Ticks after the cue.
    pub after: u32,
    /// What is said.
    pub say: String,
}

/// Something the hands must not do.
#[derive(Clone, Debug, PartialEq)]
pub struct Avoid {
    /// What.
    pub gesture: Gesture,
    /// The same, in the words of the lesson.
    pub words: String,
    /// From this cue on, by index; none: from the start.
    pub from: Option<usize>,
    /// Until this cue, by index; none: to the end.
    pub until: Option<usize>,
    /// Why not.
    pub why: String,
}

/// Something the demonstration says at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Caption {
    /// When it comes.
    pub begin: Begin,
    /// What is said.
    pub say: String,
    /// How long it takes to read, ticks.
    pub reading: u32,
}
