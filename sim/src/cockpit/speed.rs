//! How time passes in a session: no clock is read here, time is handed in.

use std::time::Duration;

use crate::frame::TICK;

/// Longest stretch of the clock made up for at once: a machine that slept owes nothing.
const LONGEST: Duration = Duration::from_secs(1);
/// Length of a tick.
const LENGTH: Duration = Duration::from_millis(10);

/// How fast the flight runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, clap::ValueEnum)]
pub enum Speed {
    /// A quarter of the clock.
    Slow,
    /// As the clock.
    #[default]
    Real,
    /// Eight times the clock.
    Fast,
    /// A minute a second.
    Fastest,
}

impl Speed {
    /// Every speed, the slowest first.
    pub const ALL: [Self; 4] = [Self::Slow, Self::Real, Self::Fast, Self::Fastest];

    /// How many times as fast as the clock.
    #[must_use]
    pub const fn times(self) -> f64 {
        match self {
            Self::Slow => 0.25,
            Self::Real => 1.0,
            Self::Fast => 8.0,
            Self::Fastest => 60.0,
        }
    }

    /// The name by which it is asked for.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Slow => "slow",
            Self::Real => "real",
            Self::Fast => "fast",
            Self::Fastest => "fastest",
        }
    }

    /// The next faster one, or itself.
    #[must_use]
    pub fn faster(self) -> Self {
        let next = Self::ALL.into_iter().find(|speed| *speed > self);
        next.unwrap_or(self)
    }

    /// The next slower one, or itself.
    #[must_use]
    pub fn slower(self) -> Self {
        let next = Self::ALL.into_iter().rev().find(|speed| *speed < self);
        next.unwrap_or(self)
    }
}

/// Turns time that passed into ticks to fly, remainders kept.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pacer {
    owed: f64,
}

impl Pacer {
    /// Whole ticks due after `passed` at `speed`.
    pub fn due(&mut self, passed: Duration, speed: Speed) -> u64 {
        self.owed += passed.min(LONGEST).as_secs_f64() * speed.times() / TICK;
        let due = self.owed.floor();
        self.owed -= due;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most a second at a minute a second: 6000 ticks"
        )]
        let due = due as u64;
        due
    }

    /// Time until the next tick is due at `speed`.
    #[must_use]
    pub fn until_next(&self, speed: Speed) -> Duration {
        LENGTH.mul_f64((1.0 - self.owed).max(0.0) / speed.times())
    }

    /// Owes nothing.
    pub const fn reset(&mut self) {
        self.owed = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_of_the_clock_is_a_hundred_ticks_however_it_is_cut() {
        for (speed, ticks) in [
            (Speed::Slow, 25),
            (Speed::Real, 100),
            (Speed::Fast, 800),
            (Speed::Fastest, 6000),
        ] {
            let mut pacer = Pacer::default();
            let flown: u64 = (0..40)
                .map(|_| pacer.due(Duration::from_millis(25), speed))
                .sum();
            assert!(flown.abs_diff(ticks) <= 1, "{speed:?}: {flown}");
        }
    }

    #[test]
    fn a_machine_that_slept_owes_one_second() {
        let mut pacer = Pacer::default();
        assert_eq!(pacer.due(Duration::from_secs(3600), Speed::Real), 100);
    }

    #[test]
    fn the_speeds_are_a_ladder_with_two_ends() {
        assert_eq!(Speed::Real.faster(), Speed::Fast);
        assert_eq!(Speed::Real.slower(), Speed::Slow);
        assert_eq!(Speed::Fastest.faster(), Speed::Fastest);
        assert_eq!(Speed::Slow.slower(), Speed::Slow);
    }
}
