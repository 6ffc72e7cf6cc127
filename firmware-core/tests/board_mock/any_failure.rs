//! Anything commanded, any pin refusing, any tick late: no two opposite directions.

use mastwright_core::board::{Switch, Switches, Verdict, switches};
use mastwright_core::outputs::{BusDrive, DoorDrive, Drives, Fans, MastDrive, Motor, Pace};
use mastwright_core::units::{Permille, Rpm};
use proptest::prelude::*;

use crate::rig::{Bench, Clock, commanding};

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
