//! The columns of a trace: one description for writing and for reading.
//!
//! A [`Visitor`] is led over every number of a value, always in the same order. Writing,
//! it keeps what it is shown; reading, it gives back what was kept; a third only takes
//! down the names. Nothing has to be written twice, and nothing can drift apart.

mod answer;
mod inputs;
mod truth;

use enumset::{EnumSet, EnumSetType};
use mastwright_core::Inputs;
use mastwright_core::outputs::{Event, Outputs};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use super::named::Named;
use crate::controls::{Controls, Push};
use crate::frame::Frame;
use crate::plant::truth::Truth;

pub(super) use answer::{answer, event};

/// Is led over the numbers of a value. What it returns takes the value's place, if it
/// gives any.
pub(super) trait Visitor {
    /// It gives back what was kept. One that does not leaves what it is led over alone,
    /// which spares the work, and the memory it lies in.
    const GIVES: bool;

    /// A number. `name` is unique in its table.
    fn number(&mut self, name: &'static str, value: i32) -> i32;

    /// A variant of an enumeration.
    fn choice<T: Named>(&mut self, name: &'static str, value: T) -> T;

    /// A set of variants: the low and the high half of its bits.
    fn set<T: Named + EnumSetType>(
        &mut self,
        names: [&'static str; 2],
        value: EnumSet<T>,
    ) -> EnumSet<T>;

    /// `number` stands for no `what` that this build knows.
    fn unknown(&mut self, _what: &'static str, _number: i32) {}
}

/// What a row of the first table has besides the frame, whose outputs stand in the second.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Links {
    /// Fingerprint of the controller's state after the tick.
    pub(super) state: u32,
    /// Which row of the second table the controller answered.
    pub(super) answer: u32,
}

/// What is led over of a tick: all but its number and its outputs.
#[derive(Debug)]
pub(super) struct Row<'a> {
    pub(super) powered: &'a mut bool,
    pub(super) heat_warning: &'a mut bool,
    pub(super) controls: &'a mut Controls,
    pub(super) inputs: &'a mut Inputs,
    pub(super) truth: &'a mut Truth,
}

impl<'a> Row<'a> {
    /// That of a frame.
    pub(super) const fn of(frame: &'a mut Frame) -> Self {
        Self {
            powered: &mut frame.powered,
            heat_warning: &mut frame.heat_warning,
            controls: &mut frame.controls,
            inputs: &mut frame.inputs,
            truth: &mut frame.truth,
        }
    }
}

/// Leads over a row of the first table.
#[inline]
pub(super) fn row<V: Visitor>(to: &mut V, mut row: Row<'_>, links: &mut Links) {
    told(to, &mut row, links);
    truth::truth(to, row.truth);
}

/// Leads over the first columns of that row: all but the truth, which the controller
/// was not told.
#[inline]
pub(super) fn told<V: Visitor>(to: &mut V, row: &mut Row<'_>, links: &mut Links) {
    flag(to, "powered", row.powered);
    flag(to, "heat warning", row.heat_warning);
    hands(to, row.controls);
    inputs::inputs(to, row.inputs);
    links.state = to
        .number("state", links.state.cast_signed())
        .cast_unsigned();
    links.answer = to
        .number("answer", links.answer.cast_signed())
        .cast_unsigned();
}

#[inline]
fn hands<V: Visitor>(to: &mut V, controls: &mut Controls) {
    scaled(to, "hands.throttle", 1.0e6, &mut controls.throttle);
    let selector = to.choice::<Push>("hands.selector", controls.selector);
    if V::GIVES {
        controls.selector = selector;
    }
    flag(to, "hands.stop", &mut controls.stop);
    flag(to, "hands.bench key", &mut controls.bench_key);
    flag(to, "hands.acknowledge", &mut controls.acknowledge);
    flag(to, "hands.heat test", &mut controls.heat_test);
    flag(to, "hands.aux charge", &mut controls.aux_charge);
}

/// A flag: 0 or 1.
#[inline]
fn flag<V: Visitor>(to: &mut V, name: &'static str, value: &mut bool) {
    let number = to.number(name, i32::from(*value));
    if V::GIVES {
        *value = number != 0;
    }
}

/// A physical quantity, kept in steps of 1/`scale` of its unit.
#[inline]
fn scaled<V: Visitor>(to: &mut V, name: &'static str, scale: f64, value: &mut f64) {
    let steps = *value * scale;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "what is out of range is kept as the nearest number, and no number as 0"
    )]
    let rounded = (steps + 0.5_f64.copysign(steps)) as i32;
    let number = to.number(name, rounded);
    if V::GIVES {
        *value = f64::from(number) / scale;
    }
}

