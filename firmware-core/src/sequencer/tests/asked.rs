//! What a tick is said not to ask for decides nothing in it: whatever else holds, and whatever
//! hands and timers bring or take, it drives, goes and remembers the same with it and without.

use std::vec::Vec;

use enumset::enum_set;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng};

use crate::bus::Stage;
use crate::command::{Said, Selector};
use crate::fault::Latch;
use crate::inputs::Inputs;
use crate::interlock::{Condition, Conditions};
use crate::outputs::{DoorDrive, Drives, Indications, MastDrive, Outputs};
use crate::sequencer::{Seen, Sense, Sequencer, Turn};
use crate::signal::Signal;
use crate::timer::{Countdown, Sustained};
use crate::units::{KiloOhms, Milliamps, Millivolts, Permille, Ticks};
use crate::walk::{Choice, DECISIVE, Flag, Rest, Timer, Visitor};
use crate::{Config, Faults, Halt, Intention, State};

/// Of what the tick does, not of what it read.
const OF_TICK: Conditions = enum_set!(
    Condition::NotBench | Condition::Restrained | Condition::Armed | Condition::TorqueOff
);

/// What controls, air and heat prove: readings are told apart under hands that do nothing, and
/// tried under others.
const OF_HANDS: Conditions = enum_set!(
    Condition::AirspeedInRange
        | Condition::CoolEnough
        | Condition::ThrottleProven
        | Condition::ThrottleZero
        | Condition::StopReleased
        | Condition::AuxWanted
);
/// What may come in the tick itself, by hands or by timers that run out in it.
const MAY_COME: Conditions = enum_set!(OF_HANDS | Condition::MastLocked | Condition::DoorsShut);
/// What may go: what hands take, what a fault forbids, and a bus whose last pack is let go.
const MAY_GO: Conditions = enum_set!(
    OF_HANDS
        | Condition::MastHealthy
        | Condition::DoorsHealthy
        | Condition::BusHealthy
        | Condition::MotorObeys
        | Condition::BusLive
);

/// Draws what a tick begins with.
struct Draw(TestRng);

impl Draw {
    fn of(seed: [u8; 32]) -> Self {
        Self(TestRng::from_seed(RngAlgorithm::ChaCha, &seed))
    }

    fn below(&mut self, count: u32) -> u32 {
        self.0.random_range(0..count)
    }

    fn flag(&mut self) -> bool {
        self.below(2) == 0
    }

    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.0.random_range(0..of.len())]
    }

    fn said(&mut self) -> Said {
        let [stop, key] = [self.flag(), self.flag()];
        Said {
            intention: self.one_of(&[
                None,
                Some(Intention::Deploy),
                Some(Intention::Stow),
                Some(Intention::StopAndStow),
            ]),
            selector: self.one_of(&[
                Selector::Hold,
                Selector::Deploy,
                Selector::Stow,
                Selector::Unproven,
            ]),
            stop,
            stop_fresh: stop && self.flag(),
            acknowledged: self.flag(),
            acknowledging: self.flag(),
            clearing: self.flag(),
            bench_key: key,
            bench_key_off: !key,
            aux_charge: self.flag(),
            demand: self.one_of(&[Permille::ZERO, Permille::new(600)]),
        }
    }

    /// Some of these.
    fn some(&mut self, of: Conditions) -> Conditions {
        of.iter().filter(|_| self.below(4) == 0).collect()
    }

    fn conditions(&mut self) -> Conditions {
        let often = self.below(10);
        let of = Conditions::all().iter();
        of.filter(|_| self.below(10) < often).collect()
    }

    fn faults(&mut self) -> Faults {
        let rarely = self.one_of(&[0, 1, 5]);
        let of = Faults::all().iter();
        of.filter(|_| self.below(40) < rarely).collect()
    }

    fn inputs(&mut self) -> Inputs {
        let mut inputs = Inputs::default();
        let volts = [0, 150_000, 330_000, 400_000, 480_000].map(Millivolts::new);
        inputs.bus.voltage = self.heard(&volts);
        inputs.bus.current = self.heard(&[100, 4_000, 100_000].map(Milliamps::new));
        inputs.bus.insulation = self.heard(&[50, 1_000].map(KiloOhms::new));
        inputs.bus.main_feedback = self.heard(&[false, true]);
        for pack in &mut inputs.packs {
            pack.voltage = Signal::fresh(Millivolts::new(400_000));
            pack.charge = Signal::fresh(Permille::new(800));
        }
        inputs
    }

    fn heard<T: Copy>(&mut self, of: &[T]) -> Signal<T> {
        let signal = Signal::fresh(self.one_of(of));
        if self.flag() {
            signal
        } else {
            signal.invalidated()
        }
    }
}

