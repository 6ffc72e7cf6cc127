//! The mast: where it is, whether its sensors can be believed, how it is driven.
//!
//! Responsibilities:
//! 1. Prove the ends from switch *and* position, the lock from its switch as well;
//!    a contradiction proves nothing and latches a fault (SR-12).
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
    pub fn observe(
        &mut self,
        sensors: &MastSensors,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
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
        if let (Some(position), Some(stowed), Some(deployed), Some(lock), false, false) =
            (position, stowed, deployed, lock, contradiction, lost)
        {
            prove(position, stowed, deployed, lock, config, proven);
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
    lock: bool,
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
        if lock {
            *proven |= Condition::MastLocked;
        }
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
    use crate::walk::{Choice, Motion, Timer, Visitor};

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
mod tests {
    use super::*;
    use crate::signal::Signal;
    use crate::units::Milliamps;

    fn sensors(position: i16) -> MastSensors {
        MastSensors {
            position: Signal::fresh(Permille::new(position)),
            stowed_switch: Signal::fresh(position < 8),
            deployed_switch: Signal::fresh(position > 992),
            lock_switch: Signal::fresh(position >= 1000),
            drive_current: Signal::fresh(Milliamps::ZERO),
        }
    }

    fn observe(mast: &mut Mast, sensors: &MastSensors) -> (Conditions, Faults) {
        let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
        mast.observe(sensors, &Config::default(), &mut proven, &mut active);
        (proven, active)
    }

    fn proven(sensors: &MastSensors) -> Conditions {
        observe(&mut Mast::default(), sensors).0
    }

    #[test]
    fn an_end_is_proven_by_switch_and_position_together() {
        assert!(proven(&sensors(0)).contains(Condition::MastStowed));
        assert!(proven(&sensors(1000)).contains(Condition::MastLocked));
        let mut no_switch = sensors(0);
        no_switch.stowed_switch = Signal::fresh(false);
        assert!(!proven(&no_switch).contains(Condition::MastStowed));
        let mut no_lock = sensors(1000);
        no_lock.lock_switch = Signal::fresh(false);
        let without = proven(&no_lock);
        assert!(without.contains(Condition::MastDeployed));
        assert!(!without.contains(Condition::MastLocked));
    }

    #[test]
    fn contradictions_prove_nothing() {
        type Change = fn(&mut MastSensors);
        let changes: [(i16, Change); 5] = [
            (500, |s| s.stowed_switch = Signal::fresh(true)),
            (500, |s| s.deployed_switch = Signal::fresh(true)),
            (500, |s| s.lock_switch = Signal::fresh(true)),
            (1000, |s| s.stowed_switch = Signal::fresh(true)),
            (1000, |s| s.deployed_switch = Signal::fresh(false)),
        ];
        for (case, (position, change)) in changes.into_iter().enumerate() {
            let mut told = sensors(position);
            change(&mut told);
            let mut mast = Mast::default();
            let mut last = (Conditions::empty(), Faults::empty());
            for _ in 0..10 {
                last = observe(&mut mast, &told);
                assert!(!last.0.contains(Condition::MastConsistent), "case {case}");
            }
            assert!(last.1.contains(Fault::MastContradiction), "case {case}");
        }
    }

    #[test]
    fn a_reading_that_is_lost_takes_every_proof_away_and_is_told() {
        let mut told = sensors(0);
        told.drive_current = told.drive_current.invalidated();
        let mut mast = Mast::default();
        for _ in 0..9 {
            assert!(!observe(&mut mast, &told).1.contains(Fault::MastSensorLost));
        }
        let (proven, active) = observe(&mut mast, &told);
        assert!(active.contains(Fault::MastSensorLost));
        assert!(!proven.contains(Condition::MastStowed));
    }

    /// Drives a mast and lets it move by `step` hundredths of a permille a tick.
    fn seen_while(driven: Option<Way>, pace: Pace, step: i32) -> Faults {
        let config = Config::default();
        let mut mast = Mast::default();
        let mut seen = Faults::empty();
        for tick in 0..300_i32 {
            let position = i16::try_from(300 + tick * step / 100).unwrap();
            seen |= observe(&mut mast, &sensors(position)).1;
            mast.drive(driven, pace, &config);
        }
        seen
    }

    #[test]
    fn a_driven_mast_must_move_the_way_it_is_driven() {
        let not_following = Faults::only(Fault::MastNotFollowing);
        assert_eq!(seen_while(Some(Way::Out), Pace::Full, 100), Faults::empty());
        assert_eq!(seen_while(Some(Way::Out), Pace::Full, 0), not_following);
        assert_eq!(seen_while(Some(Way::In), Pace::Full, 100), not_following);
        assert_eq!(seen_while(Some(Way::Out), Pace::Slow, 25), Faults::empty());
    }

    #[test]
    fn a_resting_mast_must_rest() {
        assert_eq!(seen_while(None, Pace::Full, 0), Faults::empty());
        let unasked = Faults::only(Fault::MastUnasked);
        assert_eq!(seen_while(None, Pace::Full, 20), unasked);
        assert_eq!(seen_while(None, Pace::Full, -20), unasked);
    }
}
