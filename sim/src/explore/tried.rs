//! Which hands are tried: of those of which the same comes, one ([`Matters::plain`]).
//!
//! `tests/tests/exploration_memory.rs` tries whether it is the same.

mod blade;

use std::cell::RefCell;
use std::rc::Rc;

use enumset::enum_set;
use mastwright_core::{Faults, State};
use rustc_hash::FxHashMap;

use super::cases::{Cases, Several};
use super::hands::{Air, Hands, Heat, Push};
use super::memory::Acknowledge;
use super::plant::{Doors, Mast};
use super::space::World;
use super::trouble::Trouble;
use super::watch::{Asked, Stop};

/// What decides which hands must be tried in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Matters {
    /// The state that the step begins in.
    pub state: State,
    /// A fault is latched that forbids something.
    pub latched: bool,
    /// A fresh push was given since power-up; before that what it takes to count as one is
    /// remembered, and the observer looks at the charge request too.
    pub asked: bool,
    /// A stop forbids nothing any more, so that to ask for Deploy ends nothing.
    pub free: bool,
    /// Mast and doors may be told stowed, which leads to `Stowed`.
    pub stowed: bool,
    /// A contact of the selector may lie, or it may linger between two positions, so that it
    /// may read what it is not at.
    pub misread: bool,
    /// Both contacts of the stop switch may lie, so that a stop may be heard that is none, or
    /// not be heard.
    pub misheard: bool,
}

/// What may let mast and doors be told stowed.
const TELLS_STOWED: Cases = enum_set!(
    Trouble::MastPosition
        | Trouble::StowedSwitch
        | Trouble::DeployedSwitch
        | Trouble::LockSwitch
        | Trouble::LeftOpen
        | Trouble::RightOpen
        | Trouble::ShutSwitch
);
/// What may let the selector read what it is not at.
const TELLS_SELECTOR: Cases = enum_set!(
    Trouble::SelectHold | Trouble::SelectDeploy | Trouble::SelectStow | Trouble::SelectorLingers
);

/// The ways in which the cases of a world may differ in what matters: each of three things
/// may be misled or not, one bit of a way's number for each.
const WAYS: usize = 8;
const STOWED: usize = 1;
const MISREAD: usize = 2;
const MISHEARD: usize = 4;

/// The hands that are tried at a node, and in which of its cases.
#[derive(Clone, Debug)]
pub struct Tried {
    hands: InWays,
    /// The cases of each way.
    cases: [Cases; WAYS],
}

impl Tried {
    /// The hands, each with the cases in which it is tried, and those in which it is tried in
    /// air that is too fast as well, where that may decide.
    pub fn iter(&self) -> impl Iterator<Item = (&Hands, Cases, Cases)> {
        let cases = |ways: u8| {
            let cases = (0..).zip(self.cases);
            let tried = cases.filter(move |(way, _)| ways >> way & 1 == 1);
            tried.map(|(_, cases)| cases).collect()
        };
        let all = self.hands.iter();
        all.map(move |hands| (&hands.hands, cases(hands.ways), cases(hands.too_fast)))
    }
}

/// Hands, and the ways in which they are tried, a bit for each.
#[derive(Clone, Copy, Debug)]
struct InWay {
    hands: Hands,
    ways: u8,
    /// The ways in which they are tried in air that is too fast.
    too_fast: u8,
}

type InWays = Rc<[InWay]>;

/// What decides in the plainest way, and the ways that there are.
type Situation = (Matters, u8);

thread_local! {
    /// The hands to be tried, found once for each of the few dozen situations.
    static TRIED: RefCell<FxHashMap<Situation, InWays>> = RefCell::default();
}

impl Matters {
    /// What decides in a step that begins so.
    #[must_use]
    pub fn of(state: State, latched: Faults, world: &World) -> Self {
        let cases = Self::cases(world, Several::one(world.troubles));
        let way = cases.iter().position(|cases| !cases.is_empty());
        Self::plainest(state, latched, world).in_way(way.unwrap_or_default())
    }

