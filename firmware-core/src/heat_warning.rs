//! The heat warning: four detectors, one test button, one horn, and nothing else.
//!
//! Responsibilities:
//! 1. Warn of heat in the engine bay and the battery bays with a supply, a state and
//!    a step of its own, so that it works while the rest is off or has failed (SR-22).
//! 2. Show a detector that is not heard, and by push-to-test one that is heard but
//!    does not answer.
//! 3. Say "heat": a detector feels heat, neither smoke nor flame. Four detectors, a
//!    separate supply and a test button: common practice, no source.
//!
//! A missed alarm is not acceptable, a false one is. Hence:
//! - one hot detector is enough; the detectors do not vote, so a single one stuck hot
//!   sounds the warning for as long as it stays so;
//! - a detector that falls silent keeps saying what it said last, since heat destroys
//!   detectors and wires; only a proven cool reading ends its warning;
//! - a reading too cold to be true counts as a broken wire, not as cool; one too hot to
//!   be true counts as hot;
//! - nothing silences the horn while a detector is hot.
//!
//! What this cannot find by itself is a detector stuck at a believable cool reading.
//! That is what the test is for.
//!
//! Terms: *test*: while the button is held, its second pole drives the loop of each
//! detector to a reading of at least [`HeatSettings::test_answer`]; a detector whose
//! reading gets there *answers*: its wire, input and comparison all work.

use core::ops::Deref;

use enumset::{EnumSet, EnumSetType};

use crate::config::Refusal;
use crate::fault::Class;
use crate::signal::{Age, Signal};
use crate::timer::Sustained;
use crate::units::{DeciCelsius, Millis};

/// How many detectors there are. Source: common practice, no source.
pub const DETECTORS: usize = 4;

/// One detector.
#[derive(EnumSetType, Debug, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Detector {
    /// The first of [`HeatInputs::detectors`].
    One,
    /// The second.
    Two,
    /// The third.
    Three,
    /// The fourth.
    Four,
}

impl Detector {
    /// Every detector, in the order of [`HeatInputs::detectors`].
    pub const ALL: [Self; DETECTORS] = [Self::One, Self::Two, Self::Three, Self::Four];
}

/// A set of detectors.
pub type Detectors = EnumSet<Detector>;

/// What one tick of the heat warning sees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct HeatInputs {
    /// Temperature at each detector.
    pub detectors: [Signal<DeciCelsius>; DETECTORS],
    /// Test button; true while pressed.
    pub test: Signal<bool>,
}

/// Limits of the heat warning as given, not yet validated. The defaults are choices of
/// this design for its invented demonstration aircraft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(default, deny_unknown_fields))]
pub struct HeatSettings {
    /// A sample older than this proves nothing.
    pub stale_after: Age,
    /// At or above this a detector is hot.
    pub hot: DeciCelsius,
    /// At or below this a hot detector is cool again.
    pub cool: DeciCelsius,
    /// A detector must be hot for this long to warn, and cool for as long to end it.
    pub confirm: Millis,
    /// Below this a reading is a broken wire.
    pub coldest: DeciCelsius,
    /// At or above this a detector answers the test.
    pub test_answer: DeciCelsius,
    /// The button must be held this long for a test to count as done.
    pub test_time: Millis,
}

impl Default for HeatSettings {
    fn default() -> Self {
        Self {
            stale_after: Age::new(10),
            hot: DeciCelsius::new(900),
            cool: DeciCelsius::new(800),
            confirm: Millis::new(500),
            coldest: DeciCelsius::new(-600),
            test_answer: DeciCelsius::new(1200),
            test_time: Millis::new(1000),
        }
    }
}

/// Validated limits of the heat warning.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct HeatLimits(HeatSettings);

impl HeatLimits {
    /// Validates settings.
    ///
    /// # Errors
    /// The first rule that they break.
    pub fn new(settings: HeatSettings) -> Result<Self, Refusal> {
        let stale = u16::from(settings.stale_after.ticks());
        let rules = [
            (
                settings.coldest < settings.cool && settings.cool < settings.hot,
                "heat: coldest, cool, hot must rise",
            ),
            (
                settings.hot <= settings.test_answer,
                "heat: test_answer must not lie below hot, or the test would not reach the alarm",
            ),
            // A reading left over from the test must be gone before it can be confirmed.
            (
                settings.confirm.ticks().get() > stale && settings.test_time.ticks().get() > stale,
                "heat: confirm and test_time must exceed stale_after",
            ),
            (
                settings.confirm.is_whole_ticks() && settings.test_time.is_whole_ticks(),
                "heat: confirm and test_time must be multiples of 10 ms",
            ),
            (
                settings.confirm <= Millis::new(2000),
                "heat: confirm must not exceed 2000 ms",
            ),
        ];
        rules
            .iter()
            .find_map(|(holds, rule)| (!holds).then_some(Refusal::Contradiction { rule }))
            .map_or(Ok(Self(settings)), Err)
    }
}

impl Deref for HeatLimits {
    type Target = HeatSettings;

    fn deref(&self) -> &HeatSettings {
        &self.0
    }
}

