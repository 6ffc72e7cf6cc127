//! Switches and contacts: where they close.

use mastwright_core::inputs::{self, DoorSensors, MastSensors};
use mastwright_core::signal::Signal;

use crate::controls::{Controls, Push};
use crate::plant::truth::MastTruth;

/// The stowed end switch is closed below this mast position.
pub const STOWED_BELOW: f64 = 0.008;
/// The deployed end switch is closed above this mast position.
pub const DEPLOYED_ABOVE: f64 = 0.992;
/// The door open switches are closed above this opening.
pub const DOORS_OPEN_ABOVE: f64 = 0.985;
/// The door shut switch is closed below this opening.
pub const DOORS_SHUT_BELOW: f64 = 0.01;

/// The pilot's contacts; the throttle tracks are left unread.
#[must_use]
pub fn controls(controls: &Controls) -> inputs::Controls {
    inputs::Controls {
        throttle_a: Signal::never(),
        throttle_b: Signal::never(),
        select_hold: Signal::fresh(controls.selector == Push::Hold),
        select_deploy: Signal::fresh(controls.selector == Push::Deploy),
        select_stow: Signal::fresh(controls.selector == Push::Stow),
        stop_a: Signal::fresh(controls.stop),
        stop_b: Signal::fresh(controls.stop),
        bench_key: Signal::fresh(controls.bench_key),
        acknowledge: Signal::fresh(controls.acknowledge),
        acknowledge_rest: Signal::fresh(!controls.acknowledge),
        aux_charge: Signal::fresh(controls.aux_charge),
        aux_charge_off: Signal::fresh(!controls.aux_charge),
    }
}

/// The mast's switches; position and current are left unread.
#[must_use]
pub fn mast(truth: &MastTruth) -> MastSensors {
    MastSensors {
        position: Signal::never(),
        stowed_switch: Signal::fresh(truth.position < STOWED_BELOW),
        deployed_switch: Signal::fresh(truth.position > DEPLOYED_ABOVE),
        lock_switch: Signal::fresh(truth.locked),
        drive_current: Signal::never(),
    }
}

/// The doors' switches at an opening; the current is left unread.
#[must_use]
pub fn doors(opening: f64) -> DoorSensors {
    let open = Signal::fresh(opening > DOORS_OPEN_ABOVE);
    DoorSensors {
        left_open: open,
        right_open: open,
        shut: Signal::fresh(opening < DOORS_SHUT_BELOW),
        drive_current: Signal::never(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_selector_closes_exactly_one_contact() {
        for selector in [Push::Hold, Push::Deploy, Push::Stow] {
            let read = controls(&Controls {
                selector,
                ..Controls::default()
            });
            let closed = [read.select_hold, read.select_deploy, read.select_stow]
                .iter()
                .filter(|contact| contact.raw())
                .count();
            assert_eq!(closed, 1, "{selector:?}");
        }
    }

    #[test]
    fn end_switches_close_only_near_their_end() {
        for (position, stowed, deployed) in [
            (0.0, true, false),
            (0.01, false, false),
            (0.5, false, false),
            (0.99, false, false),
            (0.996, false, true),
        ] {
            let read = mast(&MastTruth {
                position,
                ..MastTruth::default()
            });
            assert_eq!(read.stowed_switch.raw(), stowed, "{position}");
            assert_eq!(read.deployed_switch.raw(), deployed, "{position}");
        }
    }

    #[test]
    fn door_switches_close_only_at_their_end() {
        assert!(doors(1.0).left_open.raw() && doors(1.0).right_open.raw());
        assert!(!doors(0.5).left_open.raw() && !doors(0.5).shut.raw());
        assert!(doors(0.0).shut.raw());
    }
}
