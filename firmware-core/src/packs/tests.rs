//! Tests of the module above, by itself.

use super::*;
use crate::signal::Signal;

fn pack(volts: i32) -> PackSensors {
    PackSensors {
        voltage: Signal::fresh(Millivolts::new(volts * 1000)),
        charge: Signal::fresh(Permille::new(800)),
        ..PackSensors::default()
    }
}

fn candidates(first: PackSensors, second: PackSensors) -> ([bool; PACKS], Faults) {
    let inputs = Inputs {
        packs: [first, second],
        ..Inputs::default()
    };
    let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
    let config = Config::default();
    let shown = Packs::default().observe(&inputs, false, &config, &mut proven, &mut active);
    (shown.candidates, active)
}

#[test]
fn balanced_packs_are_both_candidates() {
    assert_eq!(
        candidates(pack(400), pack(398)),
        ([true, true], Faults::empty())
    );
}

#[test]
fn of_unbalanced_packs_the_fuller_one_serves_alone() {
    let (chosen, active) = candidates(pack(380), pack(400));
    assert_eq!(chosen, [false, true]);
    assert!(active.contains(Fault::PacksUnbalanced));
}

#[test]
fn a_pack_that_is_not_heard_or_empty_is_no_candidate() {
    let silent = PackSensors {
        voltage: pack(400).voltage.invalidated(),
        ..pack(400)
    };
    let empty = PackSensors {
        charge: Signal::fresh(Permille::new(5)),
        ..pack(400)
    };
    assert_eq!(candidates(silent, pack(400)).0, [false, true]);
    assert_eq!(candidates(pack(400), empty).0, [true, false]);
}

/// Observes the same inputs for some ticks; what the last of them proves and shows.
fn observed(
    packs: &mut Packs,
    inputs: &Inputs,
    aux_requested: bool,
    ticks: u32,
) -> (Conditions, Faults, Shown) {
    let config = Config::default();
    let mut last = None;
    for _ in 0..ticks {
        let (mut proven, mut active) = (Conditions::empty(), Faults::empty());
        let shown = packs.observe(inputs, aux_requested, &config, &mut proven, &mut active);
        last = Some((proven, active, shown));
    }
    last.expect("at least one tick")
}

fn two(first: PackSensors, second: PackSensors) -> Inputs {
    Inputs {
        packs: [first, second],
        ..Inputs::default()
    }
}

fn silent() -> PackSensors {
    PackSensors {
        voltage: pack(400).voltage.invalidated(),
        ..pack(400)
    }
}

#[test]
fn each_pack_proves_itself_usable_and_its_loss_is_told_after_a_while() {
    let mut packs = Packs::default();
    let (proven, active, _) = observed(&mut packs, &two(pack(400), pack(400)), false, 20);
    assert_eq!(proven, Condition::Pack1Usable | Condition::Pack2Usable);
    assert_eq!(active, Faults::empty());

    let (proven, active, _) = observed(&mut packs, &two(silent(), pack(400)), false, 9);
    assert_eq!(
        (proven, active),
        (Condition::Pack2Usable.into(), Faults::empty())
    );
    let (_, active, _) = observed(&mut packs, &two(silent(), pack(400)), false, 1);
    assert_eq!(active, Faults::only(Fault::Pack1Unusable));

    let mut packs = Packs::default();
    let (proven, active, _) = observed(&mut packs, &two(pack(400), silent()), false, 10);
    assert_eq!(proven, Conditions::only(Condition::Pack1Usable));
    assert_eq!(active, Faults::only(Fault::Pack2Unusable));
}

#[test]
fn a_pack_is_usable_at_both_ends_of_its_voltage_and_just_above_empty() {
    let usable = |millivolts: i32, charge: i16| {
        let pack = PackSensors {
            voltage: Signal::fresh(Millivolts::new(millivolts)),
            charge: Signal::fresh(Permille::new(charge)),
            ..PackSensors::default()
        };
        candidates(pack, silent()).0 == [true, false]
    };
    assert!(usable(290_000, 800) && usable(465_000, 800) && usable(400_000, 21));
    assert!(!usable(289_999, 800) && !usable(465_001, 800) && !usable(400_000, 20));
}

