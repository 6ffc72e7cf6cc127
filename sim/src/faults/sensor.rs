//! Faults of sensors: one table for contacts, one for numbers.
//!
//! What a table leaves out makes no sense for it. A contact has no offset, drift or
//! noise: it is open or closed, and one that bounces or hangs by a wire is intermittent.
//! A number is inverted only where a sensor can be wired or mounted the wrong way round
//! (see [`Number::inverts`]); the converter of a voltage, a temperature or an airspeed
//! tells nothing below its range, which is stuck-at. A channel is swapped only with one
//! whose connector takes its plug.

use super::catalogue::{Entry, Scale};
use super::channel::{Channel, Number, Sample};
use super::kind::Kind;
use super::random::Random;
use super::target::Target;
use super::timing::Delay;
use crate::frame::TICK;

/// Mean cycle of an intermittent fault unless another is given, s.
pub(super) const CYCLE: f64 = 0.5;

/// How late a delayed thing is.
pub(super) const LATE: Scale = Scale {
    unit: "s",
    min: TICK,
    max: 5.0,
    default: 0.3,
    least: TICK,
};

/// What a fault does to the samples of a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Effect {
    /// The count stays as it was at first.
    Hold,
    /// The count is this.
    At(f64),
    /// The count is off by this.
    Offset(f64),
    /// The count is off by this much more every second.
    Drift(f64),
    /// The count is off by at most this, at random.
    Noise(f64),
    /// The sample is not renewed.
    Silence,
    /// The sample is not renewed during breaks.
    SilentBreaks,
    /// The contact reads open during breaks.
    OpenBreaks,
    /// The sample is declared unsound.
    Invalidate,
    /// The contact reads the opposite, the number its mirror in the range.
    Invert,
    /// The sample comes so many seconds late.
    Delay(f64),
    /// Late by so many seconds, and seen to be.
    Late(f64),
    /// The sample is the twin's, and the twin's is this one.
    Swap,
}

/// Which strengths a row's faults can have.
#[derive(Clone, Copy)]
enum Rule {
    /// None.
    None,
    /// Any value the sensor can tell.
    Value,
    /// Any error, either way.
    Error,
    /// Any error for each second, either way.
    Rate,
    /// Any error's magnitude.
    Magnitude,
    /// A delay in seconds.
    Late,
}

struct Row {
    kind: Kind,
    does: &'static str,
    rule: Rule,
    effect: fn(f64) -> Effect,
}

const fn row(kind: Kind, does: &'static str, rule: Rule, effect: fn(f64) -> Effect) -> Row {
    Row {
        kind,
        does,
        rule,
        effect,
    }
}

const SWAP: Row = row(
    Kind::Swapped,
    "is exchanged with its twin at the connector",
    Rule::None,
    |_| Effect::Swap,
);

const CONTACTS: &[Row] = &[
    row(
        Kind::Stuck,
        "keeps reading what it read when the fault began",
        Rule::None,
        |_| Effect::Hold,
    ),
    row(
        Kind::StuckOpen,
        "reads open (false) whatever is true",
        Rule::None,
        |_| Effect::At(0.0),
    ),
    row(
        Kind::StuckClosed,
        "reads closed (true) whatever is true",
        Rule::None,
        |_| Effect::At(1.0),
    ),
    row(
        Kind::Inverted,
        "reads open when closed and closed when open",
        Rule::None,
        |_| Effect::Invert,
    ),
    row(
        Kind::Intermittent,
        "has a loose wire and reads open (false) during breaks",
        Rule::None,
        |_| Effect::OpenBreaks,
    ),
    SILENCE,
    UNSOUND,
    DELAYED,
    SWAP,
];

const NUMBERS: &[Row] = &[
    row(
        Kind::Stuck,
        "keeps telling the value it told when the fault began, as if new",
        Rule::None,
        |_| Effect::Hold,
    ),
    row(
        Kind::StuckAt,
        "tells the given value whatever is true",
        Rule::Value,
        Effect::At,
    ),
    row(
        Kind::Offset,
        "tells a value off by the given error, within what it can tell",
        Rule::Error,
        Effect::Offset,
    ),
    row(
        Kind::Drift,
        "tells a value whose error grows by the given rate",
        Rule::Rate,
        Effect::Drift,
    ),
    row(
        Kind::Noise,
        "tells a value off by a new random error each tick, up to the given one",
        Rule::Magnitude,
        Effect::Noise,
    ),
    row(
        Kind::Intermittent,
        "falls silent during breaks, its last sample growing old",
        Rule::None,
        |_| Effect::SilentBreaks,
    ),
    row(
        Kind::Inverted,
        "is wired or mounted the wrong way round and tells its value mirrored in its range",
        Rule::None,
        |_| Effect::Invert,
    ),
    SILENCE,
    UNSOUND,
    DELAYED,
    SWAP,
];

const SILENCE: Row = row(
    Kind::Dropout,
    "falls silent: its last sample is not renewed and grows old",
    Rule::None,
    |_| Effect::Silence,
);
const UNSOUND: Row = row(
    Kind::Invalid,
    "declares its own samples unsound",
    Rule::None,
    |_| Effect::Invalidate,
);
const DELAYED: Row = row(
    Kind::Delayed,
    "tells what was true the given time ago, as if new",
    Rule::Late,
    Effect::Delay,
);

