//! A mission: a start, what the pilot does, what fails. Times are in ticks of 10 ms.

use mastwright_sim::faults::{Kind, Target};
use mastwright_sim::scenario::deed::Deed;

/// One tick, s.
pub const TICK: f64 = mastwright_sim::frame::TICK;
/// Ticks in a second.
pub const SECOND: u32 = 100;
/// How long the world is watched after the last thing a pilot does: the time a
/// stop-and-stow may take, and five seconds.
pub const TAIL: u32 = 65 * SECOND;

/// A random flight or piece of one.
#[derive(Clone, Debug, PartialEq)]
pub struct Mission {
    /// Seed of the sensors' noise and of the faults' chances.
    pub seed: u64,
    /// Where it starts.
    pub start: Start,
    /// What the pilot does, one thing after another.
    pub steps: Vec<Step>,
    /// What fails.
    pub upsets: Vec<Upset>,
    /// How it ends.
    pub ending: Ending,
}

/// Where a mission starts. The controller has just been given power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// Mast travel, %.
    pub mast: u8,
    /// The doors are open; they are whenever the mast is out.
    pub doors_open: bool,
    /// Blade angle off the mast, deg.
    pub blade_angle: u16,
    /// Shaft speed, rpm.
    pub propeller: u16,
    /// Airspeed, m/s; in flight from 15.
    pub airspeed: u8,
    /// In flight.
    pub airborne: bool,
    /// Charge of each pack, %.
    pub charge: [u8; 2],
    /// Air above the standard atmosphere, K.
    pub warmer: i8,
    /// Heat above the air of motor, motor controller and packs, K.
    pub heat: [u8; 3],
}

impl Start {
    /// Stowed on the ground, full and cold.
    pub const PLAIN: Self = Self {
        mast: 0,
        doors_open: false,
        blade_angle: 0,
        propeller: 0,
        airspeed: 0,
        airborne: false,
        charge: [95; 2],
        warmer: 0,
        heat: [0; 3],
    };
}

/// One thing a pilot does, once its time has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// When, seen from the end of the step before (of the start, for the first).
    pub wait: Wait,
    /// What.
    pub deed: Deed,
}

/// What a pilot waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// So long.
    Pause(u32),
    /// A state, and no longer than this.
    Until(&'static str, u32),
}

impl Wait {
    /// The longest it can take.
    #[must_use]
    pub const fn longest(self) -> u32 {
        match self {
            Self::Pause(ticks) | Self::Until(_, ticks) => ticks,
        }
    }
}

/// One thing that fails.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Upset {
    /// When.
    pub onset: Onset,
    /// What.
    pub target: Target,
    /// How.
    pub kind: Kind,
    /// How much; none: the kind's own.
    pub strength: Option<f64>,
    /// For how long; none: for good.
    pub duration: Option<u32>,
    /// Mean cycle of what comes and goes; none: the kind's own.
    pub cycle: Option<u32>,
}

/// When something begins to fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Onset {
    /// At this time.
    At(u32),
    /// So long after the controller first enters this state.
    In(&'static str, u32),
    /// When the mast passes this travel, %.
    Mast {
        /// Travel, %.
        passes: u8,
        /// While stowing; otherwise while deploying.
        stowing: bool,
    },
}

/// What happens after the last step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Nothing more.
    Left,
    /// When every fault has healed, hands are put right, alerts are cleared, and a stow
    /// is asked for, three times if need be.
    Recovery,
}

impl Mission {
    /// The longest its steps can take.
    #[must_use]
    pub fn longest(&self) -> u32 {
        self.steps
            .iter()
            .map(|step| step.wait.longest() + step.deed.lasting() as u32)
            .sum()
    }

    /// When everything that fails at a set time and heals by itself has healed.
    #[must_use]
    pub fn healed(&self) -> u32 {
        let ends = self.upsets.iter().map(|upset| match upset.onset {
            Onset::At(tick) => tick + upset.duration.unwrap_or(1),
            Onset::In(..) | Onset::Mast { .. } => 0,
        });
        ends.max().unwrap_or(0)
    }
}
