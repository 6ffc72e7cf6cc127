//! SR-15: the check that a step is total, and controllers that are not.

use std::panic::{AssertUnwindSafe, catch_unwind};

use mastwright_core::inputs::{
    BusSensors, Controls, DoorSensors, MastSensors, PackSensors, PropellerSensors, ThermalSensors,
};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer};
use mastwright_sim::rng::Rng;
use mastwright_sim::world::Controller;

use super::flown::Sabotaged;
use super::{Saboteur, Tamper, Trial};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur {
        name: "indexes-blindly",
        breaks: "SR-15",
        does: "looks the mast position up in a table that ends where the mast does",
        trial: Trial::Checked {
            by: "any inputs, extreme ones among them",
            honest: is_total::<Sequencer>,
            saboteur: is_total::<Sabotaged<IndexesBlindly>>,
        },
    },
    Saboteur {
        name: "adds-blindly",
        breaks: "SR-15",
        does: "adds the two pack voltages in a number too small for their sum",
        trial: Trial::Checked {
            by: "any inputs, extreme ones among them",
            honest: is_total::<Sequencer>,
            saboteur: is_total::<Sabotaged<AddsBlindly>>,
        },
    },
];

/// Sequences of inputs tried.
const SEQUENCES: u64 = 200;
/// Inputs in each sequence, each held for a while.
const INPUTS: u64 = 40;
/// Longest time one of them is held, ticks.
const HELD: u64 = 80;

/// A step neither panics nor overflows, whatever it is told, in whatever order.
///
/// # Errors
/// The sequence and the inputs at which it did.
pub fn is_total<C: Controller>() -> Result<(), String> {
    let config = Config::default();
    for sequence in 0..SEQUENCES {
        let mut words = Words(Rng::new(sequence));
        let retained = Faults::from_u64_truncated(words.word());
        let mut controller = C::wake(retained, &config);
        for number in 0..INPUTS {
            let inputs = words.inputs();
            let ticks = words.word() % HELD;
            let steps = AssertUnwindSafe(|| {
                for _ in 0..ticks {
                    controller.step(&inputs, &config);
                }
            });
            catch_unwind(steps)
                .map_err(|_| format!("a step panicked at input {number} of sequence {sequence}"))?;
        }
    }
    Ok(())
}

/// Random inputs, every fourth reading an extreme of its type.
struct Words(Rng);

impl Words {
    fn word(&mut self) -> u64 {
        self.0.bits()
    }

    fn signal<T: Copy>(&mut self, make: impl Fn(i32) -> T) -> Signal<T> {
        let word = self.word();
        let value = match word & 7 {
            0 => i32::MIN,
            1 => i32::MAX,
            _ => (word >> 40) as i32,
        };
        let signal = Signal::aged(make(value), Age::new((word >> 3) as u8 & 15));
        if word & 0x80 == 0 {
            signal
        } else {
            signal.invalidated()
        }
    }

    fn contact(&mut self) -> Signal<bool> {
        self.signal(|value| value & 1 == 1)
    }

    fn inputs(&mut self) -> Inputs {
        Inputs {
            controls: self.controls(),
            mast: MastSensors {
                position: self.signal(|value| Permille::new(small(value))),
                stowed_switch: self.contact(),
                deployed_switch: self.contact(),
                lock_switch: self.contact(),
                drive_current: self.signal(Milliamps::new),
            },
            doors: DoorSensors {
                left_open: self.contact(),
                right_open: self.contact(),
                shut: self.contact(),
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
                insulation: self.signal(|value| KiloOhms::new(value as u16)),
                main_feedback: self.contact(),
            },
            packs: [self.pack(), self.pack()],
            thermal: ThermalSensors {
                motor: self.celsius(),
                controller: self.celsius(),
                fans_turning: self.contact(),
            },
            auxiliary: self.signal(Millivolts::new),
            airspeed: self.signal(|value| DeciMetresPerSecond::new(small(value))),
            missed_deadline: self.word() & 7 == 7,
        }
    }

    fn controls(&mut self) -> Controls {
        Controls {
            throttle_a: self.signal(|value| Permille::new(small(value))),
            throttle_b: self.signal(|value| Permille::new(small(value))),
            select_hold: self.contact(),
            select_deploy: self.contact(),
            select_stow: self.contact(),
            stop_a: self.contact(),
            stop_b: self.contact(),
            bench_key: self.contact(),
            acknowledge: self.contact(),
            acknowledge_rest: self.contact(),
            aux_charge: self.contact(),
            aux_charge_off: self.contact(),
        }
    }

    fn pack(&mut self) -> PackSensors {
        PackSensors {
            voltage: self.signal(Millivolts::new),
            temperature: self.celsius(),
            charge: self.signal(|value| Permille::new(small(value))),
        }
    }

    fn celsius(&mut self) -> Signal<DeciCelsius> {
        self.signal(|value| DeciCelsius::new(small(value)))
    }
}

/// The nearest value that the type holds.
fn small(value: i32) -> i16 {
    i16::try_from(value).unwrap_or(if value < 0 { i16::MIN } else { i16::MAX })
}

/// Keeps eleven marks for a travel of 0 to 1000 and looks no further.
#[derive(Clone, Default)]
struct IndexesBlindly {
    passed: [bool; 11],
}

impl Tamper for IndexesBlindly {
    fn overrule(&mut self, told: &Inputs, _outputs: &mut Outputs) {
        let tenth = told.mast.position.raw().get() / 100;
        self.passed[usize::try_from(tenth).unwrap_or(0)] = true;
    }
}

/// Adds without thinking of the largest reading.
#[derive(Clone, Default)]
struct AddsBlindly {
    sum: i32,
}

impl Tamper for AddsBlindly {
    fn overrule(&mut self, told: &Inputs, _outputs: &mut Outputs) {
        let [one, two] = told.packs.map(|pack| pack.voltage.raw().get());
        // What `+` does where overflow is checked, in every profile.
        self.sum = one.checked_add(two).expect("attempt to add with overflow");
    }
}
