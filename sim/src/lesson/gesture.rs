//! Gestures: what hands must do, or must not, in the words of a lesson.

use crate::controls::{Controls, Push};
use crate::scenario::ticks;
use crate::scenario::words::{Misread, Sentence};

/// Something hands do. Durations are in ticks, at least 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gesture {
    /// The mast selector is pushed, and held for so long.
    Select(Push, u32),
    /// The throttle lever stands above this, 0 to 1.
    Above(f64),
    /// The throttle lever stands below this, 0 to 1.
    Below(f64),
    /// The guarded stop-and-stow switch is thrown (true) or released.
    Stop(bool),
    /// The acknowledge button is pressed, and held for so long.
    Acknowledge(u32),
    /// The bench key is turned on (true) or off.
    BenchKey(bool),
    /// The heat detector test is pressed, and held for so long.
    HeatTest(u32),
    /// The auxiliary charge is switched on (true) or off.
    AuxCharge(bool),
}

impl Gesture {
    /// Every gesture a lesson can name, for help and documents.
    pub const GRAMMAR: [&'static str; 8] = [
        "select deploy|stow [for N s]",
        "throttle above N %",
        "throttle below N %",
        "stop on|off",
        "acknowledge [for N s]",
        "bench key on|off",
        "heat test [for N s]",
        "aux charge on|off",
    ];

    /// Reads a gesture.
    ///
    /// # Errors
    /// Where the sentence stops making sense, and what was expected there.
    pub fn parse(text: &str) -> Result<Self, Misread> {
        let mut sentence = Sentence::new(text)?;
        let gesture = gesture(&mut sentence)?;
        sentence.finish("the end")?;
        Ok(gesture)
    }

    /// Whether the hands stand so.
    #[must_use]
    pub fn is_made(self, controls: &Controls) -> bool {
        match self {
            Self::Select(push, _) => controls.selector == push,
            Self::Above(share) => controls.throttle > share,
            Self::Below(share) => controls.throttle < share,
            Self::Stop(thrown) => controls.stop == thrown,
            Self::Acknowledge(_) => controls.acknowledge,
            Self::BenchKey(on) => controls.bench_key == on,
            Self::HeatTest(_) => controls.heat_test,
            Self::AuxCharge(on) => controls.aux_charge == on,
        }
    }

    /// For how long the hands must stand so, ticks.
    #[must_use]
    pub const fn lasting(self) -> u32 {
        match self {
            Self::Select(_, lasting) | Self::Acknowledge(lasting) | Self::HeatTest(lasting) => {
                lasting
            }
            Self::Above(_)
            | Self::Below(_)
            | Self::Stop(_)
            | Self::BenchKey(_)
            | Self::AuxCharge(_) => 1,
        }
    }

    /// Levers and switches stay where they are put; selector and buttons spring back.
    #[must_use]
    pub const fn stays(self) -> bool {
        match self {
            Self::Select(..) | Self::Acknowledge(_) | Self::HeatTest(_) => false,
            Self::Above(_)
            | Self::Below(_)
            | Self::Stop(_)
            | Self::BenchKey(_)
            | Self::AuxCharge(_) => true,
        }
    }
}

fn gesture(sentence: &mut Sentence<'_>) -> Result<Gesture, Misread> {
    if sentence.accept("select") {
        let push = sentence.name("`deploy` or `stow`", |word| match word {
            "deploy" => Some(Push::Deploy),
            "stow" => Some(Push::Stow),
            _ => None,
        })?;
        return Ok(Gesture::Select(push, held(sentence)?));
    }
    if sentence.accept("throttle above") {
        return Ok(Gesture::Above(sentence.measure("%", 0.0..99.0)? / 100.0));
    }
    if sentence.accept("throttle below") {
        return Ok(Gesture::Below(sentence.measure("%", 1.0..100.0)? / 100.0));
    }
    if sentence.accept("stop") {
        return Ok(Gesture::Stop(on(sentence)?));
    }
    if sentence.accept("acknowledge") {
        return Ok(Gesture::Acknowledge(held(sentence)?));
    }
    if sentence.accept("bench key") {
        return Ok(Gesture::BenchKey(on(sentence)?));
    }
    if sentence.accept("heat test") {
        return Ok(Gesture::HeatTest(held(sentence)?));
    }
    if sentence.accept("aux charge") {
        return Ok(Gesture::AuxCharge(on(sentence)?));
    }
    Err(sentence.misread(&format!("one of: {}", Gesture::GRAMMAR.join("; "))))
}

