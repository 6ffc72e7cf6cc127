//! `step` is total (SR-15): whatever is read, in whatever order, it neither panics nor
//! overflows, takes only ways the table shows, and keeps its outputs consistent.

#![allow(
    clippy::unwrap_used,
    clippy::arithmetic_side_effects,
    reason = "a test may fail loudly"
)]

mod words;

use mastwright_core::outputs::{DoorDrive, Event, MastDrive, Motor};
use mastwright_core::{Config, Faults, Outputs, Sequencer};
use proptest::prelude::*;
use words::Words;

/// What must hold of any outputs, whatever was read.
fn check(outputs: &Outputs) {
    let drives = &outputs.drives;
    assert_eq!(drives.mast_power, drives.mast != MastDrive::Off);
    assert_eq!(drives.door_power, drives.doors != DoorDrive::Off);
    assert!(
        drives.motor_enable || matches!(drives.motor, Motor::Free | Motor::Short),
        "torque without enable: {drives:?}"
    );
    assert!(!(drives.bus.main && drives.bus.discharge), "{drives:?}");
    assert!(
        !(drives.bus.precharge && drives.bus.discharge),
        "{drives:?}"
    );
    assert!(
        outputs
            .indications
            .sounding
            .is_subset(outputs.indications.faults)
    );
    assert!(
        outputs
            .denials
            .iter()
            .all(|denial| !denial.reasons.is_empty())
    );
    for event in &outputs.events {
        if let Event::Went { from, to } = event {
            assert!(from.leads_to(*to), "{from:?} to {to:?} is not in the table");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_inputs_in_any_order_give_consistent_outputs(
        ticks in prop::collection::vec((prop::collection::vec(any::<u32>(), 47), 1..80_u16), 1..40),
        retained in any::<u64>(),
    ) {
        let config = Config::default();
        let mut sequencer = Sequencer::wake(Faults::from_u64_truncated(retained), &config);
        for (words, repeats) in &ticks {
            let inputs = Words(words.iter()).inputs();
            for _ in 0..*repeats {
                check(&sequencer.step(&inputs, &config));
            }
        }
    }

    #[test]
    fn the_same_inputs_give_the_same_outputs_and_the_same_state(
        ticks in prop::collection::vec(prop::collection::vec(any::<u32>(), 47), 1..40),
    ) {
        let config = Config::default();
        let mut one = Sequencer::wake(Faults::empty(), &config);
        let mut two = one;
        for words in &ticks {
            let inputs = Words(words.iter()).inputs();
            prop_assert_eq!(one.step(&inputs, &config), two.step(&inputs, &config));
            prop_assert_eq!(one, two);
        }
    }
}
