//! The permissions as tables: what each needs, and that every condition in it counts.
//!
//! Responsibilities:
//! 1. Write down the truth table of a permission from the controller's own predicate:
//!    a [`Row`](rows::Row) for every set of its conditions.
//! 2. Find for each condition a pair of rows in which only this condition differs, and
//!    with it the decision: its independent effect, as modified condition/decision
//!    coverage asks for in its unique-cause form ([`cover`]).
//! 3. Tell the rows that no tick can bring ([`coupling`]) from those that one can, and
//!    have an explanation of each condition that decides nothing in the latter
//!    ([`explained`]).
//! 4. Check over the whole table that clauses, decision and reasons agree ([`study`]).
//! 5. Print it: on the terminal, as the page `docs/permits.md`, as CSV or JSON.
//!
//! Source of the criterion: ECSS-E-ST-40C and NASA/TM-2001-210876, both quoted by a third
//! party: each condition is shown to affect its decision independently.

pub mod coupling;
pub mod cover;
pub mod explained;
pub mod export;
pub mod findings;
pub mod page;
pub mod rows;
pub mod study;
pub mod text;

use enumset::EnumSet;
use mastwright_core::interlock::Permission;

/// Every permission, in the order of the controller's table.
pub fn all() -> impl Iterator<Item = Permission> {
    EnumSet::<Permission>::all().into_iter()
}

/// The name of a permission on the command line: `open-doors`.
#[must_use]
pub fn name(permission: Permission) -> String {
    let mut name = String::new();
    for letter in format!("{permission:?}").chars() {
        if letter.is_ascii_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.push(letter.to_ascii_lowercase());
    }
    name
}

/// The permission of this name.
#[must_use]
pub fn named(wanted: &str) -> Option<Permission> {
    all().find(|permission| name(*permission) == wanted)
}

/// The letter that stands for the condition at this place of a permission's list.
#[must_use]
pub fn letter(index: usize) -> char {
    ('a'..='z').nth(index).unwrap_or('?')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_permission_is_found_by_its_name() {
        for permission in all() {
            assert_eq!(named(&name(permission)), Some(permission));
        }
        assert_eq!(name(Permission::OpenDoors), "open-doors");
        assert_eq!(named("OpenDoors"), None);
    }
}
