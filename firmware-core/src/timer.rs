//! Timers that count down and stop at zero, and debouncing built on them.
//!
//! A timer holds what is left, never when it began: two situations that behave
//! alike are then equal, which keeps the controller's state space finite.

use crate::units::Ticks;

/// Ticks left until something is due; rests at zero.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Countdown(Ticks);

impl Countdown {
    /// A countdown of `ticks`.
    #[must_use]
    pub const fn of(ticks: Ticks) -> Self {
        Self(ticks)
    }

    /// Lets one tick pass.
    pub const fn tick(&mut self) {
        self.0 = self.0.minus(Ticks::new(1));
    }

    /// True once nothing is left.
    #[must_use]
    pub const fn is_over(self) -> bool {
        self.0.get() == 0
    }
}

#[cfg(feature = "walk")]
impl Countdown {
    /// What is left.
    #[must_use]
    pub const fn left(self) -> Ticks {
        self.0
    }
}

/// How long a condition has held without a break, up to the limit asked about.
///
/// Starts at nothing: a condition never yet seen has not been held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Sustained(Ticks);

impl Sustained {
    /// Feeds one tick; true once `condition` has held for `limit` ticks in a row.
    pub fn feed(&mut self, condition: bool, limit: Ticks) -> bool {
        self.0 = if condition {
            self.0.plus(Ticks::new(1)).min(limit)
        } else {
            Ticks::ZERO
        };
        condition && self.0 >= limit
    }

    /// True when the condition had held for `limit` ticks at the last that was fed.
    #[must_use]
    pub fn has_held(self, limit: Ticks) -> bool {
        self.0 >= limit
    }

    /// Forgets what was held so far.
    pub const fn restart(&mut self) {
        self.0 = Ticks::ZERO;
    }
}

#[cfg(feature = "walk")]
impl Sustained {
    /// A condition that has held for `ticks`.
    #[must_use]
    pub const fn of(ticks: Ticks) -> Self {
        Self(ticks)
    }

    /// How long the condition has held.
    #[must_use]
    pub const fn held(self) -> Ticks {
        self.0
    }
}

/// A value that must be read the same for some time before it counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Debounced<T> {
    settled: T,
    candidate: T,
    left: Countdown,
}

impl<T: Copy + PartialEq> Debounced<T> {
    /// Feeds one reading; returns the value that counts now.
    pub fn feed(&mut self, reading: T, ticks: Ticks) -> T {
        if reading == self.settled {
            self.candidate = reading;
            self.left = Countdown::default();
        } else if reading == self.candidate {
            self.left.tick();
            if self.left.is_over() {
                self.settled = reading;
            }
        } else {
            self.candidate = reading;
            self.left = Countdown::of(ticks);
        }
        self.settled
    }

    /// The value that counts now.
    #[must_use]
    pub const fn settled(&self) -> T {
        self.settled
    }
}

#[cfg(feature = "walk")]
impl<T> Debounced<T> {
    /// The value that counts, the one last read, and the time left until that counts.
    pub(crate) const fn parts(&mut self) -> (&mut T, &mut T, &mut Countdown) {
        (&mut self.settled, &mut self.candidate, &mut self.left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_condition_is_held_only_after_its_whole_time_without_a_break() {
        let mut timer = Sustained::default();
        let held: [bool; 7] = [true, true, false, true, true, true, true]
            .map(|condition| timer.feed(condition, Ticks::new(3)));
        assert_eq!(held, [false, false, false, false, false, true, true]);
    }

    #[test]
    fn a_bouncing_contact_settles_once() {
        let mut contact = Debounced::<bool>::default();
        let seen: [bool; 8] = [true, false, true, false, true, true, true, true]
            .map(|reading| contact.feed(reading, Ticks::new(2)));
        assert_eq!(seen, [false, false, false, false, false, false, true, true]);
    }

    #[test]
    fn a_settled_value_leaves_no_trace_of_how_it_settled() {
        let mut slow = Debounced::<bool>::default();
        for reading in [true, false, true, true, true] {
            slow.feed(reading, Ticks::new(1));
        }
        let mut quick = Debounced::<bool>::default();
        for reading in [true, true, true] {
            quick.feed(reading, Ticks::new(1));
        }
        assert_eq!(slow, quick);
    }
}