fn on(sentence: &mut Sentence<'_>) -> Result<bool, Misread> {
    sentence.name("`on` or `off`", |word| match word {
        "on" => Some(true),
        "off" => Some(false),
        _ => None,
    })
}

fn held(sentence: &mut Sentence<'_>) -> Result<u32, Misread> {
    let lasting = sentence.span_of_time("for")?.map_or(1, ticks);
    Ok(u32::try_from(lasting).unwrap_or(u32::MAX).max(1))
}

/// A gesture being watched for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Held {
    gesture: Gesture,
    /// The tick in which the hands came to stand so, while they do.
    since: Option<u32>,
}

/// A gesture made: held for its time, now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Made {
    /// The tick in which the hands came to stand so.
    pub(super) began: u32,
    /// Its time was full in this very tick.
    pub(super) fresh: bool,
}

impl Held {
    pub(super) const fn new(gesture: Gesture) -> Self {
        Self {
            gesture,
            since: None,
        }
    }

    /// Sees the hands of one tick.
    pub(super) fn feed(&mut self, controls: &Controls, tick: u32) -> Option<Made> {
        if !self.gesture.is_made(controls) {
            self.since = None;
            return None;
        }
        let began = *self.since.get_or_insert(tick);
        let held = tick.saturating_sub(began).saturating_add(1);
        let lasting = self.gesture.lasting();
        (held >= lasting).then_some(Made {
            began,
            fresh: held == lasting,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_gesture_can_be_written_down() {
        for (text, gesture) in [
            ("select deploy", Gesture::Select(Push::Deploy, 1)),
            ("select stow for 2 s", Gesture::Select(Push::Stow, 200)),
            ("throttle above 90 %", Gesture::Above(0.9)),
            ("throttle below 2 %", Gesture::Below(0.02)),
            ("stop off", Gesture::Stop(false)),
            ("acknowledge for 1.5 s", Gesture::Acknowledge(150)),
            ("bench key on", Gesture::BenchKey(true)),
            ("heat test", Gesture::HeatTest(1)),
            ("aux charge off", Gesture::AuxCharge(false)),
        ] {
            assert_eq!(Gesture::parse(text), Ok(gesture), "{text}");
        }
    }

    #[test]
    fn a_gesture_that_makes_no_sense_is_pointed_at() {
        for (text, at) in [
            ("select hold", 7..11),
            ("throttle to 40 %", 0..8),
            ("throttle above 100 %", 15..18),
            ("stop now", 5..8),
            ("wave", 0..4),
            ("stop on twice", 8..13),
        ] {
            assert_eq!(Gesture::parse(text).expect_err(text).at, at, "{text}");
        }
    }

    #[test]
    fn a_hold_is_made_when_its_time_is_full_and_dates_from_its_beginning() {
        let mut held = Held::new(Gesture::Acknowledge(3));
        let pressed = Controls {
            acknowledge: true,
            ..Controls::default()
        };
        let seen: Vec<_> = [false, true, true, true, true, false, true]
            .iter()
            .zip(10..)
            .map(|(press, tick)| {
                let hands = if *press { pressed } else { Controls::default() };
                held.feed(&hands, tick)
            })
            .collect();
        let made = |fresh| Some(Made { began: 11, fresh });
        assert_eq!(
            seen,
            [None, None, None, made(true), made(false), None, None]
        );
    }
}
