//! The sensor channels: every reading the controller is given, one row each.

use mastwright_core::Inputs;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use super::named::named;

/// What a channel carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Channel {
    /// True or false.
    Contact,
    /// A number.
    Number(Number),
}

/// What the numbers of a channel mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// Unit in which a fault's strength is given.
    pub unit: &'static str,
    /// Unit of an error that grows.
    pub rate_unit: &'static str,
    /// Counts of the reading in one such unit.
    pub counts: f64,
    /// Least value the sensor's converter can tell, in that unit.
    pub min: f64,
    /// Greatest value the sensor's converter can tell, in that unit.
    pub max: f64,
    /// An error worth noticing, in that unit: the default strength of an offset.
    pub error: f64,
    /// The value is an angle that begins anew after `max`.
    pub wraps: bool,
    /// Wired or mounted the wrong way round it tells the value mirrored in its range: a
    /// potentiometer's ends, an encoder's sense, the sign of a current or a speed.
    pub inverts: bool,
}

impl Number {
    /// The count nearest to `count` that the sensor's converter can tell.
    pub(super) fn told(&self, count: f64) -> i32 {
        if self.wraps {
            let turn = (360.0 * self.counts) as i32;
            return (count.round() as i32).rem_euclid(turn);
        }
        let (min, max) = (self.min * self.counts, self.max * self.counts);
        count.round().clamp(min, max) as i32
    }

    /// The count mirrored in the range: what a reversed sensor tells.
    pub(super) fn mirrored(&self, count: f64) -> i32 {
        let ends = if self.wraps { 0.0 } else { self.min + self.max };
        self.told(ends * self.counts - count)
    }
}

macro_rules! number {
    ($unit:literal x $counts:literal, $min:literal ..= $max:literal, error $error:literal) => {
        Number {
            unit: $unit,
            rate_unit: concat!($unit, "/s"),
            counts: $counts,
            min: $min,
            max: $max,
            error: $error,
            wraps: false,
            inverts: false,
        }
    };
}

const CONTACT: Channel = Channel::Contact;
const LEVER: Channel = Channel::Number(Number {
    inverts: true,
    ..number!("permille" x 1.0, 0.0 ..= 1_000.0, error 100.0)
});
const SHARE: Channel = Channel::Number(number!("permille" x 1.0, 0.0 ..= 1_000.0, error 100.0));
const ANGLE: Channel = Channel::Number(Number {
    wraps: true,
    inverts: true,
    ..number!("deg" x 100.0, 0.0 ..= 359.99, error 10.0)
});
const SHAFT: Channel = Channel::Number(Number {
    inverts: true,
    ..number!("rpm" x 1.0, -5_000.0 ..= 5_000.0, error 50.0)
});
const DRIVE: Channel = Channel::Number(number!("A" x 1000.0, 0.0 ..= 200.0, error 10.0));
const TRACTION: Channel = Channel::Number(Number {
    inverts: true,
    ..number!("A" x 1000.0, -1_000.0 ..= 1_000.0, error 25.0)
});
const HIGH: Channel = Channel::Number(number!("V" x 1000.0, 0.0 ..= 600.0, error 40.0));
const LOW: Channel = Channel::Number(number!("V" x 1000.0, 0.0 ..= 20.0, error 2.0));
const OHMS: Channel = Channel::Number(number!("kohm" x 1.0, 0.0 ..= 65_535.0, error 500.0));
const HEAT: Channel = Channel::Number(number!("C" x 10.0, -50.0 ..= 250.0, error 20.0));
const AIR: Channel = Channel::Number(number!("m/s" x 10.0, 0.0 ..= 100.0, error 10.0));

/// One sample, whatever it measures: contacts are 0 or 1, numbers are their counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sample {
    pub(super) count: i32,
    pub(super) age: Age,
    pub(super) valid: bool,
}

impl Sample {
    pub(super) fn of<T: Reading>(signal: &Signal<T>) -> Self {
        Self {
            count: signal.raw().count(),
            age: signal.age(),
            valid: signal.is_valid(),
        }
    }

    pub(super) fn signal<T: Reading>(self) -> Signal<T> {
        let signal = Signal::aged(T::from_count(self.count), self.age);
        if self.valid {
            signal
        } else {
            signal.invalidated()
        }
    }

    /// The same sample, not renewed for one more tick.
    pub(super) fn older(self) -> Self {
        Self {
            age: self.age.older(),
            ..self
        }
    }

