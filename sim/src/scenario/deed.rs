//! Deeds: what a pilot or the crew does, in words.

use super::words::{Misread, Sentence};
use super::{LONGEST, ticks};
use crate::controls::Push;

/// How long a button or the selector is pushed when nothing else is said, s.
const A_PUSH: f64 = 0.5;
/// Greatest airspeed a pilot can be told to fly, m/s.
const FASTEST: f64 = 80.0;

/// Something a pilot or the crew does. Durations are in ticks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Deed {
    /// Pushes the mast selector; it springs back to hold.
    Select {
        /// Which way.
        push: Push,
        /// For how long.
        lasting: u64,
    },
    /// Moves the throttle lever.
    Throttle {
        /// To where, 0 to 1.
        to: f64,
        /// Over how long; 0 is at once.
        over: u64,
    },
    /// Throws (true) or releases the guarded stop-and-stow switch.
    Stop(bool),
    /// Presses the acknowledge button for so long.
    Acknowledge(u64),
    /// Turns the bench key.
    BenchKey(bool),
    /// Presses the heat detector test for so long.
    HeatTest(u64),
    /// Switches the auxiliary charge request.
    AuxCharge(bool),
    /// Flies another airspeed.
    Airspeed {
        /// Which, m/s.
        to: f64,
        /// Reached over how long; 0 is as the aircraft can.
        over: u64,
    },
    /// A person steps near mast and blade (true), or clear of them.
    Person(bool),
    /// The controller's supply comes back.
    PowerOn,
    /// The controller's supply goes away, for good (none) or for so long.
    PowerOff(Option<u64>),
}

impl Deed {
    /// Every deed a scenario can name, for help and documents.
    pub const GRAMMAR: [&'static str; 11] = [
        "select deploy|stow|hold [for N s]",
        "throttle to N % [over N s]",
        "stop on|off",
        "acknowledge [for N s]",
        "bench key on|off",
        "heat test [for N s]",
        "aux charge on|off",
        "airspeed to N m/s [over N s]",
        "person near|clear",
        "power on",
        "power off [for N s]",
    ];

    /// Reads a deed.
    ///
    /// # Errors
    /// Where the sentence stops making sense, and what was expected there.
    pub fn parse(text: &str) -> Result<Self, Misread> {
        let mut sentence = Sentence::new(text)?;
        let deed = deed(&mut sentence)?;
        sentence.finish("the end")?;
        Ok(deed)
    }

    /// Whether hands do it at the controls of the system; else it belongs to the
    /// surroundings: how the aircraft is flown, who stands near it, its supply.
    #[must_use]
    pub const fn is_by_hand(self) -> bool {
        match self {
            Self::Select { .. }
            | Self::Throttle { .. }
            | Self::Stop(_)
            | Self::Acknowledge(_)
            | Self::BenchKey(_)
            | Self::HeatTest(_)
            | Self::AuxCharge(_) => true,
            Self::Airspeed { .. } | Self::Person(_) | Self::PowerOn | Self::PowerOff(_) => false,
        }
    }

    /// Ticks from the beginning of the deed to its end; 0: done at once.
    #[must_use]
    pub const fn lasting(self) -> u64 {
        match self {
            Self::Select { lasting, .. } | Self::Acknowledge(lasting) | Self::HeatTest(lasting) => {
                lasting
            }
            Self::Throttle { over, .. } | Self::Airspeed { over, .. } => over,
            Self::PowerOff(Some(lasting)) => lasting,
            Self::Stop(_)
            | Self::BenchKey(_)
            | Self::AuxCharge(_)
            | Self::Person(_)
            | Self::PowerOn
            | Self::PowerOff(None) => 0,
        }
    }
}

impl std::fmt::Display for Deed {
    /// The deed as a scenario writes it.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let on = |on| if on { "on" } else { "off" };
        match *self {
            Self::Select { push, lasting } => {
                let push = match push {
                    Push::Hold => "hold",
                    Push::Deploy => "deploy",
                    Push::Stow => "stow",
                };
                write!(f, "select {push}{}", span("for", lasting))
            }
            Self::Throttle { to, over } => {
                // Hundredths of a percent: no lever is set finer.
                let percent = (to * 1e4).round() / 1e2;
                write!(f, "throttle to {percent} %{}", span("over", over))
            }
            Self::Stop(thrown) => write!(f, "stop {}", on(thrown)),
            Self::Acknowledge(lasting) => write!(f, "acknowledge{}", span("for", lasting)),
            Self::BenchKey(turned) => write!(f, "bench key {}", on(turned)),
            Self::HeatTest(lasting) => write!(f, "heat test{}", span("for", lasting)),
            Self::AuxCharge(wanted) => write!(f, "aux charge {}", on(wanted)),
            Self::Airspeed { to, over } => {
                write!(f, "airspeed to {to} m/s{}", span("over", over))
            }
            Self::Person(near) => write!(f, "person {}", if near { "near" } else { "clear" }),
            Self::PowerOn => write!(f, "power on"),
            Self::PowerOff(lasting) => {
                write!(f, "power off{}", span("for", lasting.unwrap_or(0)))
            }
        }
    }
}

