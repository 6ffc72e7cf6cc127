//! Faults of the world, the pilot, the supply, the memory and the processor.

use crate::plant::defects::Defects;
use mastwright_core::Inputs;

use super::super::*;
use super::*;

fn started(names: &[(&str, Kind, Option<f64>)]) -> Injector {
    let fault = |(target, kind, strength): &(&str, Kind, Option<f64>)| {
        let target = target.parse().expect("a known target");
        Fault::new(target, *kind, *strength, None).expect("a fault it can have")
    };
    let mut injector = Injector::new(names.iter().map(fault).collect(), 2);
    (0..names.len()).for_each(|index| injector.start(index));
    injector
}

#[test]
fn mechanical_faults_show_in_si_units() {
    let injector = started(&[
        ("mechanics.mast-jam", Kind::Acts, Some(400.0)),
        ("mechanics.insulation-aged", Kind::Acts, Some(15.0)),
        ("mechanics.pack2-dropout", Kind::Acts, None),
        ("mechanics.main-weld", Kind::Acts, None),
    ]);
    assert_eq!(
        injector.defects(),
        Defects {
            mast_jam: Some(0.4),
            insulation_ohm: Some(15_000.0),
            pack_dropout: [false, true],
            main_welded: true,
            ..Defects::default()
        }
    );
}

#[test]
fn each_mechanical_fault_shows_in_its_own_place_only() {
    let none = Defects::default();
    #[rustfmt::skip]
    let shown = [
        ("mast-jam", Defects { mast_jam: Some(0.5), ..none }),
        ("door-jam", Defects { door_jam: Some(0.5), ..none }),
        ("main-weld", Defects { main_welded: true, ..none }),
        ("pack1-weld", Defects { pack_contactor_welded: [true, false], ..none }),
        ("pack2-weld", Defects { pack_contactor_welded: [false, true], ..none }),
        ("pack1-dropout", Defects { pack_dropout: [true, false], ..none }),
        ("pack2-dropout", Defects { pack_dropout: [false, true], ..none }),
        ("insulation-aged", Defects { insulation_ohm: Some(20_000.0), ..none }),
        ("fans-seized", Defects { fans_failed: true, ..none }),
        ("discharge-open", Defects { discharge_open: true, ..none }),
        ("blade-push", Defects { blade_push: 30.0, ..none }),
        ("gust", Defects { gust: 12.0, ..none }),
        ("bay-heat", Defects { extra_heat_bay: 200.0, ..none }),
        ("detent-worn", Defects { detent_worn: true, ..none }),
        ("shaft-drag", Defects { shaft_drag: 60.0, ..none }),
        ("spindle-free", Defects { mast_free: true, ..none }),
        ("precharge-open", Defects { precharge_open: true, ..none }),
        ("pack1-aged", Defects { pack_aged: [2.0, 0.0], ..none }),
        ("pack2-aged", Defects { pack_aged: [0.0, 2.0], ..none }),
        ("aux-drain", Defects { aux_drain: 8.0, ..none }),
        ("hot-day", Defects { ambient: Some(45.0), ..none }),
        ("over-speed", Defects { over_speed: 20.0, ..none }),
    ];
    assert_eq!(shown.len(), MechanicsId::ALL.len(), "every one is tried");
    for (name, expected) in shown {
        let injector = started(&[(&format!("mechanics.{name}"), Kind::Acts, None)]);
        assert_eq!(injector.defects(), expected, "{name}");
    }
}

#[test]
fn pushes_and_gusts_add_up_and_the_worst_insulation_counts() {
    let injector = started(&[
        ("mechanics.blade-push", Kind::Acts, Some(40.0)),
        ("mechanics.blade-push", Kind::Acts, Some(-15.0)),
        ("mechanics.insulation-aged", Kind::Acts, Some(15.0)),
        ("mechanics.insulation-aged", Kind::Acts, Some(90.0)),
    ]);
    assert_eq!(injector.defects().blade_push, 25.0);
    assert_eq!(injector.defects().insulation_ohm, Some(15_000.0));
}

#[test]
fn an_intermittent_pack_comes_and_goes() {
    let mut injector = started(&[("mechanics.pack1-dropout", Kind::Intermittent, None)]);
    let mut out = 0;
    for _ in 0..1_000 {
        out += u32::from(injector.defects().pack_dropout[0]);
        injector.tick();
    }
    assert!((300..700).contains(&out), "{out} of 1000 ticks");
}

#[test]
fn a_brown_out_lasts_its_duration_to_the_tick() {
    let fault = Fault::new(Target::Power, Kind::BrownOut, None, Some(0.05));
    let mut injector = Injector::new(vec![fault.expect("a supply can")], 1);
    assert!(injector.powered());
    injector.start(0);
    let mut powered = Vec::new();
    for _ in 0..7 {
        powered.push(injector.powered());
        injector.tick();
    }
    assert_eq!(powered, [false, false, false, false, false, true, true]);
}