fn rows(channel: Channel) -> &'static [Row] {
    match channel {
        Channel::Contact => CONTACTS,
        Channel::Number(_) => NUMBERS,
    }
}

/// Every fault of a target that is such a channel, with or without a twin.
pub(super) fn entries(target: Target, channel: Channel, twin: bool) -> Vec<Entry> {
    let inverts = match channel {
        Channel::Contact => true,
        Channel::Number(number) => number.inverts,
    };
    let fitting = rows(channel).iter().filter(|row| {
        (row.kind != Kind::Swapped || twin) && (row.kind != Kind::Inverted || inverts)
    });
    let entry = |row: &Row| Entry {
        target,
        kind: row.kind,
        does: row.does,
        strength: scale(row.rule, channel),
        cycle: (row.kind == Kind::Intermittent).then_some(CYCLE),
        lasts: true,
    };
    fitting.map(entry).collect()
}

/// What a fault of this kind does to the channel. The strength is in physical units.
pub(super) fn effect(channel: Channel, kind: Kind, strength: f64) -> Effect {
    let row = rows(channel).iter().find(|row| row.kind == kind);
    let row = row.expect("a fault is validated when it is made");
    let counts = match (row.rule, channel) {
        (Rule::Value | Rule::Error | Rule::Rate | Rule::Magnitude, Channel::Number(number)) => {
            number.counts
        }
        (Rule::Value | Rule::Error | Rule::Rate | Rule::Magnitude, Channel::Contact)
        | (Rule::None | Rule::Late, Channel::Contact | Channel::Number(_)) => 1.0,
    };
    (row.effect)(strength * counts)
}

fn scale(rule: Rule, channel: Channel) -> Option<Scale> {
    let number = match channel {
        Channel::Contact => return matches!(rule, Rule::Late).then_some(LATE),
        Channel::Number(number) => number,
    };
    let Number { unit, min, max, .. } = number;
    let span = max - min;
    let resolution = 1.0 / number.counts;
    let both_ways = Scale {
        unit,
        min: -span,
        max: span,
        default: number.error,
        least: resolution,
    };
    match rule {
        Rule::None => None,
        Rule::Late => Some(LATE),
        Rule::Value => Some(Scale {
            min,
            max,
            default: (min + span / 2.0).round(),
            least: 0.0,
            ..both_ways
        }),
        Rule::Error => Some(both_ways),
        Rule::Rate => Some(Scale {
            unit: number.rate_unit,
            default: number.error / 4.0,
            ..both_ways
        }),
        Rule::Magnitude => Some(Scale {
            min: resolution,
            default: number.error / 2.0,
            ..both_ways
        }),
    }
}

/// What a fault must remember of one channel.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct State {
    held: Option<Sample>,
    ticks: f64,
    delay: Option<Delay<Sample>>,
}

impl State {
    /// The state at the moment the fault begins.
    pub(super) fn new(effect: Effect) -> Self {
        let delay = if let Effect::Delay(seconds) | Effect::Late(seconds) = effect {
            Some(Delay::new(seconds))
        } else {
            None
        };
        Self {
            held: None,
            ticks: 0.0,
            delay,
        }
    }

    /// The sample as the faulty channel gives it. `broken` is true during breaks.
    /// A swap takes two channels and is not done here.
    pub(super) fn corrupt(
        &mut self,
        effect: Effect,
        channel: Channel,
        sample: Sample,
        broken: bool,
        random: &mut Random,
    ) -> Sample {
        self.ticks += 1.0;
        let count = f64::from(sample.count);
        match effect {
            Effect::Hold => sample.with(self.held.get_or_insert(sample).count),
            Effect::At(value) => tell(channel, sample, value),
            Effect::Offset(error) => tell(channel, sample, count + error),
            Effect::Drift(rate) => tell(channel, sample, count + rate * TICK * self.ticks),
            Effect::Noise(peak) => tell(channel, sample, count + peak * random.sign()),
            Effect::Silence => self.silent(sample),
            Effect::SilentBreaks if broken => self.silent(sample),
            Effect::OpenBreaks if broken => sample.with(0),
            Effect::SilentBreaks | Effect::OpenBreaks => {
                self.held = None;
                sample
            }
            Effect::Invalidate => Sample {
                valid: false,
                ..sample
            },
            Effect::Invert => match channel {
                Channel::Contact => sample.with(1 - sample.count),
                Channel::Number(number) => sample.with(number.mirrored(count)),
            },
            Effect::Delay(_) => match &mut self.delay {
                Some(delay) => delay.pass(sample),
                None => sample,
            },
            Effect::Late(seconds) => {
                let late = match &mut self.delay {
                    Some(delay) => delay.pass(sample),
                    None => sample,
                };
                (0..super::timing::ticks(seconds)).fold(late, |late, _| late.older())
            }
            Effect::Swap => sample,
        }
    }

    fn silent(&mut self, sample: Sample) -> Sample {
        let held = self.held.get_or_insert(sample);
        *held = held.older();
        *held
    }
}

fn tell(channel: Channel, sample: Sample, count: f64) -> Sample {
    match channel {
        Channel::Contact => sample.with(i32::from(count != 0.0)),
        Channel::Number(number) => sample.with(number.told(count)),
    }
}
