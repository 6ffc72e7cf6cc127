//! A walk over everything the controller remembers, for tools that explore it.
//!
//! Responsibilities:
//! 1. Lead a [`Visitor`] through the memory of a [`Sequencer`](crate::Sequencer), item by
//!    item, always in the same order.
//! 2. Say of each item what the guards can tell apart in it: a flag, a choice among few,
//!    a timer that is over or not. Memory that steers no drive and no transition, but
//!    only alerts, is passed by: whoever keeps no more than what is visited keeps all
//!    that decides.
//! 3. Name flags and timers, so that a tool can say which flag decides nothing any more, and
//!    which timer is to run out.
//!
//! Nothing here is needed to fly, and nothing of it is built without the feature `walk`.

use enumset::{EnumSet, EnumSetType};

use crate::axis::Way;
use crate::command::Selector;
use crate::doors::Place;
use crate::fault::{Fault, Faults};
use crate::state::State;
use crate::timer::{Countdown, Sustained};
use crate::units::{Permille, Ticks};

/// A flag that decides something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Flag {
    /// The motor was commanded to propel.
    Propelled,
    /// The motor turned the blade slowly, or held it.
    Gripped,
    /// Stop contact A, when last heard, said released.
    StopOffA,
    /// The same of contact B.
    StopOffB,
    /// The stop switch was seen released since power-up, by every contact that was heard.
    StopSeenOff,
    /// Neither stop contact has been heard for too long.
    Deaf,
    /// The lock was proven.
    LockProven,
    /// The doors have moved, and have not been pressed shut since.
    DoorsMoved,
    /// The discharge time ran out before the bus was dead.
    DrainedLate,
    /// Pack 1 is joined.
    Pack1Joined,
    /// Pack 2 is joined.
    Pack2Joined,
}

/// A timer that decides something.
#[derive(EnumSetType, Debug, Hash)]
#[enumset(repr = "u64")]
pub enum Timer {
    /// Time left in the present state of the sequencer.
    State,
    /// Time left of the confirmation of restraint.
    Restraint,
    /// A mast at rest has left its stowed end.
    Settling,
    /// Current was drawn unasked.
    MotorUnasked,
    /// A slow blade ran away.
    MotorRunaway,
    /// No stop contact was heard.
    StopLost,
    /// Dead time of the mast drive.
    MastRest,
    /// Longest run of the mast drive.
    MastRun,
    /// Overload of the mast drive.
    MastOverload,
    /// Mast sensors contradicted one another.
    MastContradicted,
    /// A mast sensor was not heard.
    MastLost,
    /// The mast was driven out while its lock showed, for the proof time.
    Lock,
    /// Dead time of the door drive.
    DoorRest,
    /// Longest run of the door drive.
    DoorRun,
    /// Overload of the door drive.
    DoorOverload,
    /// Door switches contradicted one another.
    DoorContradicted,
    /// A door sensor was not heard.
    DoorLost,
    /// The door drive presses on its end stop.
    DoorPressing,
    /// Doors told to be shut were not pressed.
    DoorUnpressed,
    /// The parking proof.
    Parked,
    /// Time left in the present stage of the bus.
    BusStage,
    /// Checks of the bus before it closes, and how long its contactor has been commanded.
    BusChecked,
    /// The main contactor showed closed uncommanded.
    BusWelded,
    /// The live bus was not proven live.
    BusLost,
    /// The bus fell behind its packs.
    BusLeftBehind,
    /// The bus has drained for its least time.
    BusDrained,
    /// Pack 1 was not usable.
    Pack1Unusable,
    /// Pack 2 was not usable.
    Pack2Unusable,
}

/// A set of timers.
pub type Timers = EnumSet<Timer>;

/// A value that is one of a few, numbered from zero.
pub trait Choice: Copy {
    /// Its number.
    fn number(self) -> u8;
    /// The value of that number; any value for a number too large.
    fn numbered(number: u8) -> Self;
}

/// What is done with each item of memory; what a visitor leaves out, it passes by.
pub trait Visitor {
    /// A flag.
    fn flag(&mut self, _flag: Flag, _is_set: &mut bool) {}

