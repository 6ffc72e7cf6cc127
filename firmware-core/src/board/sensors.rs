//! Sampling: every reading of one tick, each with its age and validity.
//!
//! A reading that fails never becomes a value: the last sample stays, one tick older,
//! until it is too old to prove anything (SR-11).

use embedded_hal::digital::InputPin;

use super::ports::{
    Analog, AngleSource, CurrentOf, NoReading, Pack, Ports, Reading, ShareOf, SpeedSource,
    TemperatureOf, VoltageOf,
};
use crate::inputs::{Inputs, PackSensors};
use crate::signal::Signal;

/// Every digital input, named as in [`crate::inputs`].
#[allow(
    missing_docs,
    reason = "each field is documented under the same name in `inputs`"
)]
pub struct Contacts<P> {
    pub select_hold: P,
    pub select_deploy: P,
    pub select_stow: P,
    pub stop_a: P,
    pub stop_b: P,
    pub bench_key: P,
    pub acknowledge: P,
    pub acknowledge_rest: P,
    pub aux_charge: P,
    pub aux_charge_off: P,
    pub mast_stowed: P,
    pub mast_deployed: P,
    pub mast_locked: P,
    pub left_door_open: P,
    pub right_door_open: P,
    pub doors_shut: P,
    pub main_feedback: P,
    pub fans_turning: P,
}

/// Everything that is read.
pub struct Sensors<P: Ports> {
    /// Digital inputs.
    pub contacts: Contacts<P::Contact>,
    /// Analogue readings.
    pub analog: P::Analog,
    /// The blade's angle, measured in the motor.
    pub angle_a: P::AngleA,
    /// The blade's angle, measured at the hub.
    pub angle_b: P::AngleB,
    /// The shaft's speed.
    pub speed: P::Speed,
}

impl<P: Ports> Sensors<P> {
    /// Renews in `inputs` whatever can be read now, and ages the rest.
    pub fn sample(&mut self, inputs: &mut Inputs) {
        self.contacts.sample(inputs);
        sample_analog(&mut self.analog, inputs);
        renew(&mut inputs.propeller.angle_a, self.angle_a.angle());
        renew(&mut inputs.propeller.angle_b, self.angle_b.angle());
        renew(&mut inputs.propeller.speed, self.speed.speed());
    }
}

impl<P: InputPin> Contacts<P> {
    fn sample(&mut self, inputs: &mut Inputs) {
        let controls = &mut inputs.controls;
        renew(&mut controls.select_hold, level(&mut self.select_hold));
        renew(&mut controls.select_deploy, level(&mut self.select_deploy));
        renew(&mut controls.select_stow, level(&mut self.select_stow));
        renew(&mut controls.stop_a, level(&mut self.stop_a));
        renew(&mut controls.stop_b, level(&mut self.stop_b));
        renew(&mut controls.bench_key, level(&mut self.bench_key));
        renew(&mut controls.acknowledge, level(&mut self.acknowledge));
        renew(
            &mut controls.acknowledge_rest,
            level(&mut self.acknowledge_rest),
        );
        renew(&mut controls.aux_charge, level(&mut self.aux_charge));
        renew(
            &mut controls.aux_charge_off,
            level(&mut self.aux_charge_off),
        );

        let mast = &mut inputs.mast;
        renew(&mut mast.stowed_switch, level(&mut self.mast_stowed));
        renew(&mut mast.deployed_switch, level(&mut self.mast_deployed));
        renew(&mut mast.lock_switch, level(&mut self.mast_locked));

        let doors = &mut inputs.doors;
        renew(&mut doors.left_open, level(&mut self.left_door_open));
        renew(&mut doors.right_open, level(&mut self.right_door_open));
        renew(&mut doors.shut, level(&mut self.doors_shut));

        renew(
            &mut inputs.bus.main_feedback,
            level(&mut self.main_feedback),
        );
        renew(
            &mut inputs.thermal.fans_turning,
            level(&mut self.fans_turning),
        );
    }
}

fn sample_analog(analog: &mut impl Analog, inputs: &mut Inputs) {
    let controls = &mut inputs.controls;
    renew(&mut controls.throttle_a, analog.share(ShareOf::ThrottleA));
    renew(&mut controls.throttle_b, analog.share(ShareOf::ThrottleB));

    let mast = &mut inputs.mast;
    renew(&mut mast.position, analog.share(ShareOf::MastTravel));
    renew(
        &mut mast.drive_current,
        analog.current(CurrentOf::MastDrive),
    );
    renew(
        &mut inputs.doors.drive_current,
        analog.current(CurrentOf::DoorDrive),
    );

    let bus = &mut inputs.bus;
    renew(&mut bus.voltage, analog.voltage(VoltageOf::Bus));
    renew(&mut bus.current, analog.current(CurrentOf::Bus));
    renew(&mut bus.insulation, analog.insulation());

    let [one, two] = &mut inputs.packs;
    sample_pack(analog, Pack::One, one);
    sample_pack(analog, Pack::Two, two);

    let thermal = &mut inputs.thermal;
    renew(&mut thermal.motor, analog.temperature(TemperatureOf::Motor));
    renew(
        &mut thermal.controller,
        analog.temperature(TemperatureOf::Controller),
    );

    renew(&mut inputs.auxiliary, analog.voltage(VoltageOf::Auxiliary));
    renew(&mut inputs.airspeed, analog.airspeed());
}

fn sample_pack(analog: &mut impl Analog, pack: Pack, into: &mut PackSensors) {
    renew(&mut into.voltage, analog.voltage(VoltageOf::Pack(pack)));
    renew(
        &mut into.temperature,
        analog.temperature(TemperatureOf::Pack(pack)),
    );
    renew(&mut into.charge, analog.share(ShareOf::Charge(pack)));
}

fn level(pin: &mut impl InputPin) -> Reading<bool> {
    pin.is_high().map_err(|_| NoReading::Absent)
}

/// Takes a reading into its signal, or ages the signal.
fn renew<T: Copy>(signal: &mut Signal<T>, reading: Reading<T>) {
    *signal = match reading {
        Ok(value) => Signal::fresh(value),
        Err(NoReading::Absent) => signal.older(),
        Err(NoReading::Unsound) => signal.older().invalidated(),
    };
}
