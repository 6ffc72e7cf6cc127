//! What every powered axis obeys, whatever it moves: mast and doors share it.
//!
//! Responsibilities:
//! 1. Keep the dead time between opposite drives (SR-03).
//! 2. Tell a drive that draws too much, and one that runs too long (SR-13).

use crate::timer::{Countdown, Sustained};
use crate::units::{Milliamps, Ticks};

/// Which way an axis is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Way {
    /// Out of the bay: the mast is raised, the doors open.
    Out,
    /// Into the bay: the mast is lowered, the doors close.
    In,
}

impl Way {
    /// The opposite way.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Out => Self::In,
            Self::In => Self::Out,
        }
    }
}

/// The limits of one axis.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Rest between opposite drives.
    pub dead_time: Ticks,
    /// Longest run.
    pub run: Ticks,
    /// Greatest current.
    pub overload: Milliamps,
    /// How long the current may be exceeded.
    pub overload_after: Ticks,
}

/// What an axis shows in one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The current has exceeded its limit for too long.
    pub overloaded: bool,
    /// The drive has run for too long.
    pub overdue: bool,
}

/// The drive of one axis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Axis {
    driven: Option<Way>,
    /// The way that must still rest, and for how long.
    resting: Option<Way>,
    rest: Countdown,
    run: Sustained,
    overload: Sustained,
}

impl Axis {
    /// Judges the drive commanded in the previous tick by its current.
    pub fn observe(&mut self, current: Option<Milliamps>, limits: &Limits) -> Shown {
        let driven = self.driven.is_some();
        let excess = current.is_some_and(|current| current.magnitude() > limits.overload);
        Shown {
            overloaded: self.overload.feed(driven && excess, limits.overload_after),
            overdue: self.run.feed(driven, limits.run),
        }
    }

    /// True when the dead time allows driving this way.
    #[must_use]
    pub fn rested(&self, way: Way) -> bool {
        self.resting != Some(way)
    }

    /// Records what is commanded in this tick.
    pub fn command(&mut self, driven: Option<Way>, limits: &Limits) {
        match driven {
            Some(way) => {
                self.resting = Some(way.opposite());
                self.rest = Countdown::of(limits.dead_time);
            }
            None => {
                self.rest.tick();
                if self.rest.is_over() {
                    self.resting = None;
                }
            }
        }
        self.driven = driven;
    }

    /// The way commanded in the previous tick.
    #[must_use]
    pub const fn driven(&self) -> Option<Way> {
        self.driven
    }
}

#[cfg(feature = "walk")]
mod walk {
    use super::{Axis, Limits, Way};
    use crate::walk::{Choice, Rest, Timer, Visitor};

    impl Choice for Option<Way> {
        fn number(self) -> u8 {
            match self {
                None => 0,
                Some(Way::Out) => 1,
                Some(Way::In) => 2,
            }
        }

        fn numbered(number: u8) -> Self {
            [None, Some(Way::Out), Some(Way::In)]
                .get(usize::from(number))
                .copied()
                .flatten()
        }
    }

    impl Axis {
        /// Leads a visitor through; `timers` are those of rest, run and overload.
        pub(crate) fn walk(
            &mut self,
            visitor: &mut impl Visitor,
            [rest, run, overload]: [Timer; 3],
            limits: &Limits,
        ) {
            visitor.choice(&mut self.driven, 3);
            visitor.rest(
                rest,
                Rest {
                    driven: self.driven,
                    resting: &mut self.resting,
                    left: &mut self.rest,
                },
            );
            visitor.sustained(run, &mut self.run, limits.run);
            visitor.sustained(overload, &mut self.overload, limits.overload_after);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        dead_time: Ticks::new(3),
        run: Ticks::new(5),
        overload: Milliamps::new(100),
        overload_after: Ticks::new(2),
    };

    #[test]
    fn the_opposite_way_waits_the_whole_dead_time_and_the_same_way_does_not() {
        let mut axis = Axis::default();
        axis.command(Some(Way::Out), &LIMITS);
        let mut off = 0;
        while !axis.rested(Way::In) {
            assert!(axis.rested(Way::Out));
            axis.command(None, &LIMITS);
            off += 1;
        }
        assert_eq!(off, 3);
    }

    #[test]
    fn excess_current_counts_only_while_driven_and_only_when_it_lasts() {
        let mut axis = Axis::default();
        let excess = Some(Milliamps::new(-101));
        assert!(!axis.observe(excess, &LIMITS).overloaded);
        assert!(!axis.observe(excess, &LIMITS).overloaded);
        axis.command(Some(Way::In), &LIMITS);
        assert!(!axis.observe(excess, &LIMITS).overloaded);
        assert!(axis.observe(excess, &LIMITS).overloaded);
    }

    #[test]
    fn a_drive_that_runs_its_time_out_is_overdue() {
        let mut axis = Axis::default();
        axis.command(Some(Way::In), &LIMITS);
        let overdue: [bool; 5] = [(); 5].map(|()| axis.observe(None, &LIMITS).overdue);
        assert_eq!(overdue, [false, false, false, false, true]);
    }
}
