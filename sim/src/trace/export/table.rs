//! The table of signals.

mod outputs;
mod readings;
mod truth;

use std::borrow::Cow;

use super::events;
use super::signal::{Signal, Unit};
use crate::controls::Push;

/// What every file holds, whatever was chosen.
pub(super) const ALWAYS: [&str; 2] = ["world.tick", "world.time_s"];

/// Every signal of a trace. Those whose names begin alike stand together.
#[must_use]
pub fn signals() -> Vec<Signal> {
    let mut all = world();
    all.extend(hands());
    all.extend(readings::signals());
    all.extend(truth::signals());
    all.extend(outputs::signals());
    all
}

fn world() -> Vec<Signal> {
    vec![
        Signal::whole("world.tick", None, "Number of the tick, from 0", |tick| {
            u32::try_from(tick.frame.tick).ok()
        }),
        Signal::real("world.time", Unit::Second, "Time since the start", |tick| {
            tick.frame.seconds()
        }),
        Signal::flag("world.powered", "The controller has its supply", |tick| {
            tick.frame.powered
        }),
        Signal::flag(
            "world.heat_warning",
            "The heat warning sounds, a unit with a supply of its own",
            |tick| tick.frame.heat_warning,
        ),
        Signal::flag(
            "world.person_near",
            "A person is declared near mast and blade",
            |tick| tick.frame.truth.person_near,
        ),
        Signal::whole(
            "world.state_print",
            None,
            "Fingerprint of the controller's state after the tick; none without supply",
            |tick| tick.state,
        ),
        Signal::text(
            "world.events",
            "What happened in the tick, joined by `|`; `-` for nothing",
            |tick| Cow::Owned(events::joined(tick)),
        ),
    ]
}

fn hands() -> Vec<Signal> {
    vec![
        Signal::real(
            "hands.throttle",
            Unit::Percent,
            "Throttle lever, 0 closed to 100 fully open",
            |tick| tick.frame.controls.throttle * 100.0,
        ),
        Signal::text("hands.selector", "Mast selector", |tick| {
            Cow::Borrowed(match tick.frame.controls.selector {
                Push::Hold => "Hold",
                Push::Deploy => "Deploy",
                Push::Stow => "Stow",
            })
        }),
        Signal::flag("hands.stop", "Stop-and-stow switch thrown", |tick| {
            tick.frame.controls.stop
        }),
        Signal::flag("hands.bench_key", "Bench key on", |tick| {
            tick.frame.controls.bench_key
        }),
        Signal::flag("hands.acknowledge", "Acknowledge pressed", |tick| {
            tick.frame.controls.acknowledge
        }),
        Signal::flag(
            "hands.heat_test",
            "Test of the heat detectors pressed",
            |tick| tick.frame.controls.heat_test,
        ),
        Signal::flag("hands.aux_charge", "Auxiliary charge requested", |tick| {
            tick.frame.controls.aux_charge
        }),
    ]
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::trace::columns::tables;
    use crate::trace::{Tick, export::Value};

    #[test]
    fn names_are_unlike_plain_and_those_that_begin_alike_stand_together() {
        let all = signals();
        let mut left = BTreeSet::new();
        let mut open: Vec<&str> = Vec::new();
        for signal in &all {
            let parts: Vec<&str> = signal.name().split('.').collect();
            let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
            assert!(
                parts
                    .iter()
                    .all(|part| !part.is_empty() && part.chars().all(plain))
            );
            let same = open.iter().zip(&parts).take_while(|(a, b)| a == b).count();
            for depth in same..open.len() {
                left.insert(open[..=depth].join("."));
            }
            for depth in same..parts.len() {
                let prefix = parts[..=depth].join(".");
                assert!(!left.contains(&prefix), "{prefix} comes back");
            }
            open = parts;
        }
        assert!(all.len() > 250, "{}", all.len());
    }

    #[test]
    fn every_reading_and_every_quantity_of_the_truth_has_a_signal() {
        let [ticks, ..] = tables();
        let counted = |prefix: &str| ticks.iter().filter(|name| name.starts_with(prefix)).count();
        let under = |group: &str| signals().iter().filter(|s| s.is_under(group)).count();
        assert_eq!(under("inputs"), counted("in."));
        // A person near is told of the world.
        assert_eq!(under("truth") + 1, counted("truth."));
        assert_eq!(under("hands"), counted("hands."));
    }

    #[test]
    fn a_text_is_never_empty_and_has_no_space_and_a_name_ends_with_its_unit() {
        let tick = Tick::default();
        for signal in signals() {
            if let Value::Text(text) = signal.read(&tick) {
                assert!(
                    !text.is_empty() && !text.contains(' '),
                    "{signal:?}: {text}"
                );
            }
            if let Some(unit) = signal.unit() {
                assert!(signal.name().ends_with(&format!("_{}", unit.suffix())));
            }
            assert!(!signal.about().is_empty());
        }
    }
}
