//! The controller's memory, reduced to what its guards can tell apart, and packed.
//!
//! That an item decides nothing holds for the real controller. One that was tampered with may ask
//! more; a breach that it comes to only so could be missed.
//!
//! A timer is stored as over or not. Its exact value is never needed: before a step, any
//! set of running timers may be chosen to run out in it ([`prepare`]), and after the step
//! it is seen which timers moved ([`pack`]). A guard asks only whether a timer is over,
//! so every real value behaves like one of the two.
//!
//! | item | stored | before a step |
//! |---|---|---|
//! | countdown | over, or running | running: longer than any limit, or 1 when it is to run out |
//! | sustained condition | held for its limit, or not | 0, or one short of the limit |
//! | the mast's motion | nothing | judged as it should be, or found strange: chosen anew |
//! | doors at rest | nothing | where they were left, or found elsewhere: chosen anew |
//! | parking proof | nothing | complete or not, where the blade may be parked: chosen anew |
//! | acknowledge button | nothing | up, just pressed, down, or held for as long as clears: chosen anew each step |
//! | side of a hysteresis | nothing | what it covers is chosen anew by its reading |
//! | dead time of a drive | it runs, or not | the same: that it is over is a move of its own |
//! | selector, before anything was asked for | everything | what it reads now settles in this step |
//! | selector, after that | nothing | fresh, held or centred: chosen anew each step |
//! | latched faults | whether any is of those that forbid the same | one of them |
//! | packs joined to a bus that drains, its main contacts parted | nothing | none is |
//! | stop switch seen released, where its contacts are and stay sound | nothing | it was |
//! | latched fault of the motor, where one of mast or bus forbids torque as well | nothing | it is latched |
//! | reason of a safe halt, before anything was asked for | whether it is the stop or the key | the same |
//! | reason of a safe halt, after that | nothing | any one: it only tells |
//! | condition that stands for a fault | nothing | not yet: it may have held for its limit in any next step |

mod choose;

use mastwright_core::bus::Stage;
use mastwright_core::command::Selector;
use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::Ticks;
use mastwright_core::walk::{Button, Choice, DECISIVE, Flag, Pushes, Rest, Timer, Timers, Visitor};
use mastwright_core::{Config, Fault, Faults, Halt, Sequencer, State, bus, mast};

pub use choose::{Acknowledge, Chosen, prepare, rest, ripe, ripen};

/// A running countdown, in ticks: longer than any that settings allow, so that one that
/// was started in a step is never taken for one that ran in it.
const RUNNING: Ticks = Ticks::new(60_001);
const RUN: Ticks = Ticks::new(60_000);

/// Conditions of which it is stored that they have held for their limit. Of the others it
/// is not: where one may run out at all, it may run out again in each next step, since what
/// is broken stays broken ([`may_run_out`](super::facts::may_run_out)); so that it has run
/// out already adds nothing.
const KEPT: Timers = enumset::enum_set!(Timer::Settling | Timer::BusChecked | Timer::BusDrained);

/// Stands for every safe halt whose reason decides nothing of what the controller does next.
const HALTED: State = State::Halted(Halt::NoBus);

/// How many bits the packed memory takes.
pub const BITS: u32 = 43;

/// The memory of a controller, as far as it decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Memory {
    /// Its bits.
    pub bits: u64,
    /// The timers that ran in its last step without running out: each of them may as well
    /// have run out in it.
    pub moved: Timers,
    /// The selector reads what does not count yet.
    pub unsettled: bool,
    /// The bits of packs that are joined to a bus that drains. Once the main contacts have
    /// parted nothing comes of them: they feed nothing, and are let go before they may again.
    joined: u64,
    /// The bit that says that the stop switch was seen released, where it does not. Sound
    /// contacts cannot show a fresh stop of a switch that was not.
    unreleased: u64,
}

