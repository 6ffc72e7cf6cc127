//! What the controller can be told otherwise: a knob for every reading, with the values
//! that are worth trying.

use std::ops::RangeInclusive;

use mastwright_core::Config;
use mastwright_core::inputs::Inputs;
use mastwright_core::signal::Signal;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// A value a reading can carry, as a number.
trait Level: Copy + 'static {
    fn number(self) -> i32;
    fn of(number: i32) -> Self;
    fn words(self) -> String;
}

impl Level for bool {
    fn number(self) -> i32 {
        i32::from(self)
    }

    fn of(number: i32) -> Self {
        number != 0
    }

    fn words(self) -> String {
        if self { "true" } else { "false" }.to_owned()
    }
}

macro_rules! levels {
    ($($unit:ident($number:ty): $scale:literal, $decimals:literal, $symbol:literal;)+) => {$(
        impl Level for $unit {
            fn number(self) -> i32 {
                i32::from(self.get())
            }

            fn of(number: i32) -> Self {
                // Every value tried comes from a setting or a reading of the type.
                Self::new(<$number>::try_from(number).unwrap_or_default())
            }

            fn words(self) -> String {
                format!("{:.*} {}", $decimals, f64::from(self.get()) / $scale, $symbol)
            }
        }
    )+};
}

levels!(
    Permille(i16): 10.0, 1, "%";
    CentiDegrees(i32): 100.0, 2, "deg";
    DeciCelsius(i16): 10.0, 1, "deg C";
    DeciMetresPerSecond(i16): 10.0, 1, "m/s";
    KiloOhms(u16): 1.0, 0, "kohm";
    Milliamps(i32): 1000.0, 1, "A";
    Millivolts(i32): 1000.0, 1, "V";
    Rpm(i16): 1.0, 0, "rpm";
);

/// What there is to doubt about a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Doubt {
    /// Nothing: it is sound, and of this very tick.
    None,
    /// It is so many ticks old.
    Aged(u8),
    /// Its source declares it unsound.
    Unsound,
}

type Read = dyn Fn(&Inputs) -> (i32, Doubt) + Send + Sync;
type Set = dyn Fn(&mut Inputs, i32) + Send + Sync;

/// A reading that can be set.
pub(super) struct Knob {
    /// Its name, as in an export.
    pub(super) name: &'static str,
    /// What it reads, and what there is to doubt about it.
    read: Box<Read>,
    set: Box<Set>,
    words: fn(i32) -> String,
    values: Vec<i32>,
    /// It has values between those tried.
    pub(super) is_scale: bool,
}

impl Knob {
    fn new<T: Level>(
        name: &'static str,
        values: Vec<i32>,
        is_scale: bool,
        read: fn(&Inputs) -> Signal<T>,
        place: fn(&mut Inputs) -> &mut Signal<T>,
    ) -> Self {
        Self {
            name,
            read: Box::new(move |inputs| {
                let signal = read(inputs);
                let doubt = match (signal.is_valid(), signal.age().ticks()) {
                    (false, _) => Doubt::Unsound,
                    (true, 0) => Doubt::None,
                    (true, ticks) => Doubt::Aged(ticks),
                };
                (signal.raw().number(), doubt)
            }),
            set: Box::new(move |inputs, value| *place(inputs) = Signal::fresh(T::of(value))),
            words: |value| T::of(value).words(),
            values,
            is_scale,
        }
    }

    /// Sets it: a sound reading of this very tick.
    pub(super) fn set(&self, inputs: &mut Inputs, value: i32) {
        (self.set)(inputs, value);
    }

    /// What it reads, and what there is to doubt about it.
    pub(super) fn read(&self, inputs: &Inputs) -> (i32, Doubt) {
        (self.read)(inputs)
    }

    /// A value of it in words.
    pub(super) fn words(&self, value: i32) -> String {
        (self.words)(value)
    }

