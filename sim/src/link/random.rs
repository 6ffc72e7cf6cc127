//! Readings as no flight gives them: any value, any age, sound or not.

use mastwright_core::Inputs;
use mastwright_core::inputs::{
    BusSensors, Controls, DoorSensors, MastSensors, PackSensors, PropellerSensors, ThermalSensors,
};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use crate::rng::Rng;

/// A source of readings; equal seeds give equal readings.
#[derive(Clone, Debug)]
pub struct Random {
    rng: Rng,
    held: Inputs,
    /// Ticks for which the latest readings stay as they are.
    stays: u64,
}

impl Random {
    /// A source started from a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self {
            rng: Rng::new(seed),
            held: Inputs::default(),
            stays: 0,
        }
    }

    /// The readings of the next tick. Some stay for a while, so that debouncing, proofs
    /// and timers run their course too.
    pub fn tick(&mut self) -> Inputs {
        if self.stays == 0 {
            self.held = self.inputs();
            self.stays = match self.below(4) {
                0 => self.below(120),
                1 => self.below(12),
                _ => 0,
            };
        } else {
            self.stays -= 1;
        }
        self.held
    }

    /// A number from 0 to one less than `bound`.
    pub const fn below(&mut self, bound: u64) -> u64 {
        (self.rng.bits() >> 16) % bound
    }

    fn signal<T: Copy>(&mut self, value: T) -> Signal<T> {
        let age = match self.below(8) {
            0..5 => 0,
            5 => 10,
            6 => 11,
            _ => u8::try_from(self.below(255)).unwrap_or(0),
        };
        let signal = Signal::aged(value, Age::new(age));
        if self.below(16) == 0 {
            signal.invalidated()
        } else {
            signal
        }
    }

    fn switch(&mut self) -> Signal<bool> {
        let closed = self.below(2) == 1;
        self.signal(closed)
    }

    /// A number: mostly within `range`, now and then as far out as the type goes.
    fn number(&mut self, range: std::ops::RangeInclusive<i32>, least: i32, most: i32) -> i32 {
        match self.below(32) {
            0 => least,
            1 => most,
            2 => 0,
            _ => {
                let span = u64::from(range.end().abs_diff(*range.start())) + 1;
                let ahead = i32::try_from(self.below(span)).unwrap_or(0);
                range.start() + ahead
            }
        }
    }

    fn small(&mut self, range: std::ops::RangeInclusive<i32>) -> i16 {
        let number = self.number(range, i16::MIN.into(), i16::MAX.into());
        i16::try_from(number).unwrap_or(0)
    }

    fn large(&mut self, range: std::ops::RangeInclusive<i32>) -> i32 {
        self.number(range, i32::MIN, i32::MAX)
    }

    fn share(&mut self) -> Signal<Permille> {
        let value = Permille::new(self.small(0..=1000));
        self.signal(value)
    }

    fn celsius(&mut self) -> Signal<DeciCelsius> {
        let value = DeciCelsius::new(self.small(-200..=1400));
        self.signal(value)
    }

    fn volts(&mut self, most: i32) -> Signal<Millivolts> {
        let value = Millivolts::new(self.large(0..=most));
        self.signal(value)
    }

    fn amps(&mut self, most: i32) -> Signal<Milliamps> {
        let value = Milliamps::new(self.large(-most..=most));
        self.signal(value)
    }

    fn angle(&mut self) -> Signal<CentiDegrees> {
        let value = CentiDegrees::new(self.large(0..=35_999));
        self.signal(value)
    }

    fn pack(&mut self) -> PackSensors {
        PackSensors {
            voltage: self.volts(470_000),
            temperature: self.celsius(),
            charge: self.share(),
        }
    }

    fn controls(&mut self) -> Controls {
        Controls {
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
        }
    }

    fn inputs(&mut self) -> Inputs {
        Inputs {
            controls: self.controls(),
            mast: MastSensors {
                position: self.share(),
                stowed_switch: self.switch(),
                deployed_switch: self.switch(),
                lock_switch: self.switch(),
                drive_current: self.amps(40_000),
            },
            doors: DoorSensors {
                left_open: self.switch(),
                right_open: self.switch(),
                shut: self.switch(),
                drive_current: self.amps(20_000),
            },
            propeller: PropellerSensors {
                angle_a: self.angle(),
                angle_b: self.angle(),
                speed: {
                    let speed = Rpm::new(self.small(-500..=2500));
                    self.signal(speed)
                },
            },
            bus: BusSensors {
                voltage: self.volts(470_000),
                current: self.amps(200_000),
                insulation: {
                    let ohms = self.number(0..=2000, 0, u16::MAX.into());
                    self.signal(KiloOhms::new(u16::try_from(ohms).unwrap_or(0)))
                },
                main_feedback: self.switch(),
            },
            packs: [self.pack(), self.pack()],
            thermal: ThermalSensors {
                motor: self.celsius(),
                controller: self.celsius(),
                fans_turning: self.switch(),
            },
            auxiliary: self.volts(15_000),
            airspeed: {
                let speed = DeciMetresPerSecond::new(self.small(0..=500));
                self.signal(speed)
            },
            missed_deadline: self.below(64) == 0,
        }
    }
}