/// Fills the memory of a controller.
impl Visitor for Draw {
    fn state(&mut self, state: &mut State) {
        // Halts are many, and alike.
        let count = self.one_of(&[State::Halted(Halt::NoBus).number(), State::COUNT]);
        *state = State::numbered(self.below(count.into()).try_into().unwrap());
    }

    fn flag(&mut self, _flag: Flag, is_set: &mut bool) {
        *is_set = Self::flag(self);
    }

    fn choice<T: Choice>(&mut self, value: &mut T, count: u8) {
        *value = T::numbered(self.below(count.into()).try_into().unwrap());
    }

    fn countdown(&mut self, _timer: Timer, left: &mut Countdown) {
        *left = Countdown::of(self.one_of(&[0, 1, 100].map(Ticks::new)));
    }

    fn sustained(&mut self, _timer: Timer, held: &mut Sustained, limit: Ticks) {
        *held = Sustained::of(self.one_of(&[Ticks::ZERO, limit.minus(Ticks::new(1)), limit]));
    }

    fn rest(&mut self, _timer: Timer, rest: Rest<'_>) {
        *rest.resting = Choice::numbered(self.below(3).try_into().unwrap());
        *rest.left = Countdown::of(self.one_of(&[1, 100].map(Ticks::new)));
    }

    fn latched(&mut self, faults: &mut Faults) {
        *faults = self.faults();
    }
}

/// A controller that has read, and what it has seen.
struct Begun {
    controller: Sequencer,
    inputs: Inputs,
    seen: Seen,
    config: Config,
}

impl Begun {
    fn of(draw: &mut Draw) -> Self {
        let config = Config::default();
        let mut controller = Sequencer::wake(Faults::empty(), &config);
        controller.walk(draw, &config);
        let inputs = draw.inputs();
        let mut seen = controller.read(&inputs, &config);
        seen.said = draw.said();
        seen.active = draw.faults();
        seen.thrust_limit = draw.one_of(&[Permille::ZERO, Permille::FULL]);
        seen.slow_air = draw.flag();
        seen.lock_to_prove = draw.flag();
        seen.proven = draw.conditions() - OF_TICK;
        if controller.bus.stage() != Stage::Live {
            seen.proven -= Condition::BusLive;
        }
        Self {
            controller,
            inputs,
            seen,
            config,
        }
    }

    fn sense(&self, seen: &Seen) -> Sense {
        let asks = self.controller.asks(Turn::of(&seen.said));
        self.makes(seen).where_asked(&asks)
    }

    fn makes(&self, seen: &Seen) -> Sense {
        self.controller.makes(seen, &self.config)
    }

    /// The same with everything otherwise that may be without coming to something else.
    fn otherwise(&self, may: impl Fn(&Seen) -> bool) -> Seen {
        let mut seen = self.seen;
        let mut take = |other: &dyn Fn(&mut Seen)| {
            let mut next = seen;
            other(&mut next);
            if may(&next) {
                seen = next;
            }
        };
        let live = self.controller.bus.stage() == Stage::Live;
        for condition in Conditions::all() - OF_TICK {
            if condition != Condition::BusLive || live {
                take(&|seen| seen.proven ^= condition);
            }
        }
        take(&|seen| seen.slow_air = !seen.slow_air);
        take(&|seen| seen.lock_to_prove = !seen.lock_to_prove);
        take(&|seen| seen.thrust_limit = Permille::FULL.minus(seen.thrust_limit));
        seen
    }