    /// The same sample with another count.
    pub(super) fn with(self, count: i32) -> Self {
        Self { count, ..self }
    }
}

/// A reading as a count.
pub(super) trait Reading: Copy {
    fn count(self) -> i32;
    fn from_count(count: i32) -> Self;
}

impl Reading for bool {
    fn count(self) -> i32 {
        i32::from(self)
    }

    fn from_count(count: i32) -> Self {
        count != 0
    }
}

macro_rules! readings {
    ($($name:ident($repr:ty)),+) => {
        $(impl Reading for $name {
            fn count(self) -> i32 {
                i32::from(self.get())
            }

            fn from_count(count: i32) -> Self {
                let held = count.clamp(i32::from(<$repr>::MIN), i32::from(<$repr>::MAX));
                Self::new(held as $repr)
            }
        })+
    };
}
readings!(
    CentiDegrees(i32),
    DeciCelsius(i16),
    DeciMetresPerSecond(i16),
    KiloOhms(u16),
    Milliamps(i32),
    Millivolts(i32),
    Permille(i16),
    Rpm(i16)
);

macro_rules! sensors {
    ($($variant:ident = $text:literal, $meaning:literal, ($($path:tt)+), $channel:ident $(, twin $twin:ident)?;)+) => {
        named! {
            /// A sensor channel.
            SensorId { $($variant = $text, $meaning;)+ }
        }

        impl SensorId {
            /// What the channel carries.
            #[must_use]
            pub const fn channel(self) -> Channel {
                match self {
                    $(Self::$variant => $channel,)+
                }
            }

            /// The channel with which this one can be exchanged, if there is one.
            #[must_use]
            pub fn twin(self) -> Option<Self> {
                let twin: &[Self] = match self {
                    $(Self::$variant => &[$(Self::$twin)?],)+
                };
                twin.first().copied()
            }

            /// The channel's sample in `inputs`.
            pub(super) fn read(self, inputs: &Inputs) -> Sample {
                match self {
                    $(Self::$variant => Sample::of(&inputs.$($path)+),)+
                }
            }

            /// Puts a sample in its place in `inputs`.
            pub(super) fn write(self, inputs: &mut Inputs, sample: Sample) {
                match self {
                    $(Self::$variant => inputs.$($path)+ = sample.signal(),)+
                }
            }
        }
    };
}

