//! Unit newtypes: every number in the controller says what it measures.
//!
//! Each type is a bare integer of one named unit. Arithmetic saturates, so no
//! input can overflow it; mixing two units does not compile.

/// Duration of one controller tick, ms: a choice of this design.
pub const TICK_MS: u16 = 10;

macro_rules! unit {
    ($(#[$doc:meta])* $name:ident($repr:ty), $symbol:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        #[cfg_attr(feature = "serde", serde(transparent))]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        pub struct $name($repr);

        impl $name {
            /// The unit's symbol, for messages and tables.
            pub const SYMBOL: &'static str = $symbol;
            /// Zero of this unit.
            pub const ZERO: Self = Self(0);
            /// The smallest value the type holds.
            pub const MIN: Self = Self(<$repr>::MIN);
            /// The largest value the type holds.
            pub const MAX: Self = Self(<$repr>::MAX);

            /// Wraps a number given in this unit.
            #[must_use]
            pub const fn new(value: $repr) -> Self {
                Self(value)
            }

            /// The number, in this unit.
            #[must_use]
            pub const fn get(self) -> $repr {
                self.0
            }

            /// Sum, held at the type's limits.
            #[must_use]
            pub const fn plus(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }

            /// Difference, held at the type's limits.
            #[must_use]
            pub const fn minus(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }

            /// True when `self` and `other` differ by no more than `tolerance`.
            #[must_use]
            pub fn within(self, other: Self, tolerance: Self) -> bool {
                let difference = if self > other {
                    self.minus(other)
                } else {
                    other.minus(self)
                };
                difference <= tolerance
            }
        }

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                write!(f, "{} {}", self.0, $symbol)
            }
        }
    };
}

unit!(
    /// Electric potential in millivolts, -2 147 483 to 2 147 483 V.
    Millivolts(i32),
    "mV"
);
unit!(
    /// Electric current in milliamperes; positive flows out of a pack.
    Milliamps(i32),
    "mA"
);
unit!(
    /// Insulation resistance in kilohms, 0 to 65 535.
    KiloOhms(u16),
    "kohm"
);
unit!(
    /// Temperature in tenths of a degree Celsius, -3276.8 to 3276.7 °C.
    DeciCelsius(i16),
    "x0.1 C"
);
unit!(
    /// A share in thousandths: throttle, charge, or mast travel (0 stowed, 1000 deployed).
    Permille(i16),
    "permille"
);
unit!(
    /// Shaft speed in revolutions per minute; positive is the propulsive sense.
    Rpm(i16),
    "rpm"
);
unit!(
    /// Airspeed in tenths of a metre per second.
    DeciMetresPerSecond(i16),
    "x0.1 m/s"
);
unit!(
    /// Angle in hundredths of a degree. A shaft angle runs from 0 to 35 999.
    CentiDegrees(i32),
    "x0.01 deg"
);
unit!(
    /// Duration in milliseconds, at most 65.535 s.
    Millis(u16),
    "ms"
);
unit!(
    /// Duration in controller ticks of 10 ms, at most 655.35 s.
    Ticks(u16),
    "ticks"
);

impl Millis {
    /// Whole ticks in this duration, rounded down. Settings are multiples of a tick, so of
    /// them nothing is lost ([`Config`](crate::Config)).
    #[must_use]
    pub const fn ticks(self) -> Ticks {
        match self.0.checked_div(TICK_MS) {
            Some(n) => Ticks(n),
            None => Ticks(0),
        }
    }

    /// True when nothing is lost by counting it in ticks.
    #[must_use]
    pub const fn is_whole_ticks(self) -> bool {
        matches!(self.0.checked_rem(TICK_MS), Some(0))
    }
}

impl Permille {
    /// The whole: 1000 ‰.
    pub const FULL: Self = Self(1000);
}

impl Rpm {
    /// Speed without its sense.
    #[must_use]
    pub const fn magnitude(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl Milliamps {
    /// Current without its direction.
    #[must_use]
    pub const fn magnitude(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

impl Millivolts {
    /// `self` scaled by a share, rounded towards zero. Exact for any bus voltage.
    #[must_use]
    pub fn share(self, share: Permille) -> Self {
        let product = i64::from(self.0).saturating_mul(i64::from(share.0));
        let scaled = product.checked_div(1000).unwrap_or(0);
        Self(i32::try_from(scaled).unwrap_or(i32::MAX))
    }
}

impl CentiDegrees {
    /// Half a turn. A two-blade propeller looks the same every half turn.
    pub const HALF_TURN: Self = Self(18_000);

    /// Signed distance to the nearest park angle (0 or half a turn), in
    /// (-9000, 9000]; positive means the blade stands past it.
    #[must_use]
    pub const fn off_park(self) -> Self {
        let within_half = match self.0.checked_rem_euclid(Self::HALF_TURN.0) {
            Some(rest) => rest,
            None => 0,
        };
        if within_half > 9_000 {
            Self(within_half.saturating_sub(Self::HALF_TURN.0))
        } else {
            Self(within_half)
        }
    }

    /// How far two shaft angles stand apart, the shorter way round: 0 to 18 000.
    #[must_use]
    pub const fn apart(self, other: Self) -> Self {
        let turn = Self::HALF_TURN.plus(Self::HALF_TURN).0;
        let ahead = match self.0.saturating_sub(other.0).checked_rem_euclid(turn) {
            Some(rest) => rest,
            None => 0,
        };
        if ahead > Self::HALF_TURN.0 {
            Self(turn.saturating_sub(ahead))
        } else {
            Self(ahead)
        }
    }

    /// Angle without its sense.
    #[must_use]
    pub const fn magnitude(self) -> Self {
        Self(self.0.saturating_abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn off_park_takes_the_nearer_of_two_equal_park_angles() {
        for (angle, expected) in [
            (0, 0),
            (350, 350),
            (17_700, -300),
            (18_200, 200),
            (35_900, -100),
            (9_000, 9_000),
            (9_001, -8_999),
            (-200, -200),
        ] {
            assert_eq!(
                CentiDegrees::new(angle).off_park().get(),
                expected,
                "{angle}"
            );
        }
    }

    #[test]
    fn two_angles_are_compared_the_shorter_way_round() {
        for (a, b, expected) in [
            (0, 35_900, 100),
            (35_900, 0, 100),
            (0, 18_000, 18_000),
            (9_000, 9_000, 0),
        ] {
            assert_eq!(
                CentiDegrees::new(a).apart(CentiDegrees::new(b)).get(),
                expected
            );
        }
    }

    #[test]
    fn arithmetic_holds_at_the_limits_instead_of_wrapping() {
        assert_eq!(Rpm::MAX.plus(Rpm::new(1)), Rpm::MAX);
        assert_eq!(Ticks::ZERO.minus(Ticks::new(1)), Ticks::ZERO);
        assert_eq!(Rpm::MIN.magnitude(), Rpm::MAX);
        assert!(!Rpm::MIN.within(Rpm::MAX, Rpm::new(100)));
        assert!(CentiDegrees::MIN.off_park().magnitude() <= CentiDegrees::new(9_000));
    }

    #[test]
    fn a_share_of_a_voltage_rounds_down() {
        assert_eq!(
            Millivolts::new(400_001).share(Permille::new(950)),
            Millivolts::new(380_000)
        );
        assert_eq!(Millivolts::MAX.share(Permille::MAX), Millivolts::MAX);
    }
}