/// A span of time as a deed names it; none for no time.
fn span(word: &str, ticks: u64) -> String {
    if ticks == 0 {
        return String::new();
    }
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let seconds = ticks as f64 / 100.0;
    format!(" {word} {seconds} s")
}

fn deed(sentence: &mut Sentence<'_>) -> Result<Deed, Misread> {
    if sentence.accept("select") {
        let push = sentence.name("`deploy`, `stow` or `hold`", |word| match word {
            "deploy" => Some(Push::Deploy),
            "stow" => Some(Push::Stow),
            "hold" => Some(Push::Hold),
            _ => None,
        })?;
        return Ok(Deed::Select {
            push,
            lasting: pushed(sentence)?,
        });
    }
    if sentence.accept("throttle to") {
        let to = sentence.measure("%", 0.0..100.0)? / 100.0;
        return Ok(Deed::Throttle {
            to,
            over: over(sentence)?,
        });
    }
    if sentence.accept("stop") {
        return Ok(Deed::Stop(one_of(sentence, "on", "off")?));
    }
    if sentence.accept("acknowledge") {
        return Ok(Deed::Acknowledge(pushed(sentence)?));
    }
    if sentence.accept("bench key") {
        return Ok(Deed::BenchKey(one_of(sentence, "on", "off")?));
    }
    if sentence.accept("heat test") {
        return Ok(Deed::HeatTest(pushed(sentence)?));
    }
    if sentence.accept("aux charge") {
        return Ok(Deed::AuxCharge(one_of(sentence, "on", "off")?));
    }
    if sentence.accept("airspeed to") {
        let to = sentence.measure("m/s", 0.0..FASTEST)?;
        return Ok(Deed::Airspeed {
            to,
            over: over(sentence)?,
        });
    }
    if sentence.accept("person") {
        return Ok(Deed::Person(one_of(sentence, "near", "clear")?));
    }
    if sentence.accept("power") {
        return if one_of(sentence, "on", "off")? {
            Ok(Deed::PowerOn)
        } else {
            Ok(Deed::PowerOff(sentence.span_of_time("for")?.map(ticks)))
        };
    }
    Err(sentence.misread(&format!("one of: {}", Deed::GRAMMAR.join("; "))))
}

fn one_of(sentence: &mut Sentence<'_>, yes: &str, no: &str) -> Result<bool, Misread> {
    sentence.name(&format!("`{yes}` or `{no}`"), |word| {
        (word == yes || word == no).then_some(word == yes)
    })
}

fn pushed(sentence: &mut Sentence<'_>) -> Result<u64, Misread> {
    let lasting = sentence.span_of_time("for")?.unwrap_or(A_PUSH);
    Ok(ticks(lasting.min(LONGEST)).max(1))
}

fn over(sentence: &mut Sentence<'_>) -> Result<u64, Misread> {
    Ok(sentence.span_of_time("over")?.map_or(0, ticks))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_deed_can_be_written_down() {
        for (text, deed) in [
            (
                "select deploy",
                Deed::Select {
                    push: Push::Deploy,
                    lasting: 50,
                },
            ),
            (
                "select stow for 4 s",
                Deed::Select {
                    push: Push::Stow,
                    lasting: 400,
                },
            ),
            ("throttle to 80 %", Deed::Throttle { to: 0.8, over: 0 }),
            (
                "throttle to 0 % over 1.5 s",
                Deed::Throttle { to: 0.0, over: 150 },
            ),
            ("stop on", Deed::Stop(true)),
            ("acknowledge for 2.5 s", Deed::Acknowledge(250)),
            ("bench key off", Deed::BenchKey(false)),
            ("heat test for 1 s", Deed::HeatTest(100)),
            ("aux charge on", Deed::AuxCharge(true)),
            (
                "airspeed to 25 m/s over 5 s",
                Deed::Airspeed {
                    to: 25.0,
                    over: 500,
                },
            ),
            ("person near", Deed::Person(true)),
            ("power on", Deed::PowerOn),
            ("power off", Deed::PowerOff(None)),
            ("power off for 0.3 s", Deed::PowerOff(Some(30))),
        ] {
            assert_eq!(Deed::parse(text), Ok(deed), "{text}");
            assert_eq!(Deed::parse(&deed.to_string()), Ok(deed), "{deed}");
        }
    }

    #[test]
    fn a_deed_that_makes_no_sense_is_pointed_at() {
        for (text, at) in [
            ("select up", 7..9),
            ("throttle to 140 %", 12..15),
            ("stop maybe", 5..10),
            ("jump", 0..4),
            ("power on for 2 s", 9..12),
            ("airspeed to -3 m/s", 12..14),
        ] {
            assert_eq!(Deed::parse(text).expect_err(text).at, at, "{text}");
        }
    }
}
