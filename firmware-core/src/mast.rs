//! The mast: where it is, whether its sensors can be believed, how it is driven.
//!
//! Responsibilities:
//! 1. Prove the ends from switch *and* position, and the lock by driving against it
//!    while its switch shows it; a contradiction proves nothing and latches a fault
//!    (SR-12).
//! 2. See that a driven mast moves the way it is driven, and a resting one rests.
//! 3. Drive it, with the dead time, the time limit and the current limit of its axis.

use crate::axis::{Axis, Limits, Way};
use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::MastSensors;
use crate::interlock::{Condition, Conditions};
use crate::outputs::{MastDrive, Pace};
use crate::timer::{Countdown, Sustained};
use crate::units::{Permille, Ticks};

/// Faults that forbid driving the mast until they are cleared on purpose.
pub const FORBIDDING: Faults = enumset::enum_set!(
    Fault::MastContradiction
        | Fault::MastSensorLost
        | Fault::MastOverload
        | Fault::MastOverdue
        | Fault::MastNotFollowing
        | Fault::MastUnasked
);

/// The mast's axis and what must be remembered to judge it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Mast {
    axis: Axis,
    pace: Pace,
    contradicted: Sustained,
    lost: Sustained,
    motion: Motion,
    lock: Lock,
}

/// Whether the pin that locks the deployed mast has engaged.
///
/// Its switch alone does not say so: one that fails closed while the mast stands a little
/// off its end, left there by hand, would stand for a pin that is out. A drive that has run
/// outward for a moment since, has taken the mast to its end, and the pin in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
struct Lock {
    /// How long the mast has been driven out while the lock showed.
    pressed: Sustained,
    /// It was, for its whole time, and has shown its lock and not been driven in since.
    proven: bool,
}

/// Watches that motion and drive belong together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
struct Motion {
    /// What was driven when the present window began.
    driven: Option<Way>,
    /// Position the present window is compared with, on a grid of [`GRID`].
    reference: Option<Permille>,
    window: Countdown,
}

/// The reference is kept no finer than this, ‰: the guards cannot tell more apart,
/// and a state that keeps sensor noise would never come back to itself.
const GRID: i16 = 4;

fn on_grid(position: Permille) -> Permille {
    let rest = position.get().checked_rem_euclid(GRID).unwrap_or(0);
    position.minus(Permille::new(rest))
}