    /// Which of two readings a value within a band stands for: what it was before.
    fn hysteresis(&mut self, _side: &mut bool) {}

    /// Where the sequencer stands. Once something was asked for, the reason of a safe halt
    /// only tells; before that it decides whether a further halt is one for a new reason.
    fn state(&mut self, _state: &mut State) {}

    /// One of `count` values.
    fn choice<T: Choice>(&mut self, _value: &mut T, _count: u8) {}

    /// A countdown: guards ask only whether it is over.
    fn countdown(&mut self, _timer: Timer, _left: &mut Countdown) {}

    /// A condition that lasts: guards ask only whether it has held for `limit`.
    fn sustained(&mut self, _timer: Timer, _held: &mut Sustained, _limit: Ticks) {}

    /// How the mast's motion is judged.
    fn motion(&mut self, _motion: Motion<'_>) {}

    /// How it is judged whether doors at rest have left their place.
    fn straying(&mut self, _straying: Straying<'_>) {}

    /// The latched faults: guards ask only whether one of each set of [`DECISIVE`] is.
    fn latched(&mut self, _faults: &mut Faults) {}

    /// The dead time of a drive.
    fn rest(&mut self, _timer: Timer, _rest: Rest<'_>) {}

    /// Everything that is remembered of the mast selector.
    fn pushes(&mut self, _pushes: Pushes<'_>) {}

    /// Everything that is remembered of the acknowledge button.
    fn acknowledge(&mut self, _button: Button<'_>) {}
}

/// What is remembered to judge the mast's motion.
#[derive(Debug)]
pub struct Motion<'a> {
    /// What is driven.
    pub drive: Option<Way>,
    /// What was driven when the present window began.
    pub driven: &'a mut Option<Way>,
    /// The position that the mast's is compared with when the window is over.
    pub reference: &'a mut Option<Permille>,
    /// What is left of the window.
    pub window: &'a mut Countdown,
}

/// What is remembered to judge doors at rest.
#[derive(Debug)]
pub struct Straying<'a> {
    /// Where they were when they came to rest.
    pub left_at: &'a mut Place,
    /// How long they have rested.
    pub resting: &'a mut Sustained,
    /// How long they must rest until that counts.
    pub settle: Ticks,
    /// How long they have been elsewhere.
    pub strayed: &'a mut Sustained,
    /// How long they must have been.
    pub after: Ticks,
}

/// What is remembered of the dead time of a drive. A way must rest exactly as long as the
/// dead time runs.
#[derive(Debug)]
pub struct Rest<'a> {
    /// What is driven; the dead time passes while it is nothing.
    pub driven: Option<Way>,
    /// The way that must still rest.
    pub resting: &'a mut Option<Way>,
    /// For how long.
    pub left: &'a mut Countdown,
}

/// What is remembered of the mast selector.
#[derive(Debug)]
pub struct Pushes<'a> {
    /// What counts.
    pub settled: &'a mut Selector,
    /// What was last read.
    pub last: &'a mut Selector,
    /// The time until that counts.
    pub left: &'a mut Countdown,
    /// It was seen centred since power-up.
    pub seen_centred: &'a mut bool,
    /// It was seen centred since a fresh push was last demanded.
    pub centred: &'a mut bool,
    /// It was seen centred since the last intention it gave.
    pub ready: &'a mut bool,
}

/// What is remembered of the acknowledge button.
#[derive(Debug)]
pub struct Button<'a> {
    /// It was seen released since power-up.
    pub seen: &'a mut bool,
    /// It counts as pressed.
    pub settled: &'a mut bool,
    /// It was last read as pressed.
    pub candidate: &'a mut bool,
    /// Time left until what was last read counts.
    pub left: &'a mut Countdown,
    /// How long it has been held.
    pub clearing: &'a mut Sustained,
    /// How long it must be held to clear faults.
    pub clear_after: Ticks,
}

/// The faults that forbid something while they are latched, in sets: those of a set forbid
/// the same, and no guard asks which of them is latched. The others only tell.
pub const DECISIVE: [Faults; 4] = [
    crate::mast::FORBIDDING,
    crate::doors::FORBIDDING,
    crate::bus::FORBIDDING,
    enumset::enum_set!(Fault::MotorUnasked),
];