/// How far the push-to-test has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Test {
    /// No test since power-up.
    #[default]
    NotDone,
    /// The button is held; these detectors have answered so far.
    Running {
        /// Detectors that have answered.
        answered: Detectors,
    },
    /// The button was let go too early: the test says nothing.
    TooShort,
    /// The last test was held long enough; the others are dead.
    Done {
        /// Detectors that answered.
        answered: Detectors,
    },
}

impl Test {
    /// Detectors that a completed test has shown to be dead.
    #[must_use]
    pub fn dead(self) -> Detectors {
        match self {
            Self::Done { answered } => !answered,
            Self::NotDone | Self::Running { .. } | Self::TooShort => Detectors::empty(),
        }
    }
}

/// What one tick of the heat warning says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct HeatOutputs {
    /// The horn sounds: a detector is hot, or the test button is held.
    pub sounding: bool,
    /// Detectors that warn.
    pub hot: Detectors,
    /// Detectors that are not heard, or not to be believed.
    pub lost: Detectors,
    /// The push-to-test and its result.
    pub tested: Test,
}

impl HeatOutputs {
    /// How urgently the crew must know; nothing when there is nothing to know.
    #[must_use]
    pub fn class(&self) -> Option<Class> {
        if !self.hot.is_empty() {
            Some(Class::Warning)
        } else if !self.lost.is_empty() || !self.tested.dead().is_empty() {
            Some(Class::Advisory)
        } else {
            None
        }
    }

    /// What the crew reads, in plain words; a warning hides no test or loss, since
    /// each detector is shown by itself besides.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self.class() {
            Some(Class::Warning) => "heat",
            Some(Class::Caution | Class::Advisory) => "heat detector not working",
            None => match self.tested {
                Test::Running { .. } => "heat warning under test",
                Test::TooShort => "heat warning test too short: hold the button longer",
                Test::NotDone => "heat warning not tested",
                Test::Done { .. } => "heat warning tested",
            },
        }
    }
}

/// What must be remembered of one detector.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
struct Memory {
    said: Said,
    hot_for: Sustained,
    cool_for: Sustained,
    warns: bool,
}

/// What a detector said last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
enum Said {
    #[default]
    Cool,
    Between,
    Hot,
}

impl Memory {
    /// Feeds one believable reading, or none; a detector not heard repeats itself.
    fn feed(&mut self, reading: Option<DeciCelsius>, limits: &HeatLimits) {
        if let Some(temperature) = reading {
            self.said = if temperature >= limits.hot {
                Said::Hot
            } else if temperature <= limits.cool {
                Said::Cool
            } else {
                Said::Between
            };
        }
        let ticks = limits.confirm.ticks();
        match self.said {
            Said::Hot => {
                self.cool_for.restart();
                self.warns |= self.hot_for.feed(true, ticks);
            }
            // A reading that flickers about the limit loses none of its time.
            Said::Between => self.cool_for.restart(),
            Said::Cool => {
                self.hot_for.restart();
                self.warns &= !self.cool_for.feed(reading.is_some(), ticks);
            }
        }
    }

    /// During a test the readings are not temperatures: nothing is concluded from
    /// them, and nothing concluded before is forgotten.
    const fn pause(&mut self) {
        self.hot_for.restart();
        self.cool_for.restart();
    }
}

/// The heat warning's whole state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct HeatWarning {
    memory: [Memory; DETECTORS],
    test: Test,
    held: Sustained,
    held_enough: bool,
}

impl HeatWarning {
    /// One tick of 10 ms.
    pub fn step(&mut self, inputs: &HeatInputs, limits: &HeatLimits) -> HeatOutputs {
        let testing = inputs.test.proves(limits.stale_after, |pressed| pressed);
        let mut out = HeatOutputs::default();
        let mut answering = Detectors::empty();

        for ((detector, memory), signal) in Detector::ALL
            .into_iter()
            .zip(&mut self.memory)
            .zip(&inputs.detectors)
        {
            let reading = signal
                .proven(limits.stale_after)
                .filter(|temperature| *temperature >= limits.coldest);
            if reading.is_none() {
                out.lost |= detector;
            }
            if reading >= Some(limits.test_answer) {
                answering |= detector;
            }
            if testing {
                memory.pause();
            } else {
                memory.feed(reading, limits);
            }
            if memory.warns {
                out.hot |= detector;
            }
        }

        self.run_test(testing, answering, limits);
        out.tested = self.test;
        out.sounding = testing || !out.hot.is_empty();
        out
    }

    fn run_test(&mut self, testing: bool, answering: Detectors, limits: &HeatLimits) {
        self.held_enough |= self.held.feed(testing, limits.test_time.ticks());
        self.test = match (testing, self.test) {
            (true, Test::Running { answered }) => Test::Running {
                answered: answered | answering,
            },
            (true, Test::NotDone | Test::TooShort | Test::Done { .. }) => Test::Running {
                answered: answering,
            },
            (false, Test::Running { answered }) if self.held_enough => Test::Done { answered },
            (false, Test::Running { .. }) => Test::TooShort,
            (false, rest @ (Test::NotDone | Test::TooShort | Test::Done { .. })) => rest,
        };
        self.held_enough &= testing;
    }
}