impl Memory {
    /// What is stored of it beside main contacts that touch or not; `stop_may_lie`: a contact
    /// of the stop switch may, now or later.
    #[must_use]
    pub const fn stored(&self, main: bool, stop_may_lie: bool) -> u64 {
        let packs = if main { 0 } else { self.joined };
        let stop = if stop_may_lie { 0 } else { self.unreleased };
        self.bits & !packs | stop
    }
}

/// Packs the memory of a controller. `given`: a fresh push has been given since power-up;
/// what is remembered of the selector is then left out, and chosen anew in each step.
#[must_use]
pub fn pack(mut controller: Sequencer, given: bool, config: &Config) -> Memory {
    let mut packer = Packer {
        memory: Memory {
            bits: 0,
            moved: Timers::empty(),
            unsettled: false,
            joined: 0,
            unreleased: 0,
        },
        at: 0,
        given,
        stage: controller.bus_stage(),
        unlocked: false,
    };
    controller.walk(&mut packer, config);
    debug_assert_eq!(packer.at, BITS);
    packer.memory
}

/// The controller of a packed memory: every running timer runs, none has moved.
#[must_use]
pub fn unpack(bits: u64, config: &Config) -> Sequencer {
    let mut controller = Sequencer::default();
    controller.walk(&mut Unpacker { bits }, config);
    controller
}

/// True when the time limit of the sequencer's present state is over.
#[must_use]
pub fn is_overdue(mut controller: Sequencer, config: &Config) -> bool {
    let mut over = Overdue(false);
    controller.walk(&mut over, config);
    over.0
}

struct Packer {
    memory: Memory,
    at: u32,
    given: bool,
    stage: Stage,
    /// The lock is not proven.
    unlocked: bool,
}

impl Packer {
    fn put(&mut self, value: u64, bits: u32) {
        self.memory.bits |= value << self.at;
        self.at += bits;
    }
}

/// Whether a bus in this stage is live, or becomes so without a permission.
const fn may_be_live(stage: Stage) -> bool {
    match stage {
        Stage::Draining | Stage::Dead | Stage::Checking | Stage::Precharging => false,
        Stage::Closing | Stage::Live | Stage::Opening => true,
    }
}

/// Bits that hold a number below `count`.
const fn width(count: u8) -> u32 {
    u8::BITS - (count - 1).leading_zeros()
}

impl Visitor for Packer {
    fn state(&mut self, state: &mut State) {
        // Before anything was asked for, a halt for the reason that stands already demands
        // no fresh push, and one for another does; after that every push is a fresh one.
        let counts = matches!(state.halt(), Some(Halt::StopThrown | Halt::BenchKey));
        let number = match state.halt() {
            Some(_) if self.given || !counts => HALTED.number(),
            Some(_) | None => state.number(),
        };
        self.put(u64::from(number), width(State::COUNT));
    }

    fn flag(&mut self, flag: Flag, is_set: &mut bool) {
        let bit = 1 << self.at;
        match flag {
            Flag::LockProven => self.unlocked = !*is_set,
            Flag::StopSeenOff if !*is_set => self.memory.unreleased = bit,
            Flag::Pack1Joined | Flag::Pack2Joined if self.stage == Stage::Draining => {
                self.memory.joined |= bit;
            }
            Flag::StopSeenOff
            | Flag::Pack1Joined
            | Flag::Pack2Joined
            | Flag::Propelled
            | Flag::Gripped
            | Flag::StopOffA
            | Flag::StopOffB
            | Flag::Deaf
            | Flag::DoorsMoved
            | Flag::DrainedLate => {}
        }
        self.put(u64::from(*is_set), 1);
    }