impl Mast {
    /// Reads the sensors for one tick; adds what they prove and the faults they show.
    ///
    /// Returns whether the lock shows and is still to be proven, by driving out.
    pub fn observe(
        &mut self,
        sensors: &MastSensors,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> bool {
        let limit = config.stale_after;
        let position = sensors.position.proven(limit);
        let stowed = sensors.stowed_switch.proven(limit);
        let deployed = sensors.deployed_switch.proven(limit);
        let lock = sensors.lock_switch.proven(limit);
        let current = sensors.drive_current.proven(limit);

        let contradiction = contradicts(position, stowed, deployed, lock, config);
        let lost = position.is_none()
            || stowed.is_none()
            || deployed.is_none()
            || lock.is_none()
            || current.is_none();
        if let (Some(position), Some(stowed), Some(deployed), false, false) =
            (position, stowed, deployed, contradiction, lost)
        {
            prove(position, stowed, deployed, config, proven);
        }
        let lock_shows = lock == Some(true) && proven.contains(Condition::MastDeployed);
        let pushed = self.axis.driven().map(|way| (way, self.pace));
        if self.lock.observe(lock_shows, pushed, config) {
            *proven |= Condition::MastLocked;
        }

        let after = config.fault_after.ticks();
        if self.contradicted.feed(contradiction, after) {
            *active |= Fault::MastContradiction;
        }
        if self.lost.feed(lost, after) {
            *active |= Fault::MastSensorLost;
        }
        let shown = self.axis.observe(current, &self.limits(config));
        if shown.overloaded {
            *active |= Fault::MastOverload;
        }
        if shown.overdue {
            *active |= Fault::MastOverdue;
        }
        *active |= self
            .motion
            .judge(position, self.axis.driven(), self.window(config), config);
        if self.axis.rested(Way::Out) {
            *proven |= Condition::ExtendRested;
        }
        if self.axis.rested(Way::In) {
            *proven |= Condition::RetractRested;
        }
        lock_shows && !self.lock.proven
    }

    /// Drives the mast, or lets it rest.
    pub fn drive(&mut self, way: Option<Way>, pace: Pace, config: &Config) -> MastDrive {
        if way.is_some() {
            self.pace = pace;
        }
        let limits = self.limits(config);
        self.axis.command(way, &limits);
        match way {
            None => MastDrive::Off,
            Some(Way::Out) => MastDrive::Extend(pace),
            Some(Way::In) => MastDrive::Retract(pace),
        }
    }

    /// True while the mast was driven in the previous tick.
    #[must_use]
    pub const fn is_driven(&self) -> bool {
        self.axis.driven().is_some()
    }

    /// How long motion is watched before it is judged: at the slow pace four times as
    /// long, for the same travel.
    fn window(&self, config: &Config) -> Ticks {
        let full = config.mast_follow_window.ticks();
        match self.pace {
            Pace::Full => full,
            Pace::Slow => full.plus(full).plus(full).plus(full),
        }
    }

    fn limits(&self, config: &Config) -> Limits {
        Limits {
            dead_time: config.dead_time.ticks(),
            run: match self.pace {
                Pace::Full => config.mast_time.ticks(),
                Pace::Slow => config.mast_time_slow.ticks(),
            },
            overload: config.mast_overload,
            overload_after: config.overload_after.ticks(),
        }
    }
}

/// True when two readings that are heard cannot both be so.
fn contradicts(
    position: Option<Permille>,
    stowed: Option<bool>,
    deployed: Option<bool>,
    lock: Option<bool>,
    config: &Config,
) -> bool {
    let is = |reading: Option<bool>| reading == Some(true);
    let above = position
        .is_some_and(|position| position > config.mast_stowed_max.plus(config.mast_switch_margin));
    let below = position.is_some_and(|position| {
        position < config.mast_deployed_min.minus(config.mast_switch_margin)
    });
    let both_ends = is(stowed) && (is(deployed) || is(lock));
    let lock_without_end = is(lock) && deployed == Some(false);
    both_ends || lock_without_end || (is(stowed) && above) || ((is(deployed) || is(lock)) && below)
}

/// Adds what consistent readings prove.
fn prove(
    position: Permille,
    stowed: bool,
    deployed: bool,
    config: &Config,
    proven: &mut Conditions,
) {
    *proven |= Condition::MastConsistent;
    if stowed && position <= config.mast_stowed_max {
        *proven |= Condition::MastStowed;
    }
    if !stowed && position >= config.mast_clear_min {
        *proven |= Condition::MastClear;
    }
    if deployed && position >= config.mast_deployed_min {
        *proven |= Condition::MastDeployed;
    }
}

impl Lock {
    /// One tick, in which the lock shows or does not, after one in which the mast was
    /// driven one way or not at all. Returns whether it is proven.
    fn observe(&mut self, shows: bool, driven: Option<(Way, Pace)>, config: &Config) -> bool {
        // The slow pace of Bench would take it less far in the same time.
        let out = driven == Some((Way::Out, Pace::Full));
        let drawn = driven.is_some_and(|(way, _)| way == Way::In);
        let pressed = self.pressed.feed(shows && out, config.lock_proof.ticks());
        self.proven = shows && !drawn && (self.proven || pressed);
        if self.proven {
            self.pressed.restart();
        }
        self.proven
    }
}

impl Motion {
    fn judge(
        &mut self,
        position: Option<Permille>,
        driven: Option<Way>,
        window: Ticks,
        config: &Config,
    ) -> Faults {
        let Some(position) = position else {
            *self = Self::default();
            return Faults::empty();
        };
        let (Some(reference), true) = (self.reference, self.driven == driven) else {
            self.begin(position, driven, window);
            return Faults::empty();
        };
        self.window.tick();
        match driven {
            Some(way) if self.window.is_over() => {
                let advance = match way {
                    Way::Out => position.minus(reference),
                    Way::In => reference.minus(position),
                };
                self.begin(position, driven, window);
                if advance < config.mast_follow_min {
                    return Fault::MastNotFollowing.into();
                }
            }
            // A mast that was just driven may coast through its first window.
            None if self.window.is_over() => {
                if !position.within(reference, config.mast_rest_max) {
                    // What is latched is the motion. From here on the mast is judged by
                    // where it rests now, or the fault could never be cleared.
                    self.begin(position, driven, window);
                    return Fault::MastUnasked.into();
                }
            }
            None => self.reference = Some(on_grid(position)),
            Some(_) => {}
        }
        Faults::empty()
    }

    fn begin(&mut self, position: Permille, driven: Option<Way>, window: Ticks) {
        self.driven = driven;
        self.reference = Some(on_grid(position));
        self.window = Countdown::of(window);
    }
}

#[cfg(feature = "walk")]
mod walk {
    use super::{Config, Mast, Pace};
    use crate::walk::{Choice, Flag, Motion, Timer, Visitor};

    impl Choice for Pace {
        fn number(self) -> u8 {
            match self {
                Self::Full => 0,
                Self::Slow => 1,
            }
        }

        fn numbered(number: u8) -> Self {
            if number == 1 { Self::Slow } else { Self::Full }
        }
    }

    impl Mast {
        pub(crate) fn walk(&mut self, visitor: &mut impl Visitor, config: &Config) {
            // The pace of a drive that is off decides nothing: the next drive sets it.
            if !self.is_driven() {
                self.pace = Pace::Full;
            }
            visitor.choice(&mut self.pace, 2);
            let limits = self.limits(config);
            let timers = [Timer::MastRest, Timer::MastRun, Timer::MastOverload];
            self.axis.walk(visitor, timers, &limits);
            let after = config.fault_after.ticks();
            visitor.sustained(Timer::MastContradicted, &mut self.contradicted, after);
            visitor.sustained(Timer::MastLost, &mut self.lost, after);
            let proof = config.lock_proof.ticks();
            visitor.sustained(Timer::Lock, &mut self.lock.pressed, proof);
            visitor.flag(Flag::LockProven, &mut self.lock.proven);
            visitor.motion(Motion {
                drive: self.axis.driven(),
                driven: &mut self.motion.driven,
                reference: &mut self.motion.reference,
                window: &mut self.motion.window,
            });
        }
    }
}

#[cfg(test)]
mod tests;