#[test]
fn a_reset_takes_one_tick_and_can_come_again() {
    let mut injector = started(&[("power", Kind::Reset, None)]);
    assert!(!injector.powered());
    injector.tick();
    assert!(injector.powered());
    injector.start(0);
    assert!(!injector.powered());
    injector.tick();
    assert!(injector.powered());
}

#[test]
fn a_fault_started_anew_lasts_its_whole_duration_again() {
    let fault = Fault::new(Target::Power, Kind::BrownOut, None, Some(0.03));
    let mut injector = Injector::new(vec![fault.expect("a supply can")], 1);
    let mut powered = Vec::new();
    for tick in 0..8 {
        if [0, 2].contains(&tick) {
            injector.start(0);
        }
        powered.push(injector.powered());
        injector.tick();
    }
    let lost = [true, true, true, true, true, false, false, false];
    assert_eq!(powered, lost.map(|lost: bool| !lost));
}

#[test]
fn a_cleared_fault_is_over_at_once_and_the_others_go_on() {
    let mut injector = started(&[
        ("power", Kind::BrownOut, None),
        ("mechanics.main-weld", Kind::Acts, None),
    ]);
    assert_eq!(injector.active(), [0, 1]);
    injector.clear(0);
    assert_eq!(injector.active(), [1]);
    assert!(injector.powered() && injector.defects().main_welded);
}

#[test]
fn a_bit_is_flipped_once_for_each_start() {
    let mut injector = started(&[("memory", Kind::BitFlip, None)]);
    let first = injector.bit_flip();
    assert!(first.is_some());
    assert_eq!(injector.bit_flip(), None, "already given");
    injector.tick();
    injector.start(0);
    let second = injector.bit_flip();
    assert!(second.is_some() && second != first, "another bit");
}

#[test]
fn a_slow_processor_misses_its_deadline_in_every_tick() {
    let mut injector = started(&[("processor", Kind::Slow, None)]);
    for _ in 0..3 {
        let mut inputs = Inputs::default();
        injector.corrupt_inputs(&mut inputs);
        injector.tick();
        assert!(inputs.missed_deadline);
    }
}

/// What the pilot's hands do under one fault, tick by tick.
fn erring(pilot: &str, strength: Option<f64>, meant: Controls) -> Vec<Controls> {
    let mut injector = started(&[(&format!("pilot.{pilot}"), Kind::Acts, strength)]);
    let one = |_| {
        let mut controls = meant;
        injector.corrupt_controls(&mut controls);
        injector.tick();
        controls
    };
    (0..1_000).map(one).collect()
}

#[test]
fn a_throttle_left_open_is_never_less_open_than_it_was_left() {
    let throttle = |meant: f64| {
        let meant = Controls {
            throttle: meant,
            ..Controls::default()
        };
        erring("throttle-left-open", Some(250.0), meant)[0].throttle
    };
    assert_eq!(throttle(0.0), 0.25);
    assert_eq!(throttle(0.8), 0.8);
}

#[test]
fn a_mistaken_selector_goes_the_other_way() {
    for (meant, done) in [
        (Push::Hold, Push::Hold),
        (Push::Deploy, Push::Stow),
        (Push::Stow, Push::Deploy),
    ] {
        let meant = Controls {
            selector: meant,
            ..Controls::default()
        };
        assert_eq!(erring("selector-mistaken", None, meant)[0].selector, done);
    }
}

#[test]
fn contradictory_orders_come_all_at_once() {
    let meant = Controls {
        selector: Push::Stow,
        ..Controls::default()
    };
    let done = erring("orders-contradict", None, meant)[0];
    assert_eq!((done.selector, done.stop), (Push::Deploy, true));
    assert_eq!(done.throttle, 0.3);
}

#[test]
fn a_chattering_selector_visits_every_place_and_rests_in_each_for_a_while() {
    let places: Vec<Push> = erring("selector-chatter", None, Controls::default())
        .iter()
        .map(|controls| controls.selector)
        .collect();
    for place in [Push::Hold, Push::Deploy, Push::Stow] {
        assert!(places.contains(&place), "{place:?}");
    }
    let moves = places.windows(2).filter(|pair| pair[0] != pair[1]).count();
    assert!((20..100).contains(&moves), "{moves} moves in 10 s");
}

#[test]
fn spammed_controls_take_every_value() {
    let seen = erring("controls-spammed", None, Controls::default());
    let both = |test: fn(&Controls) -> bool| seen.iter().any(test) && !seen.iter().all(test);
    assert!(both(|c| c.throttle > 0.5));
    assert!(both(|c| c.stop));
    assert!(both(|c| c.bench_key));
    assert!(both(|c| c.acknowledge));
    assert!(both(|c| c.heat_test));
    assert!(both(|c| c.aux_charge));
    assert!(both(|c| c.selector == Push::Stow));
}