    fn choice<T: Choice>(&mut self, value: &mut T, count: u8) {
        self.put(u64::from(value.number()), width(count));
    }

    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        self.put(u64::from(!left.is_over()), 1);
        if left.left() == RUN {
            self.memory.moved |= timer;
        }
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if timer == Timer::Parked {
            return;
        }
        if KEPT.contains(timer) {
            self.put(u64::from(held.held() >= limit), 1);
        }
        if held.held() > Ticks::ZERO && held.held() < limit {
            self.memory.moved |= timer;
        }
    }

    fn latched(&mut self, faults: &mut Faults) {
        // There is no torque without a proven lock, which a mast that is forbidden to move
        // cannot get, nor without a live bus, which one that is forbidden to close does not
        // become: whether the motor is forbidden it as well decides nothing. In the step that
        // clears faults one of the motor that goes on shows anew, and if one of mast or bus does,
        // it stands for the motor's again.
        let stands = |set: Faults| !faults.is_disjoint(set);
        let no_lock = self.unlocked && stands(mast::FORBIDDING);
        let no_bus = !may_be_live(self.stage) && stands(bus::FORBIDDING);
        for set in DECISIVE {
            let motor = set.contains(Fault::MotorUnasked);
            let is_stored = stands(set) || (motor && (no_lock || no_bus));
            self.put(u64::from(is_stored), 1);
        }
    }

    fn rest(&mut self, _timer: Timer, rest: Rest<'_>) {
        self.put(u64::from(rest.resting.number()), 2);
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        self.memory.unsettled = pushes.last != pushes.settled;
        let settled = if self.given {
            Selector::Hold
        } else {
            *pushes.settled
        };
        self.put(u64::from(settled.number()), 2);
        for flag in [pushes.seen_centred, pushes.centred, pushes.ready] {
            self.put(u64::from(self.given || *flag), 1);
        }
    }
}

struct Unpacker {
    bits: u64,
}

impl Unpacker {
    fn take(&mut self, bits: u32) -> u8 {
        let value = self.bits & ((1 << bits) - 1);
        self.bits >>= bits;
        u8::try_from(value).expect("no item takes more than eight bits")
    }

    fn flag(&mut self) -> bool {
        self.take(1) == 1
    }
}

impl Visitor for Unpacker {
    fn state(&mut self, state: &mut State) {
        *state = State::numbered(self.take(width(State::COUNT)));
    }

    fn flag(&mut self, _flag: Flag, is_set: &mut bool) {
        *is_set = Self::flag(self);
    }

    fn hysteresis(&mut self, side: &mut bool) {
        *side = true;
    }

    fn choice<T: Choice>(&mut self, value: &mut T, count: u8) {
        *value = T::numbered(self.take(width(count)));
    }

    fn countdown(&mut self, _timer: Timer, left: &mut Countdown) {
        *left = Countdown::of(if Self::flag(self) {
            RUNNING
        } else {
            Ticks::ZERO
        });
    }

    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if !KEPT.contains(timer) {
            held.restart();
            return;
        }
        *held = Sustained::of(if Self::flag(self) { limit } else { Ticks::ZERO });
    }

    fn latched(&mut self, faults: &mut Faults) {
        *faults = Faults::empty();
        for set in DECISIVE {
            if Self::flag(self) {
                // One stands for all: a fault that is there still is latched again in the
                // step that clears it, and one that is not is cleared, whichever it is.
                *faults |= set.iter().next().unwrap_or(Fault::MotorUnasked);
            }
        }
    }

    fn rest(&mut self, _timer: Timer, rest: Rest<'_>) {
        *rest.resting = Choice::numbered(self.take(2));
        *rest.left = Countdown::of(if rest.resting.is_some() {
            RUNNING
        } else {
            Ticks::ZERO
        });
    }

    fn pushes(&mut self, pushes: Pushes<'_>) {
        *pushes.settled = Selector::numbered(self.take(2));
        *pushes.last = *pushes.settled;
        *pushes.left = Countdown::default();
        for flag in [pushes.seen_centred, pushes.centred, pushes.ready] {
            *flag = Self::flag(self);
        }
    }

    fn acknowledge(&mut self, button: Button<'_>) {
        *button.seen = true;
        *button.settled = false;
        *button.candidate = false;
        *button.left = Countdown::default();
        button.clearing.restart();
    }
}

struct Overdue(bool);

impl Visitor for Overdue {
    fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
        self.0 |= timer == Timer::State && left.is_over();
    }
}

#[cfg(test)]
mod tests;
