//! Helpers shared by the tests across the crates: random missions, written down as
//! scenarios, flown and judged.
//!
//! A [`mission::Mission`] is drawn from one number ([`pilot`]), prints itself as the
//! text of a scenario ([`text`]), is flown and judged ([`flown`]), and, when it breaks
//! something, made as simple as it can be ([`simpler`]) and kept as a file ([`prove`]).
//! Deliberately wrong controllers, which the oracle must catch, are [`saboteurs`]. The
//! controller on the processor it is meant for is the subject of [`target`]; an independent
//! engine checks the exploration in [`peer`], and [`uncollapsed`] explores without collapsing
//! time.

pub mod abstraction;
pub mod draw;
pub mod flown;
pub mod methods;
pub mod mission;
pub mod peer;
pub mod pilot;
pub mod prove;
pub mod recording;
pub mod saboteurs;
pub mod screens;
pub mod sight;
pub mod simpler;
pub mod spaces;
#[cfg(unix)]
pub mod target;
pub mod text;
pub mod uncollapsed;
pub mod upsets;
pub mod wrong;
