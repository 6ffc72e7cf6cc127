//! Replay: the recorded readings, through the controller of today.

use mastwright_core::{Inputs, Outputs, Sequencer};

use super::header::waking;
use super::read::Trace;
use super::sum::Fingerprints;
use super::tick::{Mark, Tick};
use super::trouble::Unreadable;
use crate::world::Unit;

/// What came of a replay.
#[derive(Clone, Debug, PartialEq)]
pub struct Replayed {
    /// Ticks in which the controller answered as it did when the trace was recorded.
    pub ticks: u64,
    /// The controller keeps its state in another form than when the trace was recorded:
    /// states were not compared, outputs were.
    pub other_form: bool,
    /// Settings of the trace that the controller does not have any more.
    pub unknown_settings: Vec<String>,
    /// Settings of the controller that the trace does not have: those of today were taken.
    pub missing_settings: Vec<String>,
    /// The first tick in which it answered otherwise, if there is one.
    pub difference: Option<Box<Difference>>,
    /// Where the trace could not be read on: what follows was not compared.
    pub broken_off: Option<Unreadable>,
}

impl Replayed {
    /// True when every tick that was recorded came out the same.
    #[must_use]
    pub const fn is_identical(&self) -> bool {
        self.difference.is_none() && self.broken_off.is_none()
    }
}

/// The first tick that came out otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// What was recorded.
    pub recorded: Tick,
    /// The readings of the tick before.
    pub before: Option<Inputs>,
    /// What the controller answers today.
    pub outputs: Outputs,
    /// Fingerprint of its state today; none without its supply.
    pub state: Option<u32>,
}

/// Why a trace cannot be replayed at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CannotReplay {
    /// The controller refuses the settings that were recorded.
    #[error("{file}: the controller refuses the settings of the trace: {why}")]
    Settings {
        /// Which file.
        file: String,
        /// Why.
        why: String,
    },
    /// There is no tick in it.
    #[error("{file} holds no tick that can be read")]
    Empty {
        /// Which file.
        file: String,
    },
}

/// Runs the recorded readings, power cuts and flipped bits of `trace` through the
/// controller, tick by tick, up to the first that comes out otherwise.
///
/// # Errors
/// When that cannot even begin.
pub fn replay(trace: &Trace) -> Result<Replayed, CannotReplay> {
    let file = || trace.file().to_owned();
    let (config, unknown_settings) = trace
        .header()
        .config()
        .map_err(|why| CannotReplay::Settings { file: file(), why })?;
    if trace.is_empty() {
        return Err(CannotReplay::Empty { file: file() });
    }
    let mut replayed = Replayed {
        ticks: 0,
        other_form: waking(&config) != trace.header().waking,
        unknown_settings,
        missing_settings: trace.header().missing_settings(),
        difference: None,
        broken_off: None,
    };
    let mut player = Player::new(Unit::new(&config));
    let mut tick = Tick::default();
    let mut ticks = trace.ticks();
    while let Some(read) = ticks.read_told(&mut tick) {
        if let Err(why) = read {
            replayed.broken_off = Some(why);
            break;
        }
        let (outputs, state) = player.play(&tick);
        let same_state = replayed.other_form || state == tick.state;
        if outputs != tick.frame.outputs || !same_state {
            replayed.difference = Some(Box::new(Difference {
                // Both were read a moment ago; this one is read again with its truth.
                before: before(trace, tick.frame.tick),
                recorded: trace.at(tick.frame.tick).unwrap_or(tick),
                outputs,
                state,
            }));
            break;
        }
        replayed.ticks += 1;
    }
    Ok(replayed)
}

/// The readings of the tick before, if there is one.
fn before(trace: &Trace, tick: u64) -> Option<Inputs> {
    let before = trace.at(tick.checked_sub(1)?).ok()?;
    Some(before.frame.inputs)
}

/// A controller that is led through a trace.
///
/// To look into its state at a tick, play every tick up to it and ask
/// [`Player::unit`].
#[derive(Clone, Debug)]
pub struct Player {
    unit: Unit<Sequencer>,
    fingerprints: Fingerprints,
    flips: Vec<u32>,
}

impl Player {
    /// Leads this unit.
    #[must_use]
    pub const fn new(unit: Unit<Sequencer>) -> Self {
        Self {
            unit,
            fingerprints: Fingerprints::new(),
            flips: Vec::new(),
        }
    }

    /// The unit it leads.
    #[must_use]
    pub const fn unit(&self) -> &Unit<Sequencer> {
        &self.unit
    }

    /// Plays a tick: what the controller answers, and the fingerprint of its state, none
    /// without supply.
    pub fn play(&mut self, tick: &Tick) -> (Outputs, Option<u32>) {
        if !tick.frame.powered {
            return (self.unit.rest(), None);
        }
        self.flips.clear();
        self.flips
            .extend(tick.marks.iter().filter_map(|mark| match mark {
                Mark::BitFlipped(bit) => Some(*bit),
                Mark::ActionBegan(_) | Mark::FaultBegan(_) | Mark::FaultEnded(_) => None,
            }));
        let outputs = self.unit.answer(&tick.frame.inputs, &self.flips);
        let state = self.fingerprints.of(self.unit.controller());
        (outputs, Some(state))
    }
}
