//! What each contact adds, what its loss takes away, and after how long it is told.

use super::*;

/// A seat whose controller has just been given power.
fn just_powered() -> Seat {
    Seat {
        pilot: Pilot::default(),
        ..Seat::new()
    }
}

fn lost() -> Signal<bool> {
    Signal::fresh(true).invalidated()
}

#[test]
fn a_selector_with_any_one_contact_lost_still_tells_and_the_loss_is_told_after_a_while() {
    type Lose = fn(&mut Controls);
    let hold: Lose = |c| c.select_hold = lost();
    let deploy: Lose = |c| c.select_deploy = lost();
    let stow: Lose = |c| c.select_stow = lost();
    let centred = selecting(true, false, false);
    let to_deploy = selecting(false, true, false);
    let to_stow = selecting(false, false, true);
    for (pushed, lose, expected) in [
        (centred, deploy, Selector::Hold),
        (centred, stow, Selector::Hold),
        (to_deploy, hold, Selector::Deploy),
        (to_deploy, stow, Selector::Deploy),
        (to_stow, hold, Selector::Stow),
        (to_stow, deploy, Selector::Stow),
    ] {
        let mut controls = pushed;
        lose(&mut controls);
        let mut seat = Seat::new();
        assert_eq!(seat.hold(&controls, 9).selector, expected);
        assert_eq!(seat.active, Faults::empty());
        seat.hold(&controls, 1);
        assert_eq!(seat.active, Faults::only(Fault::SelectorUnproven));
    }
}

#[test]
fn a_selector_that_is_heard_and_proven_is_no_fault() {
    for controls in [
        selecting(true, false, false),
        selecting(false, true, false),
        selecting(false, false, true),
    ] {
        let mut seat = Seat::new();
        seat.hold(&controls, 50);
        assert_eq!(seat.active, Faults::empty());
    }
}

#[test]
fn every_push_out_of_the_centre_is_an_intention_of_its_own() {
    let mut seat = Seat::new();
    for _ in 0..3 {
        seat.hold(&selecting(false, true, false), 10);
        seat.hold(&at_rest(), 10);
    }
    assert_eq!(seat.intended, [Intention::Deploy; 3]);
}

#[test]
fn a_selector_thrown_across_before_it_was_ever_centred_is_no_intention() {
    let mut seat = just_powered();
    seat.hold(&selecting(false, true, false), 10);
    seat.hold(&selecting(false, false, true), 10);
    assert_eq!(seat.intended, []);
}

#[test]
fn where_a_fresh_push_is_demanded_the_one_still_held_says_nothing() {
    let mut seat = Seat::new();
    let deploy = selecting(false, true, false);
    assert_eq!(seat.hold(&deploy, 10).selector, Selector::Deploy);
    seat.pilot.demand_fresh_push();
    assert_eq!(seat.hold(&deploy, 10).selector, Selector::Hold);
    seat.hold(&at_rest(), 10);
    assert_eq!(seat.hold(&deploy, 10).selector, Selector::Deploy);
    assert_eq!(seat.intended, [Intention::Deploy; 2]);
}

#[test]
fn a_stop_contact_that_differs_or_is_lost_is_told_after_a_while() {
    for (a, b) in [
        (Some(true), Some(false)),
        (Some(false), Some(true)),
        (None, Some(false)),
        (Some(false), None),
        (None, None),
    ] {
        let mut seat = Seat::new();
        seat.hold(&stopping(a, b), 9);
        assert_eq!(seat.active, Faults::empty(), "{a:?} {b:?}");
        seat.hold(&stopping(a, b), 1);
        assert_eq!(seat.active, Faults::only(Fault::StopSwitchUnproven));
    }
    for thrown in [false, true] {
        let mut seat = Seat::new();
        seat.hold(&stopping(Some(thrown), Some(thrown)), 50);
        assert_eq!(seat.active, Faults::empty(), "both say {thrown}");
    }
}

#[test]
fn a_stop_switch_heard_by_neither_contact_for_too_long_is_a_stop_and_no_intention() {
    let mut seat = Seat::new();
    let deaf = stopping(None, None);
    assert!(!seat.hold(&deaf, 9).stop);
    let said = seat.hold(&deaf, 1);
    assert!(said.stop && said.stop_fresh);
    let said = seat.hold(&deaf, 1);
    assert!(said.stop && !said.stop_fresh, "it has come once");
    assert_eq!(seat.intended, []);
    let said = seat.hold(&stopping(Some(false), None), 1);
    assert!(!said.stop, "heard again");
}

#[test]
fn a_stop_by_the_second_contact_is_fresh_again_and_stows() {
    let mut seat = Seat::new();
    let first = stopping(Some(true), Some(false));
    assert!(seat.hold(&first, 1).stop_fresh);
    assert!(!seat.hold(&first, 1).stop_fresh);
    assert_eq!(seat.intended, []);
    assert!(seat.hold(&stopping(Some(true), Some(true)), 1).stop_fresh);
    assert_eq!(seat.intended, [Intention::StopAndStow]);
    assert!(!seat.hold(&stopping(Some(true), Some(true)), 1).stop_fresh);
    assert_eq!(seat.intended, [Intention::StopAndStow]);
}

