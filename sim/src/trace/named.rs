//! Enumerations by name: a trace holds a variant's place in a list of names, and the
//! list, so that a later build finds the variant again wherever it stands then.

use std::fmt::Debug;
use std::sync::LazyLock;

use enumset::{EnumSet, EnumSetType};
use mastwright_core::bus::Stage;
use mastwright_core::interlock::{Condition, Permission, Reason};
use mastwright_core::{Fault, Halt, Intention, Mode, State};

use crate::controls::Push;

/// An enumeration whose variants are kept by their names.
pub(super) trait Named: Copy + Debug + PartialEq + 'static {
    /// What the list of names is called.
    const LIST: &'static str;

    /// Every variant, in the order of the list.
    fn all() -> &'static [Self];

    /// Place in the list.
    fn place(self) -> i32 {
        let place = Self::all().iter().position(|variant| *variant == self);
        place.map_or(-1, number)
    }
}

/// A small count as a number of a column.
fn number(count: usize) -> i32 {
    i32::try_from(count).expect("lists are short")
}

/// The names of an enumeration, in the order in which a trace counts them.
pub(super) fn names<T: Named>() -> Vec<String> {
    T::all()
        .iter()
        .map(|variant| format!("{variant:?}"))
        .collect()
}

macro_rules! sets {
    ($($type:ident => $list:literal),+ $(,)?) => {$(
        impl Named for $type {
            const LIST: &'static str = $list;

            fn all() -> &'static [Self] {
                static ALL: LazyLock<Vec<$type>> =
                    LazyLock::new(|| EnumSet::all().iter().collect());
                &ALL
            }
        }
    )+};
}

sets!(
    Fault => "fault",
    Condition => "condition",
    Permission => "permission",
    Reason => "reason",
);

macro_rules! lists {
    ($($type:ident => $list:literal: $($variant:ident),+;)+) => {$(
        impl Named for $type {
            const LIST: &'static str = $list;

            fn all() -> &'static [Self] {
                // A variant that is added does not compile until it stands here.
                const fn listed(variant: $type) -> $type {
                    match variant { $($type::$variant => variant,)+ }
                }
                const { &[$(listed($type::$variant)),+] }
            }
        }
    )+};
}

lists!(
    Intention => "intention": Deploy, Stow, StopAndStow;
    Mode => "mode": Sequenced, Jog, Bench;
    Stage => "bus stage": Draining, Dead, Checking, Precharging, Closing, Live, Opening;
    Push => "selector": Hold, Deploy, Stow;
);

impl Named for State {
    const LIST: &'static str = "state";

    fn all() -> &'static [Self] {
        static ALL: LazyLock<Vec<State>> = LazyLock::new(|| {
            let plain = State::ALL
                .into_iter()
                .filter(|state| state.halt().is_none());
            plain.chain(Halt::ALL.map(State::Halted)).collect()
        });
        &ALL
    }
}

/// A set as one bit for each variant, by its place in the list.
pub(super) fn bits<T: EnumSetType>(set: EnumSet<T>) -> u64 {
    set.as_u64_truncated()
}

/// The set of these bits; what no variant stands for is left out.
pub(super) fn set<T: EnumSetType>(bits: u64) -> EnumSet<T> {
    EnumSet::from_u64_truncated(bits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_has_a_place_and_a_name_of_its_own() {
        let names = names::<State>();
        assert_eq!(names.len(), State::ALL.len() - 1 + Halt::ALL.len());
        assert!(names.contains(&"Halted(NotParked)".to_owned()));
        for (place, state) in State::all().iter().enumerate() {
            assert_eq!(state.place(), number(place));
        }
    }

    #[test]
    fn a_bit_of_a_set_is_the_place_in_the_list() {
        for (place, fault) in Fault::all().iter().enumerate() {
            assert_eq!(bits(EnumSet::only(*fault)), 1 << place);
        }
        assert_eq!(
            set::<Reason>(bits(EnumSet::<Reason>::all())),
            EnumSet::all()
        );
    }
}
