//! The board on mock pins: sampling, order of switching, and what is left on when
//! something fails (SR-03, SR-11, SR-16).
#![allow(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used)]
#![allow(clippy::arithmetic_side_effects, clippy::panic)]

mod rig;

use mastwright_core::board::{Failed, NoReading, Switch, Switches, Verdict, switches};
use mastwright_core::inputs::Inputs;
use mastwright_core::outputs::{
    BusDrive, DoorDrive, Drives, Fans, MastDrive, Motor, Outputs, Pace,
};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_core::{Config, Faults, Sequencer};
use proptest::prelude::*;
use rig::{Bench, Clock, Done};

fn commanding(drives: Drives) -> impl FnOnce(&Inputs) -> Outputs {
    move |_| Outputs {
        drives,
        ..Outputs::default()
    }
}

/// As much as can be on at once.
fn everything() -> Drives {
    Drives {
        motor: Motor::Thrust(Permille::FULL),
        motor_enable: true,
        mast: MastDrive::Extend(Pace::Slow),
        doors: DoorDrive::Open,
        mast_power: true,
        door_power: true,
        bus: BusDrive {
            packs: [true; 2],
            precharge: true,
            main: true,
            discharge: true,
        },
        fans: Fans::Off,
        aux_charger: true,
    }
}

#[test]
fn a_tick_of_the_sequencer_goes_from_pins_to_pins_and_feeds_the_watchdog() {
    let bench = Bench::default();
    let mut board = bench.board();
    let config = Config::default();
    let mut sequencer = Sequencer::wake(Faults::empty(), &config);
    for _ in 0..100 {
        bench.done();
        let ticked = board.tick(&mut sequencer, &config, &mut Clock::on_time());
        assert_eq!(ticked.verdict, Verdict::OnTime);
        assert_eq!(
            bench.with(|state| state.high),
            switches(&ticked.outputs.drives)
        );
        assert_eq!(bench.with(|state| state.motor), ticked.outputs.drives.motor);
        assert_eq!(bench.done().iter().filter(|d| **d == Done::Fed).count(), 1);
    }
    assert!(!board.inputs().missed_deadline);
}

#[test]
fn a_new_board_switches_everything_off_before_its_first_tick() {
    let bench = Bench::default();
    bench.with(|state| state.high = Switches::all());
    let _board = bench.board();
    assert_eq!(bench.with(|state| state.high), Switches::empty());
    assert!(!bench.was_fed());
}

