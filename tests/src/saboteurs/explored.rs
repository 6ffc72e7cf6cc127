//! Saboteurs in the abstract world of the exploration: all of them as one controller, so that
//! the explorer is built once.

use std::sync::atomic::{AtomicU8, Ordering};

use mastwright_core::{Config, Inputs, Outputs, Sequencer};
use mastwright_sim::explore::checks::CHECKS;
use mastwright_sim::explore::engine::{Ended, Limits, Options, Packed, Stop, explore};
use mastwright_sim::explore::explored::Explored;
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::trouble::Trouble;

use super::{Saboteur, Tamper, Trial, all};

/// What a saboteur does, as the exploration needs it.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    tells: bool,
    limits: fn(&Config) -> Config,
    step: fn(&mut u8, &mut Sequencer, &Inputs, &Config) -> Outputs,
}

impl Kind {
    /// That of a saboteur.
    #[must_use]
    pub const fn of<T: Tamper>() -> Self {
        Self {
            tells: T::TELLS,
            limits: limits::<T>,
            step: step::<T>,
        }
    }
}

fn limits<T: Tamper>(config: &Config) -> Config {
    let mut settings = config.settings();
    T::misconfigure(&mut settings);
    Config::new(settings).expect("even a saboteur's limits are within range")
}

fn step<T: Tamper>(mind: &mut u8, real: &mut Sequencer, told: &Inputs, config: &Config) -> Outputs {
    let mut tamper = T::of_mind(*mind);
    let mut believed = *told;
    tamper.mislead(&mut believed);
    let mut outputs = real.step(&believed, config);
    tamper.overrule(told, &mut outputs);
    *mind = tamper.mind();
    outputs
}

/// Which saboteur is explored: a controller that wakes is not told. One at a time.
static EXPLORED: AtomicU8 = AtomicU8::new(0);

/// Which saboteur it is, and what it remembers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct Mind {
    which: u8,
    holds: u8,
}

impl Default for Mind {
    fn default() -> Self {
        Self {
            which: EXPLORED.load(Ordering::Relaxed),
            holds: 0,
        }
    }
}

impl Packed for Mind {
    type Bytes = [u8; 2];

    fn to_bytes(&self) -> Self::Bytes {
        [self.which, self.holds]
    }

    fn from_bytes(&[which, holds]: &Self::Bytes) -> Self {
        Self { which, holds }
    }
}

/// Any saboteur.
#[derive(Clone, Copy, Debug)]
struct Any {
    real: Sequencer,
    mind: Mind,
}

fn kind(which: u8) -> Kind {
    let saboteur = all().nth(which.into()).expect("it is in the table");
    match saboteur.trial {
        Trial::Flown { kind, .. } => kind,
        Trial::Checked { .. } => unreachable!("only those that fly are explored"),
    }
}

impl Explored for Any {
    type Mind = Mind;

    fn limits(config: &Config) -> Config {
        (kind(Mind::default().which).limits)(config)
    }

    fn recall(real: Sequencer, mind: Mind) -> Self {
        Self { real, mind }
    }

