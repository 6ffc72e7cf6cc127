//! What the controller is known to answer: kept, so that it need not be asked again.
//!
//! The controller knows nothing of the plant but what it is told. So what one tick comes to
//! depends on its memory, on what its parts make of the readings, on the hands, and on the
//! timers that run out; and in thousands of nodes these are the same. Kept is what came of
//! the real controller's own step, never anything else.

use std::any::TypeId;
use std::rc::Rc;

use mastwright_core::inputs::Controls;
use mastwright_core::interlock::Conditions;
use mastwright_core::sequencer::Sense;
use mastwright_core::signal::Signal;
use mastwright_core::units::DeciMetresPerSecond;
use mastwright_core::walk::Timers;
use mastwright_core::{Config, Outputs, State};
use rustc_hash::FxHashMap;

use super::cases::Cases;
use super::memory::Memory;

/// How many answers a thread keeps at most, about twenty bytes each; then it begins anew.
const MOST: usize = 32_000_000;

/// A packed memory, with what the observer remembers of pushes: what both make of a step.
pub(super) type Of = u64;

/// What readings come to in one memory, as a number.
pub(super) type Class = u32;

/// What comes to the controller beside its readings, as a number.
pub(super) type Code = u32;

/// What the parts make of readings, the packed memory left, and the timers that run.
pub(super) type Meaning = (Sense, u128, Timers);

/// What one step came to.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    /// The state after it.
    pub(super) after: State,
    /// What it answered: drives, what is shown, and events.
    pub(super) outputs: Rc<Outputs>,
    /// Its memory then.
    pub(super) memory: Memory,
}

impl Answer {
    /// Leaves out what no check asks for, so that more answers are the same.
    pub(super) fn tell_less(&mut self) {
        let outputs = Rc::make_mut(&mut self.outputs);
        outputs.denials.clear();
        outputs.proven = Conditions::empty();
    }
}

/// What a control or the airspeed says that lies.
#[derive(Clone, Debug)]
pub(super) struct Lie {
    pub(super) controls: Controls,
    pub(super) airspeed: Signal<DeciMetresPerSecond>,
    /// What lies.
    pub(super) cases: Cases,
}

impl Lie {
    /// Both tracks of the throttle are heard.
    pub(super) const fn hears_throttle(&self) -> bool {
        self.controls.throttle_a.is_valid() && self.controls.throttle_b.is_valid()
    }
}

/// All that is known, of one controller with one set of limits.
#[derive(Default)]
pub(super) struct Answers {
    whose: Option<(TypeId, Config)>,
    classes: FxHashMap<(Of, Meaning), Class>,
    /// Of each class, by what comes besides and the timers that run out.
    answers: Vec<FxHashMap<(Code, u32), u32>>,
    /// Each once, and their numbers, by that of their outputs.
    kept: Vec<Answer>,
    numbers: FxHashMap<(u32, Memory, State), u32>,
    outputs: FxHashMap<Rc<Outputs>, u32>,
    lies: FxHashMap<(Of, Code), Rc<[Lie]>>,
    size: usize,
}

impl Answers {
    /// Forgets everything, unless it is of this controller, and not too much.
    pub(super) fn be_of(&mut self, controller: TypeId, config: &Config) {
        let is_his = self
            .whose
            .as_ref()
            .is_some_and(|(of, limits)| *of == controller && limits == config);
        if !is_his || self.size > MOST {
            *self = Self {
                whose: Some((controller, *config)),
                ..Self::default()
            };
        }
    }

    /// The number of what readings come to.
    pub(super) fn class(&mut self, of: Of, meaning: Meaning) -> Class {
        let next = self.answers.len() as Class;
        let class = *self.classes.entry((of, meaning)).or_insert(next);
        if class == next {
            self.answers.push(FxHashMap::default());
        }
        class
    }

    /// What is known to come of this, if anything is.
    pub(super) fn get(&self, class: Class, code: Code, ripe: Timers) -> Option<u32> {
        let of_class = self.answers.get(class as usize)?;
        of_class.get(&(code, ripe.as_u32())).copied()
    }

    /// The answer of a number that was told.
    pub(super) fn answer(&self, number: u32) -> &Answer {
        &self.kept[number as usize]
    }

    /// Keeps what came of this; its number.
    pub(super) fn keep(&mut self, class: Class, code: Code, ripe: Timers, came: Answer) -> u32 {
        let next = self.outputs.len() as u32;
        let outputs = *self.outputs.entry(Rc::clone(&came.outputs)).or_insert(next);
        let next = self.kept.len() as u32;
        let key = (outputs, came.memory, came.after);
        let number = *self.numbers.entry(key).or_insert(next);
        if number == next {
            self.kept.push(came);
        }
        if let Some(of_class) = self.answers.get_mut(class as usize) {
            of_class.insert((code, ripe.as_u32()), number);
            self.size += 1;
        }
        number
    }

    /// What may be told of these hands that is not so; `find` looks for it the first time.
    pub(super) fn lies(
        &mut self,
        of: Of,
        hands: Code,
        find: impl FnOnce() -> Vec<Lie>,
    ) -> Rc<[Lie]> {
        let lies = self.lies.entry((of, hands));
        Rc::clone(lies.or_insert_with(|| find().into()))
    }
}
