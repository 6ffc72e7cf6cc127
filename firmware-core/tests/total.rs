//! `step` is total (SR-15): whatever is read, in whatever order, it neither panics nor
//! overflows, takes only ways the table shows, and keeps its outputs consistent.

#![allow(
    clippy::unwrap_used,
    clippy::arithmetic_side_effects,
    reason = "a test may fail loudly"
)]

use mastwright_core::inputs::{
    BusSensors, Controls, DoorSensors, Inputs, MastSensors, PackSensors, PropellerSensors,
    ThermalSensors,
};
use mastwright_core::outputs::{DoorDrive, Event, MastDrive, Motor};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_core::{Config, Faults, Outputs, Sequencer};
use proptest::prelude::*;

/// Turns a list of words into inputs; zeros are the simplest, so failures shrink.
struct Words<'a>(std::slice::Iter<'a, u32>);

impl Words<'_> {
    fn word(&mut self) -> u32 {
        self.0.next().copied().unwrap_or(0)
    }

    fn signal<T: Copy>(&mut self, make: impl Fn(i32) -> T) -> Signal<T> {
        let word = self.word();
        let extreme = match word & 7 {
            0 => i32::MIN,
            1 => i32::MAX,
            _ => i32::from_ne_bytes(word.to_ne_bytes()) >> 8,
        };
        let signal = Signal::aged(
            make(extreme),
            Age::new(u8::try_from((word >> 3) & 15).unwrap()),
        );
        if word & 0x80 == 0 {
            signal
        } else {
            signal.invalidated()
        }
    }

    fn switch(&mut self) -> Signal<bool> {
        self.signal(|value| value & 1 == 1)
    }

    fn share(&mut self) -> Signal<Permille> {
        self.signal(|value| Permille::new(small(value)))
    }

    fn celsius(&mut self) -> Signal<DeciCelsius> {
        self.signal(|value| DeciCelsius::new(small(value)))
    }

    fn inputs(&mut self) -> Inputs {
        let pack = |words: &mut Self| PackSensors {
            voltage: words.signal(Millivolts::new),
            temperature: words.celsius(),
            charge: words.share(),
        };
        Inputs {
            controls: Controls {
                throttle_a: self.share(),
                throttle_b: self.share(),
                select_hold: self.switch(),
                select_deploy: self.switch(),
                select_stow: self.switch(),
                stop_a: self.switch(),
                stop_b: self.switch(),
                bench_key: self.switch(),
                acknowledge: self.switch(),
                acknowledge_rest: self.switch(),
                aux_charge: self.switch(),
                aux_charge_off: self.switch(),
            },
            mast: MastSensors {
                position: self.share(),
                stowed_switch: self.switch(),
                deployed_switch: self.switch(),
                lock_switch: self.switch(),
                drive_current: self.signal(Milliamps::new),
            },
            doors: DoorSensors {
                left_open: self.switch(),
                right_open: self.switch(),
                shut: self.switch(),
                drive_current: self.signal(Milliamps::new),
            },
            propeller: PropellerSensors {
                angle_a: self.signal(CentiDegrees::new),
                angle_b: self.signal(CentiDegrees::new),
                speed: self.signal(|value| Rpm::new(small(value))),
            },
            bus: BusSensors {
                voltage: self.signal(Millivolts::new),
                current: self.signal(Milliamps::new),
                insulation: self
                    .signal(|value| KiloOhms::new(u16::from_ne_bytes(small(value).to_ne_bytes()))),
                main_feedback: self.switch(),
            },
            packs: [pack(self), pack(self)],
            thermal: ThermalSensors {
                motor: self.celsius(),
                controller: self.celsius(),
                fans_turning: self.switch(),
            },
            auxiliary: self.signal(Millivolts::new),
            airspeed: self.signal(|value| DeciMetresPerSecond::new(small(value))),
            missed_deadline: self.word() & 7 == 7,
        }
    }
}

fn small(value: i32) -> i16 {
    i16::try_from(value).unwrap_or(if value < 0 { i16::MIN } else { i16::MAX })
}

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