    /// What is worth trying in place of what `inputs` read: the same value, if only it
    /// was not sound and new, then the others.
    pub(super) fn tries(&self, inputs: &Inputs) -> Vec<i32> {
        let (value, doubt) = self.read(inputs);
        let mut tries: Vec<i32> = if doubt == Doubt::None {
            Vec::new()
        } else {
            vec![value]
        };
        for other in &self.values {
            if *other != value && !tries.contains(other) {
                tries.push(*other);
            }
        }
        tries
    }
}

macro_rules! knobs {
    ($all:ident; $($name:literal: $($field:ident).+ $([$index:literal] . $part:ident)? => $values:expr, $scale:literal;)+) => {$(
        $all.push(Knob::new(
            concat!("inputs.", $name),
            $values.to_vec(),
            $scale,
            |inputs: &Inputs| inputs.$($field).+$([$index].$part)?,
            |inputs: &mut Inputs| &mut inputs.$($field).+$([$index].$part)?,
        ));
    )+};
}

/// Both positions of a contact.
const CONTACT: [i32; 2] = [0, 1];
/// Both positions in which a blade is parked, 0.01 deg.
const PARKED: [i32; 2] = [0, 18_000];
/// A temperature that nothing minds, 0.1 deg C.
const MILD: [i32; 1] = [200];

/// Every knob. The values are ends of scales, the limits among the settings, and what
/// the other one of a pair reads.
pub(super) fn knobs(config: &Config, inputs: &Inputs) -> Vec<Knob> {
    let mut all = Vec::new();
    controls(&mut all, config, inputs);
    mast_and_doors(&mut all, config);
    propeller(&mut all, inputs);
    power(&mut all, config, inputs);
    heat_and_air(&mut all, config);
    all
}

fn controls(all: &mut Vec<Knob>, config: &Config, inputs: &Inputs) {
    let (a, b) = (inputs.controls.throttle_a, inputs.controls.throttle_b);
    let throttle = |other: Signal<Permille>| {
        let other = other.raw().number();
        [other, 0, config.throttle_zero.number() + 1, 1000]
    };
    knobs!(all;
        "controls.throttle_a_pct": controls.throttle_a => throttle(b), true;
        "controls.throttle_b_pct": controls.throttle_b => throttle(a), true;
        "controls.select_hold": controls.select_hold => CONTACT, false;
        "controls.select_deploy": controls.select_deploy => CONTACT, false;
        "controls.select_stow": controls.select_stow => CONTACT, false;
        "controls.stop_a": controls.stop_a => CONTACT, false;
        "controls.stop_b": controls.stop_b => CONTACT, false;
        "controls.bench_key": controls.bench_key => CONTACT, false;
        "controls.acknowledge": controls.acknowledge => CONTACT, false;
        "controls.acknowledge_rest": controls.acknowledge_rest => CONTACT, false;
        "controls.aux_charge": controls.aux_charge => CONTACT, false;
        "controls.aux_charge_off": controls.aux_charge_off => CONTACT, false;
    );
}

fn mast_and_doors(all: &mut Vec<Knob>, config: &Config) {
    let travel = [
        0,
        config.mast_stowed_max.number(),
        config.mast_clear_min.number(),
        config.mast_deployed_min.number(),
        1000,
    ];
    knobs!(all;
        "mast.position_pct": mast.position => travel, true;
        "mast.stowed_switch": mast.stowed_switch => CONTACT, false;
        "mast.deployed_switch": mast.deployed_switch => CONTACT, false;
        "mast.lock_switch": mast.lock_switch => CONTACT, false;
        "mast.drive_current_A": mast.drive_current => [0], true;
        "doors.left_open": doors.left_open => CONTACT, false;
        "doors.right_open": doors.right_open => CONTACT, false;
        "doors.shut": doors.shut => CONTACT, false;
        "doors.drive_current_A": doors.drive_current => [0], true;
    );
}