#[test]
fn a_pack_that_fails_in_use_is_let_go_and_the_other_stays() {
    let mut packs = Packs::default();
    packs.join([true, true]);
    assert!(packs.any_joined());
    observed(&mut packs, &two(silent(), pack(400)), false, 9);
    assert_eq!(packs.joined(), [true, true]);
    observed(&mut packs, &two(silent(), pack(400)), false, 1);
    assert_eq!(packs.joined(), [false, true]);
    observed(&mut packs, &two(pack(400), silent()), false, 10);
    assert_eq!(packs.joined(), [false, false]);
    assert!(!packs.any_joined());
}

#[test]
fn the_reference_is_the_greatest_usable_voltage_and_the_joined_one_the_least() {
    let mut packs = Packs::default();
    packs.join([true, true]);
    let (_, _, shown) = observed(&mut packs, &two(pack(400), pack(398)), false, 1);
    assert_eq!(shown.reference, Some(Millivolts::new(400_000)));
    assert_eq!(shown.joined, Some(Millivolts::new(398_000)));
    packs.join([true, false]);
    let (_, _, shown) = observed(&mut packs, &two(pack(400), pack(398)), false, 1);
    assert_eq!(shown.joined, Some(Millivolts::new(400_000)));
    packs.join([false, false]);
    let (_, _, shown) = observed(&mut packs, &two(pack(400), pack(398)), false, 1);
    assert_eq!(shown.joined, None);
}

#[test]
fn packs_as_far_apart_as_allowed_are_balanced_and_joined_ones_are_never_called_unbalanced() {
    assert_eq!(
        candidates(pack(394), pack(400)),
        ([true, true], Faults::empty())
    );
    assert_eq!(
        candidates(pack(400), pack(393)),
        ([true, false], Fault::PacksUnbalanced.into())
    );
    let mut packs = Packs::default();
    packs.join([true, false]);
    let (_, active, _) = observed(&mut packs, &two(pack(380), pack(400)), false, 1);
    assert_eq!(active, Faults::empty());
}

#[test]
fn both_packs_give_whole_thrust_and_one_alone_its_share() {
    let config = Config::default();
    let mut packs = Packs::default();
    packs.join([true, true]);
    assert_eq!(packs.thrust_limit(&config), Permille::FULL);
    packs.join([false, true]);
    assert_eq!(packs.thrust_limit(&config), config.one_pack_limit);
}

#[test]
fn charge_below_the_reserve_of_either_pack_is_told() {
    let charged = |permille: i16| PackSensors {
        charge: Signal::fresh(Permille::new(permille)),
        ..pack(400)
    };
    let told = |first, second| {
        let inputs = two(charged(first), charged(second));
        observed(&mut Packs::default(), &inputs, false, 1).1
    };
    assert_eq!(told(150, 150), Faults::empty());
    assert_eq!(told(149, 800), Faults::only(Fault::ChargeLow));
    assert_eq!(told(800, 149), Faults::only(Fault::ChargeLow));
}

#[test]
fn the_auxiliary_battery_is_told_low_after_a_while_and_not_at_its_limit() {
    let told = |millivolts: i32, ticks| {
        let mut inputs = two(pack(400), pack(400));
        inputs.auxiliary = Signal::fresh(Millivolts::new(millivolts));
        observed(&mut Packs::default(), &inputs, false, ticks).1
    };
    assert_eq!(told(11_500, 50), Faults::empty());
    assert_eq!(told(11_499, 9), Faults::empty());
    assert_eq!(told(11_499, 10), Faults::only(Fault::AuxiliaryLow));
}

#[test]
fn auxiliary_charge_is_wanted_from_resume_to_full_and_only_when_asked_for() {
    let mut packs = Packs::default();
    let mut wanted = |millivolts: i32, asked: bool| {
        let mut inputs = two(pack(400), pack(400));
        inputs.auxiliary = Signal::fresh(Millivolts::new(millivolts));
        let (proven, _, _) = observed(&mut packs, &inputs, asked, 1);
        proven.contains(Condition::AuxWanted)
    };
    assert!(!wanted(13_201, true), "not yet low enough");
    assert!(!wanted(13_200, false), "not asked for");
    assert!(wanted(13_200, true));
    assert!(wanted(14_199, true), "on its way up");
    assert!(!wanted(14_200, true), "full");
    assert!(!wanted(13_201, true), "on its way down");
    assert!(wanted(13_000, true));
    let unheard = two(pack(400), pack(400));
    let (proven, _, _) = observed(&mut packs, &unheard, true, 1);
    assert!(!proven.contains(Condition::AuxWanted), "not heard");
}