    /// The hands to be tried in the cases of a world.
    #[must_use]
    pub fn tried(state: State, latched: Faults, world: &World, broken: Several) -> Tried {
        let plainest = Self::plainest(state, latched, world);
        let cases = Self::cases(world, broken);
        let of = (0..).zip(&cases).filter(|(_, cases)| !cases.is_empty());
        let ways = of.fold(0, |ways, (way, _)| ways | 1 << way);
        let hands = TRIED.with_borrow_mut(|tried| {
            let known = tried.entry((plainest, ways));
            Rc::clone(known.or_insert_with(|| plainest.hands_in(ways)))
        });
        Tried { hands, cases }
    }

    /// Everything that must be tried to come from outside; in air that is too fast only where
    /// that may decide.
    #[must_use]
    pub fn hands(self) -> Vec<Hands> {
        let all = Hands::every();
        all.filter(|hands| self.plain(*hands) == *hands).collect()
    }

    /// All hands that are tried in any of these ways.
    fn hands_in(self, ways: u8) -> InWays {
        let tried = |hands| {
            let tried = (0..WAYS).filter(|way| ways >> way & 1 == 1);
            let tried = tried.filter(|way| self.in_way(*way).plain(hands) == hands);
            tried.fold(0, |ways, way| ways | 1 << way)
        };
        let slower = Hands::every().filter(|hands| hands.air != Air::Fast);
        let of = |hands: Hands| {
            let fast = Hands {
                air: Air::Fast,
                ..hands
            };
            let within = hands.air == Air::Within;
            let tried = InWay {
                hands,
                ways: tried(hands),
                too_fast: if within { tried(fast) } else { 0 },
            };
            // Whether it is tried too fast is seen by what it drives within the range.
            debug_assert_eq!(tried.too_fast & !tried.ways, 0, "{hands:?}");
            tried
        };
        let all = slower.map(of);
        all.filter(|tried| tried.ways != 0).collect()
    }

    /// What decides where nothing is misled.
    fn plainest(state: State, latched: Faults, world: &World) -> Self {
        Self {
            state,
            latched: !latched.is_empty(),
            asked: world.watch.asked == Asked::Given,
            free: world.watch.stop == Stop::Free,
            stowed: false,
            misread: false,
            misheard: false,
        }
    }

    /// The same in one of the ways.
    const fn in_way(self, way: usize) -> Self {
        Self {
            stowed: way & STOWED != 0,
            misread: way & MISREAD != 0,
            misheard: way & MISHEARD != 0,
            ..self
        }
    }

    /// The cases of each way.
    fn cases(world: &World, broken: Several) -> [Cases; WAYS] {
        let all = broken.all();
        let plant = &world.plant;
        let stowed = if plant.mast == Mast::Stowed && plant.doors == Doors::Shut {
            all
        } else {
            broken.with_any(TELLS_STOWED)
        };
        let misread = broken.with_any(TELLS_SELECTOR);
        let misheard = broken.with(Trouble::StopA) & broken.with(Trouble::StopB);
        let misled = [(STOWED, stowed), (MISREAD, misread), (MISHEARD, misheard)];
        std::array::from_fn(|way| {
            misled.iter().fold(all, |cases, (bit, of)| {
                if way & bit == 0 {
                    cases - *of
                } else {
                    cases & *of
                }
            })
        })
    }

