//! The smallest change of readings that would have made it otherwise.
//!
//! The controller is put back some ticks before, told the recorded readings with one or
//! two of them set to something else all the while, and asked what it answers in the tick
//! in question. One reading comes before two, a short while before a long one: a proof
//! that takes time cannot be given in the last tick. The world does not answer back: what
//! the plant would have done is not asked.

use mastwright_core::signal::Age;
use mastwright_core::{Config, Sequencer};
use rayon::prelude::*;
use serde::Serialize;

use super::Otherwise;
use super::knob::{Doubt, Knob, between, knobs};
use super::question::Found;
use super::story::Story;
use crate::frame::TICK;
use crate::trace::{Mark, Tick};
use crate::world::Unit;

/// For how many ticks readings are set otherwise.
pub(super) const WINDOWS: [usize; 5] = [1, 10, 50, 200, 1000];
/// The longest while: 10 s.
pub(super) const LONGEST: usize = 1000;
/// The longest while for which two readings are set: 2 s.
const LONGEST_OF_PAIRS: usize = 200;
/// Changes of one size that are told.
const TOLD: usize = 6;

/// A change of readings that would have made it otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// The readings that are set, all of them.
    pub set: Vec<Setting>,
    /// For how long up to the tick in question, s.
    pub lasting: f64,
}

/// One reading set to something else.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Setting {
    /// The reading, by its name in an export.
    pub signal: &'static str,
    /// What it read in the tick in question.
    pub was: String,
    /// What it is set to, sound and new in every tick.
    pub to: String,
    /// A value nearer to what it was does not do.
    pub is_nearest: bool,
}

impl Change {
    /// It in words.
    #[must_use]
    pub fn words(&self) -> String {
        let settings: Vec<String> = self.set.iter().map(Setting::words).collect();
        let lasting = if self.lasting > TICK {
            format!("for the {:.2} s up to then", self.lasting)
        } else {
            "in that tick".to_owned()
        };
        format!("{}, {lasting}", settings.join(" and "))
    }
}

impl Setting {
    fn words(&self) -> String {
        let nearest = if self.is_nearest {
            " (no nearer value does)"
        } else {
            ""
        };
        format!(
            "{} read {}{nearest} in place of {}",
            self.signal, self.to, self.was
        )
    }
}

/// A knob, by number, and a value.
type Set = (usize, i32);

impl Otherwise {
    /// What was found, in a sentence that the changes follow.
    #[must_use]
    pub fn headline(&self) -> String {
        let goal = &self.goal;
        match &self.not_asked {
            Some(why) => format!("No change of readings: {why}."),
            None if self.held => format!("Nothing had to change for {goal}."),
            None if self.changes.is_empty() => format!(
                "No change of one reading, held for up to 10 s, or of two, held for up to 2 s, \
                 would have done for {goal}."
            ),
            None => format!("For {goal}, it was enough that:"),
        }
    }

    /// What is to be known about how it was found.
    #[must_use]
    pub fn footnotes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.asked > 0 {
            notes.push(format!(
                "The controller was asked about {} changes of what it was told. What the \
                 aircraft would have done then is not asked.",
                self.asked
            ));
        }
        if self.other_controller {
            notes.push(
                "CAUTION: the controller of this build answers that tick otherwise than the \
                 one recorded; what it would have done proves nothing about that one."
                    .to_owned(),
            );
        }
        notes
    }
}

/// Looks for what would have made it otherwise.
pub(super) fn otherwise(found: &Found, story: &Story, config: &Config) -> Otherwise {
    let frame = &story.tick().frame;
    let mut otherwise = Otherwise {
        goal: found.goal.words(),
        held: frame.powered && found.goal.met(&frame.outputs),
        changes: Vec::new(),
        more: 0,
        asked: 0,
        not_asked: None,
        other_controller: !story.as_recorded && !story.gap,
    };
    if !frame.powered {
        let why = "without its supply the controller reads nothing";
        otherwise.not_asked = Some(why.to_owned());
    }
    if story.gap {
        let why = "ticks before it are lost, and with them the controller's state";
        otherwise.not_asked = Some(why.to_owned());
    }
    if otherwise.held || otherwise.not_asked.is_some() {
        return otherwise;
    }
    let bench = Bench::new(found, story, config);
    let singles: Vec<Vec<Set>> = bench.singles().into_iter().map(|set| vec![set]).collect();
    for window in WINDOWS {
        if bench.look(&singles, window, &mut otherwise) {
            return otherwise;
        }
    }
    let pairs = bench.pairs();
    for window in WINDOWS
        .into_iter()
        .filter(|window| *window <= LONGEST_OF_PAIRS)
    {
        if bench.look(&pairs, window, &mut otherwise) {
            return otherwise;
        }
    }
    otherwise
}

/// A controller that can be asked again and again.
struct Bench<'a> {
    found: &'a Found,
    story: &'a Story,
    knobs: Vec<Knob>,
}

impl<'a> Bench<'a> {
    fn new(found: &'a Found, story: &'a Story, config: &Config) -> Self {
        Self {
            found,
            story,
            knobs: knobs(config, &story.tick().frame.inputs),
        }
    }

    fn singles(&self) -> Vec<Set> {
        let inputs = &self.story.tick().frame.inputs;
        let tries = |(index, knob): (usize, &Knob)| {
            let values = knob.tries(inputs).into_iter();
            values.map(move |value| (index, value)).collect::<Vec<_>>()
        };
        self.knobs.iter().enumerate().flat_map(tries).collect()
    }