/// What a signal can carry.
trait Raw: Copy + Default {
    fn number(self) -> i32;
    fn of(number: i32) -> Self;
}

impl Raw for bool {
    #[inline]
    fn number(self) -> i32 {
        i32::from(self)
    }

    #[inline]
    fn of(number: i32) -> Self {
        number != 0
    }
}

macro_rules! raw {
    ($($unit:ident($number:ty)),+ $(,)?) => {$(
        impl Raw for $unit {
            #[inline]
            fn number(self) -> i32 {
                i32::from(self.get())
            }

            #[inline]
            fn of(number: i32) -> Self {
                // What was written was of the type; of a foreign number the low bits.
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    clippy::unnecessary_cast
                )]
                Self::new(number as $number)
            }
        }
    )+};
}

raw!(
    CentiDegrees(i32),
    DeciCelsius(i16),
    DeciMetresPerSecond(i16),
    KiloOhms(u16),
    Milliamps(i32),
    Millivolts(i32),
    Permille(i16),
    Rpm(i16),
);

/// Age that stands for a reading declared unsound.
const UNSOUND: i32 = 255;

/// A reading and its age in ticks.
#[inline]
fn signal<T: Raw, V: Visitor>(to: &mut V, names: [&'static str; 2], signal: &mut Signal<T>) {
    let value = to.number(names[0], signal.raw().number());
    let age = if signal.is_valid() {
        i32::from(signal.age().ticks())
    } else {
        UNSOUND
    };
    let age = to.number(names[1], age);
    if !V::GIVES {
        return;
    }
    let value = T::of(value);
    *signal = match u8::try_from(age) {
        Ok(age) if i32::from(age) != UNSOUND => Signal::aged(value, Age::new(age)),
        Ok(_) | Err(_) => Signal::fresh(value).invalidated(),
    };
}

/// Takes down the names of the columns.
#[derive(Debug, Default)]
struct Names(Vec<String>);

impl Visitor for Names {
    const GIVES: bool = false;

    fn number(&mut self, name: &'static str, value: i32) -> i32 {
        self.0.push(name.to_owned());
        value
    }

    fn choice<T: Named>(&mut self, name: &'static str, value: T) -> T {
        self.0.push(format!("{name}: {}", T::LIST));
        value
    }

    fn set<T: Named + EnumSetType>(
        &mut self,
        names: [&'static str; 2],
        value: EnumSet<T>,
    ) -> EnumSet<T> {
        self.0
            .extend(names.map(|name| format!("{name}: set of {}", T::LIST)));
        value
    }
}

/// The names of the columns of each table, in the order in which they are led over.
/// A variant's column names its list, a set's too.
pub(super) fn tables() -> [Vec<String>; TABLES] {
    let mut names: [Names; TABLES] = Default::default();
    row(
        &mut names[TICKS],
        Row::of(&mut Frame::default()),
        &mut Links::default(),
    );
    answer(&mut names[ANSWERS], &mut Outputs::default());
    event(&mut names[EVENTS], 0, Event::Acknowledged);
    mark(&mut names[MARKS], [0; 3]);
    names.map(|names| names.0)
}

/// Leads over a mark: its tick in the block, its kind and its number.
pub(super) fn mark<V: Visitor>(to: &mut V, mark: [i32; 3]) -> [i32; 3] {
    [
        to.number("tick", mark[0]),
        to.number("kind", mark[1]),
        to.number("number", mark[2]),
    ]
}

/// How many tables a block has.
pub(super) const TABLES: usize = 4;
/// The table of ticks.
pub(super) const TICKS: usize = 0;
/// The table of what the controller answered: a row for every answer that differs from
/// the one before.
pub(super) const ANSWERS: usize = 1;
/// The table of the events of answers.
pub(super) const EVENTS: usize = 2;
/// The table of what began and ended in the world.
pub(super) const MARKS: usize = 3;
