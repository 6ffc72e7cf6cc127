//! Stable names, and the nearest ones to a name that is not known.

/// A name that nothing has.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no {what} is called `{given}`: did you mean {}?", .nearest.join(", "))]
pub struct Unknown {
    /// What was looked for, such as "fault target".
    pub what: &'static str,
    /// The name that was given.
    pub given: String,
    /// The nearest names there are, best first.
    pub nearest: Vec<String>,
}

/// How many near names an [`Unknown`] offers.
const OFFERED: usize = 3;

impl Unknown {
    /// The refusal of `given`, which is none of `names`.
    pub(super) fn new(
        what: &'static str,
        given: &str,
        names: impl Iterator<Item = String>,
    ) -> Self {
        let mut ranked: Vec<(usize, String)> =
            names.map(|name| (distance(given, &name), name)).collect();
        ranked.sort();
        let nearest = ranked.into_iter().take(OFFERED).map(|(_, name)| name);
        Self {
            what,
            given: given.to_owned(),
            nearest: nearest.collect(),
        }
    }
}

/// Cost of turning what was typed into a name there is. Leaving letters out is the
/// commonest slip ("position" for "mast.position"), so adding one costs least.
fn distance(typed: &str, name: &str) -> usize {
    const ADD: usize = 1;
    const DROP: usize = 3;
    const CHANGE: usize = 3;
    let name: Vec<char> = name.chars().collect();
    let mut row: Vec<usize> = (0..=name.len()).map(|n| n * ADD).collect();
    for letter in typed.chars() {
        let mut diagonal = row[0];
        row[0] += DROP;
        for (column, other) in name.iter().enumerate() {
            let kept = diagonal + if letter == *other { 0 } else { CHANGE };
            diagonal = row[column + 1];
            row[column + 1] = kept.min(diagonal + DROP).min(row[column] + ADD);
        }
    }
    row[name.len()]
}

/// An enum whose variants have a stable name and a meaning in words.
macro_rules! named {
    ($(#[$attribute:meta])* $name:ident { $($variant:ident = $text:literal, $meaning:literal;)+ }) => {
        $(#[$attribute])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $(
                #[doc = concat!("`", $text, "`: ", $meaning, ".")]
                $variant,
            )+
        }

        impl $name {
            /// Every one, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The stable name.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $text,)+
                }
            }

            /// What it is, in words.
            #[must_use]
            pub const fn meaning(self) -> &'static str {
                match self {
                    $(Self::$variant => $meaning,)+
                }
            }
        }
    };
}

/// Serialises a type as the string it displays and parses.
macro_rules! as_string {
    ($name:ident) => {
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.collect_str(self)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let text = String::deserialize(from)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}

pub(super) use {as_string, named};

#[cfg(test)]
mod tests {
    use super::*;

    fn nearest(given: &str) -> Vec<String> {
        let names = ["sensor.mast.position", "sensor.bus.voltage", "power"];
        Unknown::new("target", given, names.iter().map(ToString::to_string)).nearest
    }

    #[test]
    fn a_slip_of_the_keyboard_finds_the_name_that_was_meant() {
        assert_eq!(nearest("sensor.mast.postion")[0], "sensor.mast.position");
        assert_eq!(nearest("pwer")[0], "power");
    }

    #[test]
    fn a_name_without_its_family_finds_the_full_name() {
        assert_eq!(nearest("mast.position")[0], "sensor.mast.position");
        assert_eq!(nearest("bus.voltage")[0], "sensor.bus.voltage");
    }
}