    fn pairs(&self) -> Vec<Vec<Set>> {
        let singles = self.singles();
        let mut pairs = Vec::new();
        for (number, one) in singles.iter().enumerate() {
            let others = singles[number + 1..]
                .iter()
                .filter(|other| other.0 != one.0);
            pairs.extend(others.map(|other| vec![*one, *other]));
        }
        pairs
    }

    /// Asks about every one of `sets`; true when some of them do.
    fn look(&self, sets: &[Vec<Set>], window: usize, otherwise: &mut Otherwise) -> bool {
        let Some(unit) = self.story.units.get(&window) else {
            // The flight is not that long.
            return false;
        };
        otherwise.asked += sets.len() as u64;
        let does: Vec<&Vec<Set>> = sets
            .par_iter()
            .filter(|set| self.asked(unit, window, set))
            .collect();
        let does = self.unlike(does);
        otherwise.more = does.len().saturating_sub(TOLD);
        otherwise.changes = does
            .iter()
            .take(TOLD)
            .map(|set| self.change(unit, window, set))
            .collect();
        !does.is_empty()
    }

    /// Those that are told apart: of the values of one reading to the same side of what it
    /// read, which all lead to the same nearest one, only the nearest.
    fn unlike<'s>(&self, does: Vec<&'s Vec<Set>>) -> Vec<&'s Vec<Set>> {
        let mut kept: Vec<&Vec<Set>> = Vec::new();
        for set in does {
            let one_side = self.one_side(set);
            let same = kept
                .iter_mut()
                .find(|other| one_side.is_some() && self.one_side(other) == one_side);
            match (same, one_side) {
                (Some(same), Some((knob, _))) => {
                    let (was, _) = self.knobs[knob].read(&self.story.tick().frame.inputs);
                    if set[0].1.abs_diff(was) < same[0].1.abs_diff(was) {
                        *same = set;
                    }
                }
                (Some(_) | None, _) => kept.push(set),
            }
        }
        kept
    }

    /// Of a single reading with a scale that can be compared with what was read: which,
    /// and whether it is set to more.
    fn one_side(&self, set: &[Set]) -> Option<(usize, bool)> {
        let [(index, value)] = set else { return None };
        let knob = &self.knobs[*index];
        let (was, doubt) = knob.read(&self.story.tick().frame.inputs);
        (doubt == Doubt::None && knob.is_scale).then_some((*index, *value > was))
    }

    /// Whether the controller, told so, would have done it.
    fn asked(&self, unit: &Unit<Sequencer>, window: usize, set: &[Set]) -> bool {
        let mut unit = unit.clone();
        let ticks = &self.story.ticks;
        let mut met = false;
        for tick in ticks.range(ticks.len().saturating_sub(window)..) {
            if !tick.frame.powered {
                unit.rest();
                met = false;
                continue;
            }
            let mut inputs = tick.frame.inputs;
            for (knob, value) in set {
                self.knobs[*knob].set(&mut inputs, *value);
            }
            met = self.found.goal.met(&unit.answer(&inputs, &flips(tick)));
        }
        met
    }

    #[expect(clippy::cast_precision_loss, reason = "a window is short")]
    fn change(&self, unit: &Unit<Sequencer>, window: usize, set: &[Set]) -> Change {
        let settings = set.iter().map(|(index, value)| {
            let knob = &self.knobs[*index];
            let (was, _) = knob.read(&self.story.tick().frame.inputs);
            let nearest = self
                .one_side(set)
                .map(|_| self.nearest(unit, window, *index, was, *value));
            Setting {
                signal: knob.name,
                was: self.was(knob),
                to: knob.words(nearest.unwrap_or(*value)),
                is_nearest: nearest.is_some(),
            }
        });
        Change {
            set: settings.collect(),
            lasting: window as f64 * TICK,
        }
    }

    /// What a knob read in the tick in question.
    fn was(&self, knob: &Knob) -> String {
        let (value, doubt) = knob.read(&self.story.tick().frame.inputs);
        let words = knob.words(value);
        match doubt {
            Doubt::None => words,
            Doubt::Aged(ticks) if ticks == Age::OLDEST.ticks() => {
                format!("{words}, over 2540 ms old")
            }
            Doubt::Aged(ticks) => format!("{words}, {} ms old", u32::from(ticks) * 10),
            Doubt::Unsound => format!("{words}, declared unsound"),
        }
    }

    /// The value that does and is nearest to `was`, where values beyond it do too.
    fn nearest(
        &self,
        unit: &Unit<Sequencer>,
        window: usize,
        knob: usize,
        was: i32,
        does: i32,
    ) -> i32 {
        let (mut fails, mut does) = (was, does);
        while let Some(rest) = between(fails, does) {
            let middle = i32::midpoint(*rest.start(), *rest.end());
            if self.asked(unit, window, &[(knob, middle)]) {
                does = middle;
            } else {
                fails = middle;
            }
        }
        does
    }
}

fn flips(tick: &Tick) -> Vec<u32> {
    let flips = tick.marks.iter().filter_map(|mark| match mark {
        Mark::BitFlipped(bit) => Some(*bit),
        Mark::ActionBegan(_) | Mark::FaultBegan(_) | Mark::FaultEnded(_) => None,
    });
    flips.collect()
}
