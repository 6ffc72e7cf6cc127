//! Tests of the module above, by itself.

mod contacts;

use super::*;
use crate::signal::Signal;

/// Controls at rest; tests change what they are about.
fn at_rest() -> Controls {
    let off = Signal::fresh(false);
    let on = Signal::fresh(true);
    Controls {
        throttle_a: Signal::fresh(Permille::ZERO),
        throttle_b: Signal::fresh(Permille::ZERO),
        select_hold: on,
        select_deploy: off,
        select_stow: off,
        stop_a: off,
        stop_b: off,
        bench_key: off,
        acknowledge: off,
        acknowledge_rest: on,
        aux_charge: off,
        aux_charge_off: on,
    }
}

fn selecting(hold: bool, deploy: bool, stow: bool) -> Controls {
    Controls {
        select_hold: Signal::fresh(hold),
        select_deploy: Signal::fresh(deploy),
        select_stow: Signal::fresh(stow),
        ..at_rest()
    }
}

fn stopping(a: Option<bool>, b: Option<bool>) -> Controls {
    let contact =
        |level: Option<bool>| level.map_or(Signal::fresh(true).invalidated(), Signal::fresh);
    Controls {
        stop_a: contact(a),
        stop_b: contact(b),
        ..at_rest()
    }
}

struct Seat {
    pilot: Pilot,
    active: Faults,
    proven: Conditions,
    intended: std::vec::Vec<Intention>,
}

impl Seat {
    fn new() -> Self {
        let mut seat = Self {
            pilot: Pilot::default(),
            active: Faults::empty(),
            proven: Conditions::empty(),
            intended: std::vec::Vec::new(),
        };
        seat.hold(&at_rest(), 5);
        seat
    }

    fn hold(&mut self, controls: &Controls, ticks: u32) -> Said {
        let mut said = Said::default();
        for _ in 0..ticks {
            self.proven = Conditions::empty();
            self.active = Faults::empty();
            said = self.pilot.read(
                controls,
                &Config::default(),
                &mut self.proven,
                &mut self.active,
            );
            self.intended.extend(said.intention);
        }
        said
    }
}

#[test]
fn a_push_is_one_intention_however_long_it_is_held() {
    let mut seat = Seat::new();
    seat.hold(&selecting(false, true, false), 300);
    assert_eq!(seat.intended, [Intention::Deploy]);
}

#[test]
fn a_push_that_falters_is_still_one_intention() {
    let mut seat = Seat::new();
    for _ in 0..5 {
        seat.hold(&selecting(false, false, true), 10);
        seat.hold(&selecting(false, false, false), 10);
    }
    assert_eq!(seat.intended, [Intention::Stow]);
}

#[test]
fn a_selector_thrown_straight_across_is_a_fresh_push() {
    let mut seat = Seat::new();
    seat.hold(&selecting(false, true, false), 10);
    seat.hold(&selecting(false, false, true), 10);
    assert_eq!(seat.intended, [Intention::Deploy, Intention::Stow]);
}

#[test]
fn a_selector_thrown_across_is_heard_even_where_a_fresh_push_was_demanded() {
    let mut seat = Seat::new();
    seat.hold(&selecting(false, true, false), 10);
    seat.pilot.demand_fresh_push();
    seat.hold(&selecting(false, true, false), 10);
    seat.hold(&selecting(false, false, true), 10);
    assert_eq!(seat.intended, [Intention::Deploy, Intention::Stow]);
}

#[test]
fn a_push_held_since_power_up_is_no_intention() {
    let mut seat = Seat::new();
    seat.pilot = Pilot::default();
    seat.hold(&selecting(false, true, false), 300);
    assert_eq!(seat.intended, []);
}

#[test]
fn no_single_selector_contact_that_sticks_makes_an_intention() {
    for (hold, deploy, stow) in [
        (true, true, false),
        (true, false, true),
        (false, false, false),
    ] {
        let mut seat = Seat::new();
        let said = seat.hold(&selecting(hold, deploy, stow), 100);
        assert_eq!(seat.intended, []);
        assert_eq!(said.selector, Selector::Unproven);
        assert!(seat.active.contains(Fault::SelectorUnproven));
    }
}