    /// What comes of it, but for what only tells of proofs and denials.
    fn comes(&self, seen: Seen) -> (Sequencer, Outputs) {
        let mut controller = self.controller;
        let mut outputs = controller.act(seen, &self.inputs, &self.config);
        outputs.denials.clear();
        outputs.proven = Conditions::empty();
        outputs.indications.parked = false;
        outputs.indications.mast_locked = false;
        (controller, outputs)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100_000))]

    #[test]
    fn what_is_not_asked_for_decides_nothing(seed in any::<[u8; 32]>()) {
        let draw = &mut Draw::of(seed);
        let begun = Begun::of(draw);
        let came_to = begun.sense(&begun.seen);
        let other = begun.otherwise(|seen| begun.sense(seen) == came_to);
        let (come, go) = (draw.some(MAY_COME), draw.some(MAY_GO));
        let [one, two] = [begun.seen, other].map(|mut seen| {
            seen.proven = (seen.proven | come) - go;
            seen.lock_to_prove &= !come.contains(Condition::MastLocked);
            seen
        });
        prop_assert_eq!(begun.comes(one), begun.comes(two), "{:?} {:?}", one, two);
    }

    #[test]
    fn what_a_tick_may_ask_holds_what_it_asks(seed in any::<[u8; 32]>()) {
        let begun = Begun::of(&mut Draw::of(seed));
        let asks = begun.controller.asks(Turn::of(&begun.seen.said));
        let may = begun.makes(&begun.seen).where_asked(&begun.controller.may_ask());
        prop_assert_eq!(may.where_asked(&asks), begun.sense(&begun.seen), "{:?}", begun.seen);
    }

    #[test]
    fn where_nothing_is_driven_the_airspeed_decides_only_where_it_leads(seed in any::<[u8; 32]>()) {
        let begun = Begun::of(&mut Draw::of(seed));
        let mut within = begun.seen;
        within.proven |= Condition::AirspeedInRange;
        let mut fast = begun.seen;
        fast.proven -= Condition::AirspeedInRange;
        let (within, fast) = (begun.comes(within), begun.comes(fast));
        let Drives { mast, doors, .. } = within.1.drives;
        let driven = mast != MastDrive::Off || doors != DoorDrive::Off;
        if !driven && !begun.controller.airspeed_leads(Turn::of(&begun.seen.said)) {
            prop_assert_eq!(within, fast, "{:?}", begun.seen);
        }
    }
}

/// Of faults that forbid the same, one more decides nothing but what is told.
#[test]
fn which_of_the_faults_that_forbid_the_same_is_active_decides_nothing() {
    let mut draw = Draw::of([3; 32]);
    let mut more = 0;
    for _ in 0..200_000 {
        let begun = Begun::of(&mut draw);
        let mut seen = begun.seen;
        for set in DECISIVE {
            if !seen.active.is_disjoint(set) {
                seen.active |= draw.one_of(&set.iter().collect::<Vec<_>>());
            }
        }
        more += u32::from(seen != begun.seen);
        let [one, two] = [begun.seen, seen].map(|seen| {
            let (mut controller, mut outputs) = begun.comes(seen);
            let stands = |set: Faults| !controller.latched().is_disjoint(set);
            let latched = DECISIVE.map(stands);
            controller.latch = Latch::default();
            if controller.state.halt().is_some() {
                controller.state = State::Halted(Halt::NoBus);
            }
            outputs.indications = Indications::default();
            outputs.events.clear();
            outputs.events_lost = 0;
            (controller, outputs, latched)
        });
        assert_eq!(one, two, "{:?}", begun.seen);
    }
    assert!(more > 10_000, "{more}");
}

/// Of what is asked for each decides somewhere, and the rest is turned over; otherwise the first
/// test could not fail. (That each row asks for no more than it must is not tried: it would only
/// cost time.)
#[test]
fn each_condition_that_is_asked_for_decides_somewhere() {
    let mut draw = Draw::of([7; 32]);
    let (mut decides, mut unlike) = (Conditions::empty(), 0);
    for _ in 0..100_000 {
        let begun = Begun::of(&mut draw);
        let (came_to, came) = (begun.sense(&begun.seen), begun.comes(begun.seen));
        let other = begun.otherwise(|seen| begun.sense(seen) == came_to);
        unlike += u32::from(other != begun.seen);
        for condition in Conditions::all() - OF_TICK {
            let mut seen = begun.seen;
            seen.proven ^= condition;
            if begun.sense(&seen) != came_to && begun.comes(seen) != came {
                decides |= condition;
            }
        }
    }
    assert!(unlike > 90_000, "{unlike}");
    // It only leads to the proof of the lock.
    let never = OF_TICK | Condition::MastDeployed;
    assert_eq!(Conditions::all() - decides, never);
}