#[test]
fn a_stop_contact_lost_while_released_and_heard_again_thrown_is_fresh() {
    let mut seat = Seat::new();
    seat.hold(&stopping(None, Some(false)), 5);
    assert!(seat.hold(&stopping(Some(true), Some(false)), 1).stop_fresh);
}

#[test]
fn the_throttle_proves_itself_and_its_zero_up_to_its_limits() {
    let proves = |a: i16, b: i16| {
        let controls = Controls {
            throttle_a: Signal::fresh(Permille::new(a)),
            throttle_b: Signal::fresh(Permille::new(b)),
            ..at_rest()
        };
        let mut seat = Seat::new();
        seat.hold(&controls, 1);
        (
            seat.proven.contains(Condition::ThrottleProven),
            seat.proven.contains(Condition::ThrottleZero),
        )
    };
    assert_eq!(proves(30, 30), (true, true));
    assert_eq!(proves(30, 31), (true, false));
    assert_eq!(proves(31, 0), (true, false));
    assert_eq!(proves(500, 560), (true, false));
    assert_eq!(proves(500, 561), (false, false));
}

#[test]
fn throttle_tracks_that_disagree_or_are_lost_are_told_after_a_while() {
    let apart = Controls {
        throttle_a: Signal::fresh(Permille::new(500)),
        ..at_rest()
    };
    let silent = Controls {
        throttle_b: Signal::fresh(Permille::ZERO).invalidated(),
        ..at_rest()
    };
    for controls in [apart, silent] {
        let mut seat = Seat::new();
        seat.hold(&controls, 9);
        assert_eq!(seat.active, Faults::empty());
        assert!(!seat.proven.contains(Condition::ThrottleProven));
        seat.hold(&controls, 1);
        assert_eq!(seat.active, Faults::only(Fault::ThrottleUnproven));
    }
}

fn acknowledging() -> Controls {
    Controls {
        acknowledge: Signal::fresh(true),
        acknowledge_rest: Signal::fresh(false),
        ..at_rest()
    }
}

#[test]
fn an_acknowledge_held_since_power_up_is_down_and_means_nothing() {
    let mut seat = just_powered();
    for _ in 0..300 {
        let said = seat.hold(&acknowledging(), 1);
        assert!(!said.acknowledged && !said.clearing);
    }
    assert!(seat.hold(&acknowledging(), 1).acknowledging);
    for half_released in [
        Controls {
            acknowledge: lost(),
            ..at_rest()
        },
        Controls {
            acknowledge_rest: lost(),
            ..at_rest()
        },
    ] {
        seat.hold(&half_released, 10);
        assert!(!seat.hold(&acknowledging(), 3).acknowledged);
    }
    seat.hold(&at_rest(), 10);
    assert!(seat.hold(&acknowledging(), 3).acknowledged);
}

#[test]
fn each_new_press_acknowledges_once() {
    let mut seat = Seat::new();
    for _ in 0..3 {
        assert!(!seat.hold(&acknowledging(), 2).acknowledged);
        assert!(seat.hold(&acknowledging(), 1).acknowledged);
        assert!(!seat.hold(&acknowledging(), 1).acknowledged);
        assert!(!seat.hold(&at_rest(), 10).acknowledging);
    }
}

#[test]
fn the_bench_key_is_on_off_or_not_heard() {
    let key = |contact| {
        let said = Seat::new().hold(
            &Controls {
                bench_key: contact,
                ..at_rest()
            },
            1,
        );
        (said.bench_key, said.bench_key_off)
    };
    assert_eq!(key(Signal::fresh(true)), (true, false));
    assert_eq!(key(Signal::fresh(false)), (false, true));
    assert_eq!(key(lost()), (false, false));
}

#[test]
fn auxiliary_charging_is_asked_for_by_both_contacts_once_they_were_seen_off() {
    let asking = Controls {
        aux_charge: Signal::fresh(true),
        aux_charge_off: Signal::fresh(false),
        ..at_rest()
    };
    let mut seat = just_powered();
    assert!(!seat.hold(&asking, 50).aux_charge, "on since power-up");
    seat.hold(&at_rest(), 1);
    assert!(seat.hold(&asking, 1).aux_charge);
    for (on, off) in [
        (Signal::fresh(true), Signal::fresh(true)),
        (Signal::fresh(false), Signal::fresh(false)),
        (Signal::fresh(true), lost()),
        (lost(), Signal::fresh(false)),
    ] {
        let half = Controls {
            aux_charge: on,
            aux_charge_off: off,
            ..at_rest()
        };
        assert!(!seat.hold(&half, 1).aux_charge);
    }
}

#[test]
fn one_contact_that_says_off_does_not_let_a_request_held_since_power_up_count() {
    let asking = Controls {
        aux_charge: Signal::fresh(true),
        aux_charge_off: Signal::fresh(false),
        ..at_rest()
    };
    for half in [
        Controls {
            aux_charge_off: Signal::fresh(true),
            ..asking
        },
        Controls {
            aux_charge: Signal::fresh(false),
            ..asking
        },
    ] {
        let mut seat = just_powered();
        seat.hold(&half, 5);
        assert!(!seat.hold(&asking, 5).aux_charge);
    }
}