#[test]
fn with_one_selector_contact_lost_the_other_two_still_tell() {
    let lost = Signal::fresh(false).invalidated();
    let mut stow = selecting(false, false, true);
    stow.select_hold = lost;
    let mut deploy = selecting(false, true, false);
    deploy.select_stow = lost;
    for (controls, expected) in [(stow, Intention::Stow), (deploy, Intention::Deploy)] {
        let mut seat = Seat::new();
        seat.hold(&controls, 20);
        assert_eq!(seat.intended, [expected]);
        assert!(seat.active.contains(Fault::SelectorUnproven));
    }
    let mut none = selecting(false, false, false);
    none.select_hold = lost;
    assert_eq!(Seat::new().hold(&none, 20).selector, Selector::Unproven);
}

#[test]
fn a_stop_is_demanded_at_once_and_by_either_contact() {
    for (a, b, stop, intended) in [
        (Some(true), Some(true), true, true),
        (Some(true), None, true, true),
        (None, Some(true), true, true),
        (Some(true), Some(false), true, false),
        (Some(false), Some(true), true, false),
        (Some(false), None, false, false),
        (None, None, false, false),
    ] {
        let mut seat = Seat::new();
        let said = seat.hold(&stopping(a, b), 1);
        assert_eq!(said.stop, stop, "{a:?} {b:?}");
        assert_eq!(said.stop_fresh, stop, "{a:?} {b:?}");
        assert_eq!(!seat.intended.is_empty(), intended, "{a:?} {b:?}");
        let released = seat.proven.contains(Condition::StopReleased);
        assert_eq!(
            released,
            !stop && (a.is_some() || b.is_some()),
            "{a:?} {b:?}"
        );
    }
}

#[test]
fn a_stop_switch_thrown_since_power_up_stops_and_stows_nothing() {
    let mut seat = Seat::new();
    seat.pilot = Pilot::default();
    let said = seat.hold(&stopping(Some(true), Some(true)), 50);
    assert!(said.stop);
    assert_eq!(seat.intended, []);
    seat.hold(&at_rest(), 1);
    seat.hold(&stopping(Some(true), Some(true)), 1);
    assert_eq!(seat.intended, [Intention::StopAndStow]);
}

#[test]
fn a_stop_switch_thrown_since_power_up_is_no_intention_when_a_contact_falters() {
    for faltered in [Some(false), None] {
        let mut seat = Seat::new();
        seat.pilot = Pilot::default();
        for _ in 0..3 {
            seat.hold(&stopping(Some(true), Some(true)), 20);
            let said = seat.hold(&stopping(faltered, Some(true)), 20);
            assert!(said.stop);
        }
        seat.hold(&stopping(Some(true), Some(true)), 20);
        assert_eq!(seat.intended, []);
    }
}

#[test]
fn the_demand_is_the_lesser_track_and_nothing_unless_both_prove_it() {
    let demand = |a: i16, b: i16| {
        let controls = Controls {
            throttle_a: Signal::fresh(Permille::new(a)),
            throttle_b: Signal::fresh(Permille::new(b)),
            ..at_rest()
        };
        Seat::new().hold(&controls, 1).demand.get()
    };
    assert_eq!(demand(500, 540), 500);
    assert_eq!(demand(540, 500), 500);
    assert_eq!(demand(500, 561), 0);
    assert_eq!(demand(30, 30), 0);
    assert_eq!(demand(31, 30), 30);
    assert_eq!(demand(2000, 1990), 1000);
    assert_eq!(demand(-500, -500), 0);
}

#[test]
fn acknowledge_needs_both_its_contacts_and_clearing_a_long_press() {
    let pressed = Controls {
        acknowledge: Signal::fresh(true),
        acknowledge_rest: Signal::fresh(false),
        ..at_rest()
    };
    let mut seat = Seat::new();
    let (mut acknowledged, mut cleared_after) = (0, None);
    for tick in 1..=300 {
        let said = seat.hold(&pressed, 1);
        acknowledged += u32::from(said.acknowledged);
        if said.clearing && cleared_after.is_none() {
            cleared_after = Some(tick);
        }
    }
    assert_eq!(acknowledged, 1);
    assert_eq!(cleared_after, Some(202));

    let stuck = Controls {
        acknowledge: Signal::fresh(true),
        ..at_rest()
    };
    assert!(!Seat::new().hold(&stuck, 300).acknowledging);
}
