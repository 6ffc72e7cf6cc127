//! A signal: a name, a unit, a type, and how it is read from a tick.

use std::borrow::Cow;
use std::fmt;

use crate::trace::Tick;

/// The type of a signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// True or false.
    Flag,
    /// A whole number from 0 on, or none.
    Whole,
    /// A number.
    Real,
    /// A word; never empty and without spaces.
    Text,
}

/// A value of a signal in one tick.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Of a flag.
    Flag(bool),
    /// Of a whole number; none: there is no such number in this tick.
    Whole(Option<u32>),
    /// Of a number.
    Real(f64),
    /// Of a text.
    Text(Cow<'static, str>),
}

/// The unit of a signal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A share of the whole.
    Percent,
    /// Travel in a second.
    PercentPerSecond,
    /// Current.
    Ampere,
    /// Voltage.
    Volt,
    /// Resistance, 1000 ohm.
    KiloOhm,
    /// Angle.
    Degree,
    /// Shaft speed.
    Rpm,
    /// Torque.
    NewtonMetre,
    /// Thrust.
    Newton,
    /// Temperature.
    Celsius,
    /// Speed.
    MetrePerSecond,
    /// Height.
    Metre,
    /// Time.
    Second,
    /// Age.
    Millisecond,
}

impl Unit {
    /// The unit as it is written.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Percent => "%",
            Self::PercentPerSecond => "%/s",
            Self::Ampere => "A",
            Self::Volt => "V",
            Self::KiloOhm => "kohm",
            Self::Degree => "deg",
            Self::Rpm => "rpm",
            Self::NewtonMetre => "N m",
            Self::Newton => "N",
            Self::Celsius => "deg C",
            Self::MetrePerSecond => "m/s",
            Self::Metre => "m",
            Self::Second => "s",
            Self::Millisecond => "ms",
        }
    }

    /// The unit at the end of a signal's name, where no sign may stand.
    pub(super) const fn suffix(self) -> &'static str {
        match self {
            Self::Percent => "pct",
            Self::PercentPerSecond => "pct_s",
            Self::Ampere => "A",
            Self::Volt => "V",
            Self::KiloOhm => "kohm",
            Self::Degree => "deg",
            Self::Rpm => "rpm",
            Self::NewtonMetre => "Nm",
            Self::Newton => "N",
            Self::Celsius => "degC",
            Self::MetrePerSecond => "m_s",
            Self::Metre => "m",
            Self::Second => "s",
            Self::Millisecond => "ms",
        }
    }
}

type Read = Box<dyn Fn(&Tick) -> Value + Send + Sync>;

/// A signal.
pub struct Signal {
    name: String,
    unit: Option<Unit>,
    kind: Kind,
    about: Cow<'static, str>,
    read: Read,
}

impl Signal {
    /// A flag.
    pub(super) fn flag(
        name: impl Into<String>,
        about: impl Into<Cow<'static, str>>,
        read: impl Fn(&Tick) -> bool + Send + Sync + 'static,
    ) -> Self {
        Self {
            name: name.into(),
            unit: None,
            kind: Kind::Flag,
            about: about.into(),
            read: Box::new(move |tick| Value::Flag(read(tick))),
        }
    }

    /// A number in a unit, which is added to its name.
    pub(super) fn real(
        name: &str,
        unit: Unit,
        about: impl Into<Cow<'static, str>>,
        read: impl Fn(&Tick) -> f64 + Send + Sync + 'static,
    ) -> Self {
        Self {
            name: format!("{name}_{}", unit.suffix()),
            unit: Some(unit),
            kind: Kind::Real,
            about: about.into(),
            read: Box::new(move |tick| Value::Real(tidy(read(tick)))),
        }
    }

    /// A whole number, with its unit, if it has one, at the end of its name.
    pub(super) fn whole(
        name: &str,
        unit: Option<Unit>,
        about: impl Into<Cow<'static, str>>,
        read: impl Fn(&Tick) -> Option<u32> + Send + Sync + 'static,
    ) -> Self {
        Self {
            name: unit.map_or_else(
                || name.to_owned(),
                |unit| format!("{name}_{}", unit.suffix()),
            ),
            unit,
            kind: Kind::Whole,
            about: about.into(),
            read: Box::new(move |tick| Value::Whole(read(tick))),
        }
    }

    /// A word.
    pub(super) fn text(
        name: impl Into<String>,
        about: impl Into<Cow<'static, str>>,
        read: impl Fn(&Tick) -> Cow<'static, str> + Send + Sync + 'static,
    ) -> Self {
        Self {
            name: name.into(),
            unit: None,
            kind: Kind::Text,
            about: about.into(),
            read: Box::new(move |tick| Value::Text(read(tick))),
        }
    }

    /// Its name: parts divided by points, from the group down; the unit at its end.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its unit, if it has one.
    #[must_use]
    pub const fn unit(&self) -> Option<Unit> {
        self.unit
    }

    /// Its type.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    /// What it is.
    #[must_use]
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Its value in a tick.
    #[must_use]
    pub fn read(&self, tick: &Tick) -> Value {
        (self.read)(tick)
    }

    /// True when its name is `name`, or continues it after a point.
    #[must_use]
    pub fn is_under(&self, name: &str) -> bool {
        let rest = self.name.strip_prefix(name);
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    }

    /// The first part of its name, and the others.
    pub(super) fn parts(&self) -> (&str, Vec<&str>) {
        let mut parts = self.name.split('.');
        (parts.next().unwrap_or_default(), parts.collect())
    }
}

impl fmt::Debug for Signal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Signal")
            .field("name", &self.name)
            .field("kind", &self.kind)
            .finish_non_exhaustive()
    }
}

/// Takes off what only the conversion of a unit adds: beyond six decimals a trace holds
/// nothing. Adding zero takes the sign off a rounded -0.
fn tidy(value: f64) -> f64 {
    (value * 1.0e6).round() / 1.0e6 + 0.0
}
