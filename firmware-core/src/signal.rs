//! A sample with its age and its validity.
//!
//! Responsibilities:
//! 1. A reading carries what is needed to doubt it: how old it is, and whether
//!    its source declares itself sound.
//! 2. The only way to a value is [`Signal::proven`], which gives none unless the
//!    sample is valid and young enough. "Unknown is never safe" (SR-11) lives here.

/// Age of a sample in ticks of 10 ms; saturates at 254. An unsound sample has no age.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Age(u8);

impl Age {
    /// Sampled this very tick.
    pub const NEW: Self = Self(0);
    /// As old as the type can tell, or older.
    pub const OLDEST: Self = Self(u8::MAX - 1);
    /// Stands for "declared unsound": older than any limit.
    const UNSOUND: Self = Self(u8::MAX);

    /// An age in ticks, at most that of [`Age::OLDEST`].
    #[must_use]
    pub const fn new(ticks: u8) -> Self {
        if ticks > Self::OLDEST.0 {
            Self::OLDEST
        } else {
            Self(ticks)
        }
    }

    /// The age in ticks.
    #[must_use]
    pub const fn ticks(self) -> u8 {
        self.0
    }

    /// One tick older, held at the oldest.
    #[must_use]
    pub const fn older(self) -> Self {
        if self.0 < Self::OLDEST.0 {
            Self(self.0.saturating_add(1))
        } else {
            self
        }
    }
}

/// One reading of one sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Signal<T> {
    value: T,
    /// Validity is kept in the age, so that one comparison proves both.
    age: Age,
}

impl<T: Copy> Signal<T> {
    /// A sound reading taken this tick.
    #[must_use]
    pub const fn fresh(value: T) -> Self {
        Self {
            value,
            age: Age::NEW,
        }
    }

    /// A sound reading of a given age.
    #[must_use]
    pub const fn aged(value: T, age: Age) -> Self {
        Self { value, age }
    }

    /// The same reading, declared unsound by its source.
    #[must_use]
    pub const fn invalidated(self) -> Self {
        Self {
            age: Age::UNSOUND,
            ..self
        }
    }

    /// The same reading, not renewed for one more tick.
    #[must_use]
    pub const fn older(self) -> Self {
        Self {
            age: self.age.older(),
            ..self
        }
    }

    /// The value, if it is valid and no older than `limit`; otherwise nothing.
    #[must_use]
    pub fn proven(&self, limit: Age) -> Option<T> {
        (self.age <= limit).then_some(self.value)
    }

    /// True when the reading is proven and satisfies `test`. Unknown is false.
    #[must_use]
    pub fn proves(&self, limit: Age, test: impl FnOnce(T) -> bool) -> bool {
        self.proven(limit).is_some_and(test)
    }

    /// The reading as it stands, for display and recording only: a guard must
    /// use [`Signal::proven`].
    #[must_use]
    pub const fn raw(&self) -> T {
        self.value
    }

    /// How old the sample is; the oldest if it is unsound.
    #[must_use]
    pub const fn age(&self) -> Age {
        if self.is_valid() {
            self.age
        } else {
            Age::OLDEST
        }
    }

    /// Whether the source declares the sample sound.
    #[must_use]
    pub const fn is_valid(&self) -> bool {
        self.age.0 != Age::UNSOUND.0
    }
}

impl<T: Copy + Default> Signal<T> {
    /// A signal never yet received: invalid and as old as can be.
    #[must_use]
    pub fn never() -> Self {
        Self {
            value: T::default(),
            age: Age::UNSOUND,
        }
    }
}

impl<T: Copy + Default> Default for Signal<T> {
    fn default() -> Self {
        Self::never()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMIT: Age = Age::new(5);

    #[test]
    fn a_value_is_proven_up_to_the_limit_and_not_past_it() {
        assert_eq!(Signal::aged(7, Age::new(5)).proven(LIMIT), Some(7));
        assert_eq!(Signal::aged(7, Age::new(6)).proven(LIMIT), None);
    }

    #[test]
    fn a_signal_tells_its_value_and_its_age_and_an_unsound_one_the_oldest() {
        let signal = Signal::aged(7, Age::new(5));
        assert_eq!((signal.raw(), signal.age().ticks()), (7, 5));
        assert_eq!(signal.older().age().ticks(), 6);
        assert_eq!(signal.invalidated().age(), Age::OLDEST);
        assert_eq!(signal.invalidated().raw(), 7);
        assert!(signal.proves(LIMIT, |value| value == 7));
        assert!(!signal.proves(LIMIT, |value| value == 8));
    }

    #[test]
    fn an_invalid_or_missing_value_proves_nothing_whatever_its_content() {
        assert_eq!(Signal::fresh(true).invalidated().proven(LIMIT), None);
        assert!(!Signal::<bool>::never().proves(LIMIT, |_| true));
    }

    #[test]
    fn age_saturates_and_never_makes_a_signal_unsound_or_sound() {
        assert_eq!(Age::OLDEST.older(), Age::OLDEST);
        assert_eq!(Age::new(255), Age::OLDEST);
        assert!(Signal::aged(7, Age::OLDEST).older().is_valid());
        assert!(!Signal::fresh(7).invalidated().older().is_valid());
        assert_eq!(Signal::fresh(7).invalidated().proven(Age::new(255)), None);
    }
}