fn propeller(all: &mut Vec<Knob>, inputs: &Inputs) {
    let (a, b) = (inputs.propeller.angle_a, inputs.propeller.angle_b);
    let angle = |other: Signal<CentiDegrees>| [&[other.raw().number()][..], &PARKED].concat();
    // An angle wraps round: between two of them there is no order.
    knobs!(all;
        "propeller.angle_a_deg": propeller.angle_a => angle(b), false;
        "propeller.angle_b_deg": propeller.angle_b => angle(a), false;
        "propeller.speed_rpm": propeller.speed => [0], true;
    );
}

fn power(all: &mut Vec<Knob>, config: &Config, inputs: &Inputs) {
    let [first, second] = inputs.packs.map(|pack| pack.voltage.raw().number());
    let (low, high) = (config.pack_min.number(), config.pack_max.number());
    let middle = i32::midpoint(low, high);
    let bus = [
        0,
        first.max(second),
        config.bus_min.number(),
        config.bus_max.number(),
    ];
    knobs!(all;
        "bus.voltage_V": bus.voltage => bus, true;
        "bus.current_A": bus.current => [0], true;
        "bus.insulation_kohm": bus.insulation => [config.insulation_min.number()], true;
        "bus.main_feedback": bus.main_feedback => CONTACT, false;
        "pack_1.voltage_V": packs[0].voltage => [second, middle], true;
        "pack_1.temperature_degC": packs[0].temperature => MILD, true;
        "pack_1.charge_pct": packs[0].charge => [1000], true;
        "pack_2.voltage_V": packs[1].voltage => [first, middle], true;
        "pack_2.temperature_degC": packs[1].temperature => MILD, true;
        "pack_2.charge_pct": packs[1].charge => [1000], true;
        "auxiliary_V": auxiliary => [config.aux_full.number() - 1, config.aux_full.number()], true;
    );
}

fn heat_and_air(all: &mut Vec<Knob>, config: &Config) {
    let air = [0, config.mast_airspeed_max.number()];
    knobs!(all;
        "thermal.motor_degC": thermal.motor => MILD, true;
        "thermal.controller_degC": thermal.controller => MILD, true;
        "thermal.fans_turning": thermal.fans_turning => CONTACT, false;
        "airspeed_m_s": airspeed => air, true;
    );
}

/// The whole numbers from one to the other, both left out, if there are any.
pub(super) fn between(one: i32, other: i32) -> Option<RangeInclusive<i32>> {
    let (low, high) = (one.min(other), one.max(other));
    (high - low > 1).then_some(low + 1..=high - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::export::signals;

    #[test]
    fn every_reading_has_a_knob_by_its_name_in_an_export() {
        let (config, inputs) = (Config::default(), Inputs::default());
        let knobs: Vec<&str> = knobs(&config, &inputs)
            .iter()
            .map(|knob| knob.name)
            .collect();
        let signals = signals();
        let readings: Vec<&str> = signals
            .iter()
            .map(crate::trace::export::Signal::name)
            .filter(|name| name.starts_with("inputs.") && !name.ends_with("_age_ms"))
            .filter(|name| *name != "inputs.missed_deadline")
            .collect();
        let mut sorted = (knobs.clone(), readings.clone());
        sorted.0.sort_unstable();
        sorted.1.sort_unstable();
        assert_eq!(sorted.0, sorted.1);
    }

    #[test]
    fn a_knob_that_is_set_reads_what_it_was_set_to_and_no_other_does() {
        let (config, inputs) = (Config::default(), Inputs::default());
        for knob in knobs(&config, &inputs) {
            for value in knob.tries(&inputs) {
                let mut told = inputs;
                knob.set(&mut told, value);
                assert_eq!(knob.read(&told), (value, Doubt::None), "{}", knob.name);
                let others = knobs(&config, &inputs);
                let moved = others
                    .iter()
                    .filter(|other| other.read(&told) != other.read(&inputs));
                assert_eq!(moved.count(), 1, "{} {value}", knob.name);
            }
        }
    }
}
