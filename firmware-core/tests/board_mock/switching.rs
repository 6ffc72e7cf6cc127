//! A tick from pins to pins, the order in which switches go on and off, and what is
//! left on when a tick is late or an output does not obey.

use mastwright_core::board::{Failed, Switch, Switches, Verdict, switches};
use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor, Outputs, Pace};
use mastwright_core::{Config, Faults, Sequencer};

use crate::rig::{Bench, Clock, Done, commanding, everything};

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