    fn memory(&self) -> (Sequencer, Mind) {
        (self.real, self.mind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let Mind { which, holds } = &mut self.mind;
        (KINDS.with(|kinds| kinds[usize::from(*which)].step))(holds, &mut self.real, inputs, config)
    }
}

thread_local! {
    static KINDS: Vec<Kind> = all()
        .map(|saboteur| match saboteur.trial {
            Trial::Flown { kind, .. } => kind,
            Trial::Checked { .. } => Kind::of::<Honest>(),
        })
        .collect();
}

/// Nothing is wrong.
#[derive(Clone, Default)]
struct Honest;

impl Tamper for Honest {}

/// What came of exploring a saboteur.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// It breaks its check in this many transitions, with this broken besides.
    In(u32, Option<Trouble>),
    /// It is not explored, or not caught, and why.
    Not(&'static str),
    /// It is not caught, and nothing says why.
    Missed,
}

/// Those that the abstract world cannot show, and why.
const BLIND: &[(&str, &str)] = &[
    (
        "misses-lost-lock",
        "a proven lock is lost only to a drive that acts by itself, which it does not know",
    ),
    (
        "re-arms-itself",
        "the throttle is not varied where the real controller does not read it",
    ),
    (
        "takes-held-selector",
        "a selector that is read otherwise than it stands settles on nothing there",
    ),
    ("short-rest", "it is wrong in a time"),
    ("patient", "it is wrong in a time"),
    (
        "closes-early",
        "it is wrong in a number, within a class of the bus",
    ),
    (
        "feels-no-current",
        "currents of drives that jam have no class of their own",
    ),
    ("hides-fans", "the abstract world has no fans"),
    (
        "ignores-stow",
        "of pushes to stow only those that the controller was told count",
    ),
    (
        "trusts-one-track",
        "the throttle is open or closed, and a track that lies in between has no class",
    ),
];

/// What must be broken besides, for a check to be put to the test.
const BESIDES: &[(&str, &[Trouble])] = &[
    ("SR-01", &[Trouble::LockSwitch]),
    ("SR-02", &[Trouble::AngleA]),
    ("SR-04", &[Trouble::InsulationLow]),
    (
        "SR-11",
        &[Trouble::AngleA, Trouble::LeftOpen, Trouble::ThrottleA],
    ),
    ("SR-12", &[Trouble::StowedSwitch]),
    ("SR-13", &[Trouble::MastStuck, Trouble::DoorsStuck]),
    ("SR-16", &[Trouble::LateTicks]),
    ("SR-18", &[Trouble::DischargeOpen]),
    ("SR-20", &[Trouble::StowedSwitch]),
    ("SR-21", &[Trouble::MainWelded]),
    ("HZ-1", &[Trouble::AngleA]),
];

/// How far a saboteur is followed while something is broken, in transitions.
const DEPTH: u32 = 9;
/// How many states of a saboteur are looked at, at most.
const STATES: u64 = 450_000;

/// Explores saboteur number `which` of the table until it breaks its check.
#[must_use]
pub fn look(which: u8, saboteur: &Saboteur) -> Seen {
    let Trial::Flown { kind, .. } = saboteur.trial else {
        return Seen::Not("its trial is a check of its own, not a flight");
    };
    let Some(bit) = CHECKS.iter().position(|check| check.id == saboteur.breaks) else {
        return Seen::Not("the abstract world does not judge it");
    };
    if !kind.tells {
        return Seen::Not("it remembers more than a number");
    }
    EXPLORED.store(which, Ordering::Relaxed);
    if let Some(depth) = shortest(bit, None, u32::MAX) {
        return Seen::In(depth, None);
    }
    let besides = BESIDES.iter().filter(|(id, _)| *id == saboteur.breaks);
    for &trouble in besides.flat_map(|(_, troubles)| *troubles) {
        if let Some(depth) = shortest(bit, Some(trouble), DEPTH) {
            return Seen::In(depth, Some(trouble));
        }
    }
    let known = BLIND.iter().find(|(name, _)| *name == saboteur.name);
    known.map_or(Seen::Missed, |(_, why)| Seen::Not(why))
}

fn shortest(bit: usize, besides: Option<Trouble>, depth: u32) -> Option<u32> {
    let among: Vec<Trouble> = besides.into_iter().collect();
    let space = Aircraft::<Any>::new(&Config::default(), among.len(), among);
    let options = Options {
        stop: Stop::Any(1 << bit),
        limits: Limits {
            depth: Some(depth),
            states: Some(STATES),
            bytes: None,
        },
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |_| {}).expect("no file is used");
    assert_ne!(found.ended, Ended::Interrupted);
    found
        .broken
        .get(u32::try_from(bit).expect("a small number"))
        .map(|broken| broken.depth)
}
