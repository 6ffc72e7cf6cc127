//! What frames say.

use serde::{Deserialize, Serialize};

use crate::journal::Retained;
use crate::outputs::Outputs;
use crate::units::Ticks;

/// Most bytes of a text on the line.
pub const TEXT: usize = 48;

/// A short text: what was built, or what went wrong.
pub type Text = heapless::String<TEXT>;

/// What is wrong with a frame, or with the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Trouble {
    /// It is no frame of this link.
    Foreign,
    /// It begins as a frame does and is cut short.
    Torn,
    /// It has its length, and its checksum does not fit.
    Damaged,
    /// It goes on longer than any frame can.
    TooLong,
    /// It is whole, and of this other version of the protocol.
    Version(u8),
    /// It is whole, and does not say what its kind must, or is not meant for this end.
    Content,
    /// So many frames before it never came.
    Lost(u16),
    /// It bears the number of the frame before.
    Repeated,
    /// It bears a number that has long passed.
    Late,
    /// Nothing came for longer than was agreed.
    Silence,
    /// No greeting came before it.
    Unmet,
    /// Ticks came before a reset began the run.
    Unready,
    /// The first tick of the batch is not the next one.
    Tick,
    /// The limits were refused.
    Settings,
}

impl core::fmt::Display for Trouble {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Foreign => f.write_str("foreign: not a frame of this link"),
            Self::Torn => f.write_str("torn: a frame cut short"),
            Self::Damaged => f.write_str("damaged: the checksum does not fit"),
            Self::TooLong => f.write_str("too long: more bytes than any frame has"),
            Self::Version(theirs) => write!(f, "version {theirs} of the protocol, not ours"),
            Self::Content => f.write_str("a whole frame that makes no sense here"),
            Self::Lost(missing) => write!(f, "lost: {missing} before it never came"),
            Self::Repeated => f.write_str("repeated: it came before"),
            Self::Late => f.write_str("late: its number has passed"),
            Self::Silence => f.write_str("silence for longer than agreed"),
            Self::Unmet => f.write_str("no greeting came before it"),
            Self::Unready => f.write_str("ticks before a reset"),
            Self::Tick => f.write_str("not the next tick"),
            Self::Settings => f.write_str("the settings are outside their limits"),
        }
    }
}

impl core::error::Error for Trouble {}

/// What the non-volatile memory holds after a power cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Memory {
    /// What it held before.
    Kept,
    /// Nothing: both slots are blank.
    Blank,
}

/// What starts again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Restart {
    /// The controller and its journal, as after a power cut.
    Controller,
    /// The whole processor. The target then greets unasked, knows no settings but the
    /// defaults, and waits for a greeting.
    Processor,
}

/// Body of [`Kind::Reset`](super::Kind::Reset).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Reset {
    /// What becomes of the non-volatile memory.
    pub memory: Memory,
    /// What starts again.
    pub restart: Restart,
    /// After so long without a whole frame, by its own time, the target holds; zero
    /// never lets it hold for silence.
    pub silence: Ticks,
}

/// Head of a batch of ticks; as many entries as it counts follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Batch {
    /// Its first tick, counted from the latest reset.
    pub first: u32,
    /// How many ticks, at most [`BATCH`](super::BATCH).
    pub count: u8,
}

/// What the controller answered to one tick.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Answer {
    /// Everything it commanded and told.
    pub outputs: Outputs,
    /// [Fingerprint](fn@super::fingerprint) of its state after the tick.
    pub state: u32,
}

/// Why the target is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Woke {
    /// The processor has started.
    Started,
    /// The link asked for a reset of the controller, or gave it other limits.
    Asked,
}

/// How the target stands towards the link.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Stance {
    /// Entered at power-up and by new settings. Outputs are fail-safe. Left by a reset.
    #[default]
    Idle,
    /// Entered by a reset. Outputs are those of the latest tick, fail-safe before the
    /// first. Left by trouble.
    Running,
    /// Entered by trouble while running. Outputs are fail-safe. Left by a reset or by
    /// new settings, never by ticks.
    Held(Trouble),
}

/// What was built into the target, in words.
pub type Build = Text;

/// Body of [`Kind::Ready`](super::Kind::Ready).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Ready {
    /// What was built.
    pub build: Build,
    /// [Fingerprint](fn@super::fingerprint) of the settings in force.
    pub settings: u32,
    /// Why the controller last woke.
    pub woke: Woke,
    /// How the target stands.
    pub stance: Stance,
    /// Number of the latest request served, greetings apart; zero before the first.
    pub served: u16,
    /// Ticks stepped since the latest reset.
    pub tick: u32,
    /// What was found in non-volatile memory at the latest wake.
    pub retained: Retained,
    /// [Fingerprint](fn@super::fingerprint) of the controller's state.
    pub state: u32,
}

/// Body of [`Kind::Refused`](super::Kind::Refused).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Refused {
    /// Why, or for what the target holds.
    pub trouble: Trouble,
    /// Ticks stepped since the latest reset.
    pub tick: u32,
}

/// How a target crashes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Crash {
    /// The program gave up by itself.
    Panic,
    /// The processor refused to go on.
    HardFault,
    /// The watchdog reset the processor.
    Watchdog,
}

/// Body of [`Kind::Crashed`](super::Kind::Crashed). Outputs are already fail-safe.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CrashReport {
    /// How.
    pub crash: Crash,
    /// Where: the address of the instruction, or the line of the source; zero if
    /// unknown.
    pub place: u32,
    /// In words, cut where there is no more room.
    pub text: Text,
}
