//! Controllers that are wrong on purpose, for the exploration: without memory of their
//! own, so that they add nothing to its space. Each shows that a check can fail.

use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::outputs::{DoorDrive, MastDrive, Motor, Pace};
use mastwright_core::signal::Signal;
use mastwright_core::timer::Sustained;
use mastwright_core::units::{CentiDegrees, DeciMetresPerSecond, Permille, Rpm, Ticks};
use mastwright_core::walk::{Timer, Visitor};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, State};
use mastwright_sim::explore::explored::{Explored, NoMind};
use mastwright_sim::explore::trouble::Trouble;

/// A wrong controller: what it believes and does instead, and what that must break.
#[derive(Clone, Copy, Debug)]
pub struct Wrong {
    /// Its name.
    pub name: &'static str,
    /// The check that it breaks.
    pub breaks: &'static str,
    /// What must be broken besides for that to show.
    pub trouble: Option<Trouble>,
    /// It takes the parking proof for complete wherever its beliefs allow it.
    proves: bool,
    believes: fn(&mut Inputs),
    does: fn(&mut Outputs),
}

const fn does(name: &'static str, breaks: &'static str, does: fn(&mut Outputs)) -> Wrong {
    Wrong {
        name,
        breaks,
        trouble: None,
        proves: false,
        believes: |_| {},
        does,
    }
}

const fn believes(name: &'static str, breaks: &'static str, believes: fn(&mut Inputs)) -> Wrong {
    Wrong {
        name,
        breaks,
        trouble: None,
        proves: false,
        believes,
        does: |_| {},
    }
}

/// Every wrong controller.
pub const ALL: [Wrong; 16] = [
    does("thrusts while rising", "SR-01", |outputs| {
        if matches!(outputs.drives.mast, MastDrive::Extend(_)) {
            outputs.drives.motor = Motor::Thrust(Permille::FULL);
        }
    }),
    does("raises its mast at rest", "SR-05", |outputs| {
        if outputs.indications.state == State::Resting {
            outputs.drives.mast = MastDrive::Extend(Pace::Full);
        }
    }),
    does("makes the bus live by itself", "SR-04", |outputs| {
        outputs.drives.bus.main = true;
    }),
    does("closes its doors as the mast rises", "SR-09", |outputs| {
        if matches!(outputs.drives.mast, MastDrive::Extend(_)) {
            outputs.drives.doors = DoorDrive::Close;
        }
    }),
    believes("takes its doors for open", "HZ-3", |inputs| {
        inputs.doors.left_open = Signal::fresh(true);
        inputs.doors.right_open = Signal::fresh(true);
        inputs.doors.shut = Signal::fresh(false);
    }),
    does("moves in a safe halt", "SR-14", |outputs| {
        if matches!(outputs.indications.state, State::Halted(_)) {
            outputs.drives.mast = MastDrive::Extend(Pace::Full);
        }
    }),
    Wrong {
        trouble: Some(Trouble::LateTicks),
        ..believes("is never late", "SR-16", |inputs| {
            inputs.missed_deadline = false;
        })
    },
    does("shows the bus dead", "SR-18", |outputs| {
        outputs.indications.bus_dead = true;
    }),
    does("charges always", "SR-19", |outputs| {
        outputs.drives.aux_charger = true;
    }),
    Wrong {
        trouble: Some(Trouble::StowedSwitch),
        ..does("hides every fault", "SR-20", |outputs| {
            outputs.indications.faults = Faults::empty();
            outputs.indications.sounding = Faults::empty();
        })
    },
    believes("takes the air for slow", "SR-23", |inputs| {
        inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO);
    }),
    does("knows one pace", "SR-24", |outputs| {
        outputs.drives.mast = match outputs.drives.mast {
            MastDrive::Off => MastDrive::Off,
            MastDrive::Extend(_) => MastDrive::Extend(Pace::Full),
            MastDrive::Retract(_) => MastDrive::Retract(Pace::Full),
        };
    }),
    Wrong {
        proves: true,
        ..believes("takes its blade for parked", "HZ-1", |inputs| {
            inputs.propeller.angle_a = Signal::fresh(CentiDegrees::ZERO);
            inputs.propeller.angle_b = Signal::fresh(CentiDegrees::ZERO);
            inputs.propeller.speed = Signal::fresh(Rpm::ZERO);
        })
    },
    Wrong {
        proves: true,
        trouble: Some(Trouble::AngleA),
        ..believes("takes one angle for both", "HZ-1", |inputs| {
            inputs.propeller.angle_b = inputs.propeller.angle_a;
        })
    },
    does("closes its doors on the mast", "SR-09", |outputs| {
        if matches!(outputs.drives.mast, MastDrive::Retract(_)) {
            outputs.drives.doors = DoorDrive::Close;
            outputs.drives.door_power = true;
        }
    }),
    does(
        "closes its doors on a mast at rest by belief",
        "HZ-3",
        |outputs| {
            let only_waits = outputs.denials.iter().any(|denial| {
                denial.permission == Permission::CloseDoors && denial.reasons == Reason::DeadTime
            });
            if only_waits {
                outputs.drives.doors = DoorDrive::Close;
                outputs.drives.door_power = true;
            }
        },
    ),
];

/// The places in [`ALL`] of those that are put to the peer as well.
pub mod of_the_peer {
    /// Takes its blade for parked.
    pub const PARKED: usize = 12;
    /// Takes one angle for both.
    pub const ONE_ANGLE: usize = 13;
    /// Closes its doors on a mast that comes down.
    pub const ON_THE_MAST: usize = 14;
    /// Closes its doors behind a mast that was just raised, and may still coast.
    pub const BEHIND_COASTING: usize = 15;
}

/// Lets the parking proof be complete as soon as the readings allow it.
struct Complete;

impl Visitor for Complete {
    fn sustained(&mut self, timer: Timer, held: &mut Sustained, limit: Ticks) {
        if timer == Timer::Parked {
            *held = Sustained::of(limit);
        }
    }
}

/// Number `N` of [`ALL`].
#[derive(Clone, Copy, Debug)]
pub struct Number<const N: usize>(Sequencer);

impl<const N: usize> Explored for Number<N> {
    type Mind = NoMind;

    fn recall(real: Sequencer, _mind: NoMind) -> Self {
        Self(real)
    }

    fn memory(&self) -> (Sequencer, NoMind) {
        (self.0, NoMind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let mut believed = *inputs;
        (ALL[N].believes)(&mut believed);
        if ALL[N].proves {
            self.0.walk(&mut Complete, config);
        }
        let mut outputs = self.0.step(&believed, config);
        (ALL[N].does)(&mut outputs);
        outputs
    }
}