    /// The hands that are tried in place of these: what comes of them is the same. Where a
    /// check asks more of some hands, those stay; but for air that is too fast, which stays
    /// where the real controller may drive something.
    #[must_use]
    pub fn plain(self, hands: Hands) -> Hands {
        let hands = self.plain_heat(hands);
        let hands = match self.state {
            State::Waking => self.plain_waking(hands),
            State::Resting | State::Halted(_) => self.plain_resting(hands),
            State::Stowed => self.plain_stowed(hands),
            State::DeployPower | State::DeployPark | State::DeployDoors | State::DeployMast => {
                self.plain_deploying(hands)
            }
            State::Deployed | State::Armed | State::Thrust => Hands {
                air: Air::Within,
                ..hands
            },
            State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors => self.plain_stowing(hands),
            State::Jog => self.plain_jog(hands),
            State::Bench => return self.plain_aux(self.plain_bench(hands)),
        };
        let keyed = matches!(
            self.state,
            State::Waking | State::Resting | State::Halted(_) | State::Stowed
        );
        self.plain_aux(self.plain_button(Hands {
            key: hands.key && keyed,
            ..hands
        }))
    }

    /// Throttle and heat count where thrust may be; whoever stops with the throttle open
    /// stops from the worst.
    fn plain_heat(self, hands: Hands) -> Hands {
        let put_away = hands.stop || hands.selector == Push::Stow;
        match self.state {
            State::Deployed | State::Armed | State::Thrust if !put_away => hands,
            State::Deployed | State::Armed | State::Thrust => Hands {
                throttle: true,
                heat: Heat::Cool,
                ..hands
            },
            // Bench is not entered with the throttle open.
            State::Waking if hands.key => Hands {
                heat: Heat::Cool,
                ..hands
            },
            State::Waking
            | State::Resting
            | State::Stowed
            | State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors
            | State::Jog
            | State::Bench
            | State::Halted(_) => Hands {
                throttle: false,
                heat: Heat::Cool,
                ..hands
            },
        }
    }

    /// A press silences alerts, which decides nothing; held it clears faults, if there are
    /// any.
    fn plain_button(self, hands: Hands) -> Hands {
        let acknowledge = if self.latched && hands.acknowledge == Acknowledge::Held {
            Acknowledge::Held
        } else if self.state == State::Waking && hands.key {
            // With the key on it enters Bench.
            Acknowledge::Down
        } else {
            Acknowledge::Up
        };
        Hands {
            acknowledge,
            ..hands
        }
    }

    /// The charge request is served from the step on that leads to `Stowed`. Where it changes
    /// nothing that is stored it is on: then the charger is asked for. Until something was
    /// asked for, the observer tells one bus made live from another by it.
    fn plain_aux(self, hands: Hands) -> Hands {
        let serves = match self.state {
            State::Stowed => hands.selector != Push::Deploy || hands.stop || self.misread,
            State::Waking => self.stowed,
            State::Resting | State::StowDoors | State::Jog => {
                self.stowed && (hands.selector == Push::Hold || self.misread)
            }
            State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::Bench
            | State::Halted(_) => false,
        };
        Hands {
            aux: hands.aux || (self.asked && !serves),
            ..hands
        }
    }

    /// With the key, the button, calm air and a closed throttle Bench is entered, in which
    /// the selector moves the doors in the very step.
    fn plain_waking(self, hands: Hands) -> Hands {
        let enters = hands.key && hands.acknowledge != Acknowledge::Up;
        Hands {
            key: enters,
            throttle: enters && hands.throttle,
            air: if enters && hands.air == Air::Calm {
                Air::Calm
            } else {
                Air::Within
            },
            ..hands
        }
    }

    /// To stow may move mast or doors in the very step; to deploy makes the bus live first.
    /// With the key on no push moves anything, whichever it is.
    fn plain_resting(self, hands: Hands) -> Hands {
        let moves = match hands.selector {
            Push::Hold => self.may_stop(hands) || self.misread,
            Push::Deploy => self.may_stop(hands) || self.misread || !self.asked,
            Push::Stow => true,
        };
        let selector = if hands.key && hands.selector == Push::Deploy {
            self.unless_asked(Push::Deploy, Push::Stow)
        } else {
            hands.selector
        };
        Hands {
            selector,
            air: air_if(moves && !hands.key, hands.air),
            ..hands
        }
    }

