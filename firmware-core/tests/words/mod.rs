//! Any inputs whatever, made from a list of words.

use mastwright_core::inputs::{
    BusSensors, Controls, DoorSensors, Inputs, MastSensors, PackSensors, PropellerSensors,
    ThermalSensors,
};
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// Turns a list of words into inputs; zeros are the simplest, so failures shrink.
pub(crate) struct Words<'a>(pub(crate) std::slice::Iter<'a, u32>);

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

    pub(crate) fn inputs(&mut self) -> Inputs {
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