sensors! {
    ThrottleA = "controls.throttle-a", "throttle lever's first track", (controls.throttle_a), LEVER, twin ThrottleB;
    ThrottleB = "controls.throttle-b", "throttle lever's second track", (controls.throttle_b), LEVER, twin ThrottleA;
    SelectHold = "controls.select-hold", "mast selector's hold contact", (controls.select_hold), CONTACT;
    SelectDeploy = "controls.select-deploy", "mast selector's deploy contact", (controls.select_deploy), CONTACT, twin SelectStow;
    SelectStow = "controls.select-stow", "mast selector's stow contact", (controls.select_stow), CONTACT, twin SelectDeploy;
    StopA = "controls.stop-a", "stop-and-stow switch's first contact", (controls.stop_a), CONTACT, twin StopB;
    StopB = "controls.stop-b", "stop-and-stow switch's second contact", (controls.stop_b), CONTACT, twin StopA;
    BenchKey = "controls.bench-key", "bench key's contact", (controls.bench_key), CONTACT;
    Acknowledge = "controls.acknowledge", "acknowledge button's pressed contact", (controls.acknowledge), CONTACT, twin AcknowledgeRest;
    AcknowledgeRest = "controls.acknowledge-rest", "acknowledge button's released contact", (controls.acknowledge_rest), CONTACT, twin Acknowledge;
    AuxCharge = "controls.aux-charge", "auxiliary charge switch's on contact", (controls.aux_charge), CONTACT, twin AuxChargeOff;
    AuxChargeOff = "controls.aux-charge-off", "auxiliary charge switch's off contact", (controls.aux_charge_off), CONTACT, twin AuxCharge;
    MastPosition = "mast.position", "mast position sensor", (mast.position), LEVER;
    MastStowed = "mast.stowed-switch", "stowed end switch", (mast.stowed_switch), CONTACT, twin MastDeployed;
    MastDeployed = "mast.deployed-switch", "deployed end switch", (mast.deployed_switch), CONTACT, twin MastStowed;
    MastLock = "mast.lock-switch", "mast lock switch", (mast.lock_switch), CONTACT;
    MastCurrent = "mast.drive-current", "mast drive's current sensor", (mast.drive_current), DRIVE, twin DoorCurrent;
    DoorLeft = "doors.left-open", "left door's open switch", (doors.left_open), CONTACT, twin DoorRight;
    DoorRight = "doors.right-open", "right door's open switch", (doors.right_open), CONTACT, twin DoorLeft;
    DoorShut = "doors.shut", "doors' shut switch", (doors.shut), CONTACT;
    DoorCurrent = "doors.drive-current", "door drive's current sensor", (doors.drive_current), DRIVE, twin MastCurrent;
    AngleA = "propeller.angle-a", "blade angle source A", (propeller.angle_a), ANGLE, twin AngleB;
    AngleB = "propeller.angle-b", "blade angle source B", (propeller.angle_b), ANGLE, twin AngleA;
    Speed = "propeller.speed", "shaft speed pick-up", (propeller.speed), SHAFT;
    BusVoltage = "bus.voltage", "bus voltage sensor", (bus.voltage), HIGH;
    BusCurrent = "bus.current", "bus current sensor", (bus.current), TRACTION;
    Insulation = "bus.insulation", "insulation monitor", (bus.insulation), OHMS;
    MainFeedback = "bus.main-feedback", "main contactor's auxiliary contact", (bus.main_feedback), CONTACT;
    Pack1Voltage = "pack1.voltage", "pack 1 voltage sensor", (packs[0].voltage), HIGH, twin Pack2Voltage;
    Pack1Temperature = "pack1.temperature", "pack 1 temperature sensor", (packs[0].temperature), HEAT, twin Pack2Temperature;
    Pack1Charge = "pack1.charge", "pack 1 charge estimate", (packs[0].charge), SHARE, twin Pack2Charge;
    Pack2Voltage = "pack2.voltage", "pack 2 voltage sensor", (packs[1].voltage), HIGH, twin Pack1Voltage;
    Pack2Temperature = "pack2.temperature", "pack 2 temperature sensor", (packs[1].temperature), HEAT, twin Pack1Temperature;
    Pack2Charge = "pack2.charge", "pack 2 charge estimate", (packs[1].charge), SHARE, twin Pack1Charge;
    MotorHeat = "thermal.motor", "motor temperature sensor", (thermal.motor), HEAT, twin ControllerHeat;
    ControllerHeat = "thermal.controller", "motor controller temperature sensor", (thermal.controller), HEAT, twin MotorHeat;
    FansTurning = "thermal.fans-turning", "fans' rotation sensor", (thermal.fans_turning), CONTACT;
    Auxiliary = "auxiliary", "auxiliary battery voltage sensor", (auxiliary), LOW;
    Airspeed = "airspeed", "airspeed sensor", (airspeed), AIR;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_channel_reads_back_what_is_written_and_touches_no_other() {
        let clean = Inputs::default();
        for id in SensorId::ALL {
            let mut inputs = clean;
            let sample = Sample {
                count: 1,
                age: Age::new(3),
                valid: true,
            };
            id.write(&mut inputs, sample);
            assert_eq!(id.read(&inputs), sample, "{}", id.name());
            id.write(&mut inputs, id.read(&clean));
            assert_eq!(inputs, clean, "{}", id.name());
        }
    }

    #[test]
    fn twins_are_mutual_and_carry_the_same() {
        for id in SensorId::ALL {
            if let Some(twin) = id.twin() {
                assert_ne!(twin, *id);
                assert_eq!(twin.twin(), Some(*id));
                assert_eq!(twin.channel(), id.channel());
            }
        }
    }

    #[test]
    fn a_converter_holds_at_its_limits_and_an_angle_begins_anew() {
        let Channel::Number(share) = SHARE else {
            panic!("a share is a number")
        };
        let Channel::Number(angle) = ANGLE else {
            panic!("an angle is a number")
        };
        assert_eq!(share.told(1_100.0), 1_000);
        assert_eq!(share.told(-3.0), 0);
        assert_eq!(share.mirrored(300.0), 700);
        assert_eq!(angle.mirrored(1_000.0), 35_000);
        assert_eq!(angle.mirrored(0.0), 0);
        assert_eq!(angle.told(36_005.0), 5);
        assert_eq!(angle.told(-5.0), 35_995);
    }
}