#[test]
fn every_contact_reaches_the_signal_of_its_name_and_no_other() {
    type Look = fn(&Inputs) -> Signal<bool>;
    let looks: [(&'static str, Look); 18] = [
        ("select_hold", |i| i.controls.select_hold),
        ("select_deploy", |i| i.controls.select_deploy),
        ("select_stow", |i| i.controls.select_stow),
        ("stop_a", |i| i.controls.stop_a),
        ("stop_b", |i| i.controls.stop_b),
        ("bench_key", |i| i.controls.bench_key),
        ("acknowledge", |i| i.controls.acknowledge),
        ("acknowledge_rest", |i| i.controls.acknowledge_rest),
        ("aux_charge", |i| i.controls.aux_charge),
        ("aux_charge_off", |i| i.controls.aux_charge_off),
        ("mast_stowed", |i| i.mast.stowed_switch),
        ("mast_deployed", |i| i.mast.deployed_switch),
        ("mast_locked", |i| i.mast.lock_switch),
        ("left_door_open", |i| i.doors.left_open),
        ("right_door_open", |i| i.doors.right_open),
        ("doors_shut", |i| i.doors.shut),
        ("main_feedback", |i| i.bus.main_feedback),
        ("fans_turning", |i| i.thermal.fans_turning),
    ];
    for (closed, _) in looks {
        let bench = Bench::default();
        bench.with(|state| state.closed.insert(closed));
        let mut inputs = Inputs::default();
        bench.sensors().sample(&mut inputs);
        for (name, look) in looks {
            assert_eq!(look(&inputs), Signal::fresh(name == closed), "{name}");
        }
    }
}

#[test]
fn every_channel_reaches_the_signal_it_measures() {
    let bench = Bench::default();
    let mut i = Inputs::default();
    bench.sensors().sample(&mut i);
    for (signal, value) in [
        (i.controls.throttle_a, 110),
        (i.controls.throttle_b, 120),
        (i.mast.position, 130),
        (i.packs[0].charge, 141),
        (i.packs[1].charge, 142),
    ] {
        assert_eq!(signal, Signal::fresh(Permille::new(value)));
    }
    for (signal, value) in [
        (i.bus.voltage, 210),
        (i.packs[0].voltage, 221),
        (i.packs[1].voltage, 222),
        (i.auxiliary, 230),
    ] {
        assert_eq!(signal, Signal::fresh(Millivolts::new(value)));
    }
    for (signal, value) in [
        (i.mast.drive_current, 310),
        (i.doors.drive_current, 320),
        (i.bus.current, 330),
    ] {
        assert_eq!(signal, Signal::fresh(Milliamps::new(value)));
    }
    for (signal, value) in [
        (i.packs[0].temperature, 411),
        (i.packs[1].temperature, 412),
        (i.thermal.motor, 420),
        (i.thermal.controller, 430),
    ] {
        assert_eq!(signal, Signal::fresh(DeciCelsius::new(value)));
    }
    assert_eq!(i.bus.insulation, Signal::fresh(KiloOhms::new(510)));
    assert_eq!(i.airspeed, Signal::fresh(DeciMetresPerSecond::new(610)));
    let propeller = i.propeller;
    assert_eq!(propeller.angle_a, Signal::fresh(CentiDegrees::new(1_100)));
    assert_eq!(propeller.angle_b, Signal::fresh(CentiDegrees::new(1_200)));
    assert_eq!(propeller.speed, Signal::fresh(Rpm::new(1_300)));
}

#[test]
fn a_reading_that_fails_ages_and_is_fresh_again_once_it_returns() {
    let bench = Bench::default();
    let mut sensors = bench.sensors();
    let mut inputs = Inputs::default();
    bench.with(|state| state.closed.insert("mast_locked"));
    sensors.sample(&mut inputs);

    bench.with(|state| {
        state.silent.insert("mast_locked");
        state.no_reading = Some(NoReading::Absent);
    });
    for age in 1..=300_u16 {
        sensors.sample(&mut inputs);
        let age = Age::new(u8::try_from(age).unwrap_or(u8::MAX));
        assert_eq!(inputs.mast.lock_switch, Signal::aged(true, age));
        assert_eq!(inputs.mast.position, Signal::aged(Permille::new(130), age));
        assert_eq!(inputs.mast.stowed_switch, Signal::fresh(false));
    }

    bench.with(|state| {
        state.silent.clear();
        state.no_reading = None;
    });
    sensors.sample(&mut inputs);
    assert_eq!(inputs.mast.lock_switch, Signal::fresh(true));
    assert_eq!(inputs.mast.position, Signal::fresh(Permille::new(130)));
}

#[test]
fn a_source_that_calls_itself_unsound_proves_nothing_from_that_tick_on() {
    let bench = Bench::default();
    let mut sensors = bench.sensors();
    let mut inputs = Inputs::default();
    sensors.sample(&mut inputs);
    bench.with(|state| state.no_reading = Some(NoReading::Unsound));
    sensors.sample(&mut inputs);
    assert_eq!(inputs.propeller.angle_a.proven(Age::OLDEST), None);
    assert_eq!(inputs.bus.voltage.proven(Age::OLDEST), None);

    // A source that then falls silent is not sound again by that.
    bench.with(|state| state.no_reading = Some(NoReading::Absent));
    sensors.sample(&mut inputs);
    assert_eq!(inputs.bus.voltage.proven(Age::OLDEST), None);
}

#[test]
fn a_reading_never_made_is_never_proven() {
    let bench = Bench::default();
    bench.with(|state| state.no_reading = Some(NoReading::Absent));
    let mut inputs = Inputs::default();
    bench.sensors().sample(&mut inputs);
    assert_eq!(inputs.airspeed.proven(Age::OLDEST), None);
}

#[test]
fn the_fail_safe_command_has_every_switch_off() {
    assert_eq!(switches(&Drives::default()), Switches::empty());
}

#[test]
fn everything_on_is_every_switch_but_the_opposite_directions() {
    assert_eq!(
        switches(&everything()),
        !(Switch::MastRetract | Switch::DoorsClose)
    );
}

#[test]
fn a_direction_comes_from_one_value_and_is_never_both() {
    for pace in [Pace::Full, Pace::Slow] {
        let slow = if pace == Pace::Slow {
            Switch::MastSlow.into()
        } else {
            Switches::empty()
        };
        for (mast, expected) in [
            (MastDrive::Off, Switches::empty()),
            (MastDrive::Extend(pace), slow | Switch::MastExtend),
            (MastDrive::Retract(pace), slow | Switch::MastRetract),
        ] {
            let drives = Drives {
                mast,
                ..Drives::default()
            };
            assert_eq!(switches(&drives), expected);
        }
    }
}

#[test]
fn the_order_of_switching_names_every_switch_once() {
    let all: Switches = Switch::ON_ORDER.into_iter().collect();
    assert_eq!(all, Switches::all());
    assert_eq!(Switch::ON_ORDER.len(), all.len());
}

#[test]
fn a_reversal_switches_the_old_direction_off_before_the_new_one_on() {
    let bench = Bench::default();
    let mut board = bench.board();
    let raise = Drives {
        mast: MastDrive::Extend(Pace::Full),
        doors: DoorDrive::Close,
        mast_power: true,
        door_power: true,
        ..Drives::default()
    };
    let lower = Drives {
        mast: MastDrive::Retract(Pace::Full),
        doors: DoorDrive::Open,
        ..raise
    };
    board.tick_with(&mut Clock::on_time(), commanding(raise));
    bench.done();
    board.tick_with(&mut Clock::on_time(), commanding(lower));
    let done = bench.done();
    let at = |what| done.iter().position(|d| *d == what).expect("was written");
    let off = at(Done::Switched(Switch::MastExtend, false));
    assert!(off < at(Done::Switched(Switch::MastRetract, true)));
    let off = at(Done::Switched(Switch::DoorsClose, false));
    assert!(off < at(Done::Switched(Switch::DoorsOpen, true)));
}

#[test]
fn torque_goes_off_first_and_comes_on_last() {
    let bench = Bench::default();
    let mut board = bench.board();
    bench.done();
    board.tick_with(&mut Clock::on_time(), commanding(everything()));
    let on = bench.done();
    assert_eq!(
        on[on.len() - 2..],
        [Done::Switched(Switch::MotorEnable, true), Done::Fed]
    );
    board.tick_with(&mut Clock::on_time(), commanding(Drives::default()));
    let off = bench.done();
    assert_eq!(off[0], Done::Switched(Switch::MotorEnable, false));
    let at = |switch| {
        off.iter()
            .position(|d| *d == Done::Switched(switch, false))
            .expect("was written")
    };
    assert!(at(Switch::MastPower) < at(Switch::MastExtend));
    assert!(at(Switch::DoorPower) < at(Switch::DoorsOpen));
    assert!(at(Switch::Main) < at(Switch::Pack1));
}

#[test]
fn a_late_tick_leaves_every_output_fail_safe_and_the_next_tick_knows() {
    for late in [Clock::late_before_outputs, Clock::late_after_outputs] {
        let bench = Bench::default();
        let mut board = bench.board();
        board.tick_with(&mut Clock::on_time(), commanding(everything()));
        bench.done();

        let ticked = board.tick_with(&mut late(), commanding(everything()));
        assert_eq!(ticked.verdict, Verdict::Late);
        assert_eq!(bench.with(|state| state.high), Switches::empty());
        assert_eq!(bench.with(|state| state.motor), Motor::Short);
        assert!(!bench.was_fed());

        let mut told = false;
        board.tick_with(&mut Clock::on_time(), |inputs| {
            told = inputs.missed_deadline;
            Outputs::default()
        });
        assert!(told);
        board.tick_with(&mut Clock::on_time(), |inputs| {
            told = inputs.missed_deadline;
            Outputs::default()
        });
        assert!(!told, "one late tick is told once");
    }
}

#[test]
fn a_tick_late_before_its_outputs_switches_nothing_on() {
    let bench = Bench::default();
    let mut board = bench.board();
    bench.done();
    board.tick_with(&mut Clock::late_before_outputs(), commanding(everything()));
    assert!(!bench.done().iter().any(|done| matches!(
        done,
        Done::Switched(_, true) | Done::Commanded(Motor::Thrust(_))
    )));
}

#[test]
fn any_switch_that_does_not_obey_puts_all_others_off_until_reset() {
    for stuck in Switches::all() {
        let bench = Bench::default();
        let mut board = bench.board();
        board.tick_with(&mut Clock::on_time(), commanding(everything()));
        bench.with(|state| state.stuck = stuck.into());
        bench.done();

        let ticked = board.tick_with(&mut Clock::on_time(), commanding(everything()));
        assert_eq!(ticked.verdict, Verdict::Failed(Failed::Switch(stuck)));
        assert!(bench.with(|state| state.high).is_subset(stuck.into()));
        assert_eq!(bench.with(|state| state.motor), Motor::Short);

        // Obeying again later is no reason to trust it.
        bench.with(|state| state.stuck = Switches::empty());
        for _ in 0..5 {
            let ticked = board.tick_with(&mut Clock::on_time(), commanding(everything()));
            assert_eq!(ticked.verdict, Verdict::Failed(Failed::Switch(stuck)));
            assert!(board.inputs().missed_deadline);
            assert_eq!(bench.with(|state| state.high), Switches::empty());
        }
        assert!(!bench.was_fed());
    }
}

#[test]
fn a_direction_stuck_on_is_never_answered_by_the_opposite_one() {
    let bench = Bench::default();
    let mut board = bench.board();
    board.tick_with(&mut Clock::on_time(), commanding(everything()));
    bench.with(|state| state.stuck = Switch::MastExtend.into());
    let lower = Drives {
        mast: MastDrive::Retract(Pace::Full),
        mast_power: true,
        ..Drives::default()
    };
    board.tick_with(&mut Clock::on_time(), commanding(lower));
    assert_eq!(
        bench.with(|state| state.high),
        Switches::only(Switch::MastExtend),
        "its power is off, and the opposite direction never came on"
    );
    assert!(!bench.with(|state| state.both_ways));
}

#[test]
fn a_motor_controller_that_does_not_obey_puts_everything_off() {
    let bench = Bench::default();
    let mut board = bench.board();
    board.tick_with(&mut Clock::on_time(), commanding(everything()));
    bench.with(|state| state.motor_deaf = true);
    bench.done();
    let ticked = board.tick_with(&mut Clock::on_time(), commanding(everything()));
    assert_eq!(ticked.verdict, Verdict::Failed(Failed::Motor));
    assert_eq!(bench.with(|state| state.high), Switches::empty());
    assert!(!bench.was_fed());
}

#[test]
fn a_switch_that_does_not_obey_at_power_up_keeps_the_board_from_starting() {
    let bench = Bench::default();
    bench.with(|state| state.stuck = Switch::Main.into());
    let mut board = bench.board();
    let ticked = board.tick_with(&mut Clock::on_time(), commanding(everything()));
    assert_eq!(
        ticked.verdict,
        Verdict::Failed(Failed::Switch(Switch::Main))
    );
    assert_eq!(bench.with(|state| state.high), Switches::empty());
    assert!(!bench.was_fed());
}

#[test]
fn fail_safe_tries_every_output_though_all_but_one_fail() {
    for obeying in Switches::all() {
        let bench = Bench::default();
        let mut actuators = bench.actuators();
        bench.with(|state| {
            state.high = Switches::all();
            state.stuck = !Switches::only(obeying);
            state.motor_deaf = true;
        });
        actuators.fail_safe().unwrap_err();
        assert!(!bench.with(|state| state.high).contains(obeying));
        assert!(bench.done().contains(&Done::Commanded(Motor::Short)));
    }
}

fn any_motor() -> impl Strategy<Value = Motor> {
    prop_oneof![
        Just(Motor::Free),
        Just(Motor::Short),
        any::<i16>().prop_map(|share| Motor::Thrust(Permille::new(share))),
        any::<i16>().prop_map(|share| Motor::Brake(Permille::new(share))),
        any::<i16>().prop_map(|share| Motor::Hold(Permille::new(share))),
        any::<i16>().prop_map(|speed| Motor::Creep(Rpm::new(speed))),
    ]
}

fn any_drives() -> impl Strategy<Value = Drives> {
    let mast = prop_oneof![
        Just(MastDrive::Off),
        Just(MastDrive::Extend(Pace::Full)),
        Just(MastDrive::Extend(Pace::Slow)),
        Just(MastDrive::Retract(Pace::Full)),
        Just(MastDrive::Retract(Pace::Slow)),
    ];
    let doors = prop_oneof![
        Just(DoorDrive::Off),
        Just(DoorDrive::Open),
        Just(DoorDrive::Close),
    ];
    let fans = prop_oneof![Just(Fans::On), Just(Fans::Off)];
    (any_motor(), mast, doors, fans, any::<[bool; 9]>()).prop_map(
        |(
            motor,
            mast,
            doors,
            fans,
            [
                enable,
                mast_power,
                door_power,
                one,
                two,
                pre,
                main,
                drain,
                aux,
            ],
        )| Drives {
            motor,
            motor_enable: enable,
            mast,
            doors,
            mast_power,
            door_power,
            bus: BusDrive {
                packs: [one, two],
                precharge: pre,
                main,
                discharge: drain,
            },
            fans,
            aux_charger: aux,
        },
    )
}

/// One tick of a trial: what is commanded, which pin refuses, and whether it is late.
fn any_tick() -> impl Strategy<Value = (Drives, Option<usize>, [bool; 2])> {
    (
        any_drives(),
        proptest::option::weighted(0.1, 0..Switch::ON_ORDER.len()),
        any::<[bool; 2]>().prop_map(|late| [late[0] && late[1], late[0]]),
    )
}

proptest! {
    #[test]
    fn opposite_directions_are_never_on_together_whatever_is_commanded_and_whatever_fails(
        ticks in proptest::collection::vec(any_tick(), 1..40)
    ) {
        let bench = Bench::default();
        let mut board = bench.board();
        for (drives, refusing, late) in ticks {
            let stuck = refusing.map_or(Switches::empty(), |at| Switch::ON_ORDER[at].into());
            bench.with(|state| state.stuck = stuck);
            bench.done();
            let ticked = board.tick_with(&mut Clock(late, 0), commanding(drives));
            let high = bench.with(|state| state.high);
            prop_assert!(!bench.with(|state| state.both_ways));
            match ticked.verdict {
                Verdict::OnTime => {
                    prop_assert_eq!(high, switches(&drives));
                    prop_assert_eq!(bench.with(|state| state.motor), drives.motor);
                    prop_assert!(bench.was_fed() && !late[0] && !late[1]);
                }
                Verdict::Late => {
                    prop_assert_eq!(high, Switches::empty());
                    prop_assert!(!bench.was_fed() && (late[0] || late[1]));
                }
                Verdict::Failed(_) => {
                    prop_assert!(high.is_subset(stuck));
                    prop_assert!(!bench.was_fed());
                }
            }
        }
    }
}