    /// Nothing but a push to deploy leads away by hand, and moves nothing yet.
    fn plain_stowed(self, hands: Hands) -> Hands {
        let selector = self.without_stow(hands.selector);
        Hands {
            selector,
            key: hands.key && (selector == Push::Deploy || self.misread),
            air: Air::Within,
            ..hands
        }
    }

    /// A push to where it goes already changes nothing, but may end what a stop forbids. A
    /// stop ends it, whatever is pushed beside it.
    fn plain_deploying(self, hands: Hands) -> Hands {
        let again = hands.selector == Push::Deploy && !hands.stop && self.free;
        let stopped = hands.selector == Push::Stow && hands.stop && !self.misheard;
        let selector = if again || stopped {
            self.unless_asked(hands.selector, Push::Hold)
        } else {
            hands.selector
        };
        let still = self.state == State::DeployPower
            && !self.may_stop(hands)
            && hands.selector != Push::Stow
            && !self.misread;
        Hands {
            selector,
            air: air_if(!still, hands.air),
            ..hands
        }
    }

    /// A push to where it goes already changes nothing.
    fn plain_stowing(self, hands: Hands) -> Hands {
        Hands {
            selector: self.without_stow(hands.selector),
            air: air_if(true, hands.air),
            ..hands
        }
    }

    /// By hand nothing moves while nothing is pushed.
    fn plain_jog(self, hands: Hands) -> Hands {
        let moves = self.may_stop(hands) || !self.is_centred(hands);
        Hands {
            air: air_if(moves, hands.air),
            ..hands
        }
    }

    /// With the key off nothing moves; held then, the button ends Bench. With the key on a
    /// press confirms restraint; one with the key off would only content the observer.
    fn plain_bench(self, hands: Hands) -> Hands {
        if !hands.key {
            return Hands {
                selector: self.unless_asked(hands.selector, Push::Hold),
                acknowledge: match hands.acknowledge {
                    Acknowledge::Held => Acknowledge::Held,
                    Acknowledge::Up | Acknowledge::Pressed | Acknowledge::Down => Acknowledge::Up,
                },
                air: Air::Within,
                ..hands
            };
        }
        let acknowledge = match hands.acknowledge {
            Acknowledge::Held if self.latched => Acknowledge::Held,
            Acknowledge::Pressed => Acknowledge::Pressed,
            Acknowledge::Up | Acknowledge::Down | Acknowledge::Held => Acknowledge::Up,
        };
        Hands {
            acknowledge,
            air: air_if(!self.is_centred(hands), hands.air),
            ..hands
        }
    }

    /// The selector is centred, and cannot read anything else.
    fn is_centred(self, hands: Hands) -> bool {
        hands.selector == Push::Hold && !self.misread
    }

    /// A stop may be heard.
    const fn may_stop(self, hands: Hands) -> bool {
        hands.stop || self.misheard
    }

    /// A push to stow, where it changes nothing.
    const fn without_stow(self, push: Push) -> Push {
        match push {
            Push::Stow => self.unless_asked(Push::Stow, Push::Hold),
            Push::Hold | Push::Deploy => push,
        }
    }

    /// Until something was asked for, each push counts for what is remembered of it; and a
    /// selector that is pushed may be misread, one that rests in its centre not.
    const fn unless_asked(self, push: Push, plain: Push) -> Push {
        if self.asked && !self.misread {
            plain
        } else {
            push
        }
    }
}

/// The air, where mast or doors may be driven in the step; calm air is then as good as any
/// in their range. (Where they are not driven after all, what is too fast is not tried.)
const fn air_if(moves: bool, air: Air) -> Air {
    match air {
        Air::Fast if moves => Air::Fast,
        Air::Calm | Air::Within | Air::Fast => Air::Within,
    }
}
