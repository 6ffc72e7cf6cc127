//! Sensors: what the link says that this tick's readings are.
//!
//! A reading taken this very tick is there to be read; one that is older is absent, so
//! that the board's sampling has to age it; an unsound one says so, where its kind can.

use core::cell::RefCell;

use cortex_m::interrupt::{self, Mutex};
use embedded_hal::digital::{ErrorKind, ErrorType, InputPin};
use mastwright_core::Inputs;
use mastwright_core::board::{
    Analog, AngleSource, Contacts, CurrentOf, NoReading, Pack, Reading, Sensors, ShareOf,
    SpeedSource, TemperatureOf, VoltageOf,
};
use mastwright_core::inputs::PackSensors;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use crate::pins;
use crate::watchdog::Dog;

static GIVEN: Mutex<RefCell<Option<Inputs>>> = Mutex::new(RefCell::new(None));

/// Sets what the sensors read from now on.
pub fn give(inputs: &Inputs) {
    interrupt::free(|token| {
        // Nobody holds it: a sensor lets go of it before it returns.
        if let Ok(mut given) = GIVEN.borrow(token).try_borrow_mut() {
            *given = Some(*inputs);
        }
    });
}

/// Reads one of the signals given.
fn read<T: Copy>(which: impl FnOnce(&Inputs) -> &Signal<T>) -> Reading<T> {
    interrupt::free(|token| {
        let given = GIVEN.borrow(token).try_borrow();
        let given = given.map_err(|_| NoReading::Unsound)?;
        let signal = which(given.as_ref().ok_or(NoReading::Unsound)?);
        if !signal.is_valid() {
            return Err(NoReading::Unsound);
        }
        signal.proven(Age::NEW).ok_or(NoReading::Absent)
    })
}

/// A digital input.
#[derive(Debug)]
pub struct Contact(fn(&Inputs) -> &Signal<bool>);

impl ErrorType for Contact {
    type Error = ErrorKind;
}

impl InputPin for Contact {
    fn is_high(&mut self) -> Result<bool, ErrorKind> {
        read(self.0).map_err(|_| ErrorKind::Other)
    }

    fn is_low(&mut self) -> Result<bool, ErrorKind> {
        self.is_high().map(|high| !high)
    }
}

/// A source of the blade's angle.
#[derive(Debug)]
pub struct Angle(fn(&Inputs) -> &Signal<CentiDegrees>);

impl AngleSource for Angle {
    fn angle(&mut self) -> Reading<CentiDegrees> {
        read(self.0)
    }
}

/// The shaft's speed.
#[derive(Debug)]
pub struct Speed(());

impl SpeedSource for Speed {
    fn speed(&mut self) -> Reading<Rpm> {
        read(|inputs| &inputs.propeller.speed)
    }
}

/// The analogue channels.
#[derive(Debug)]
pub struct Channels(());

const fn pack(inputs: &Inputs, pack: Pack) -> &PackSensors {
    let [one, two] = &inputs.packs;
    match pack {
        Pack::One => one,
        Pack::Two => two,
    }
}

impl Analog for Channels {
    fn share(&mut self, of: ShareOf) -> Reading<Permille> {
        read(|inputs| match of {
            ShareOf::ThrottleA => &inputs.controls.throttle_a,
            ShareOf::ThrottleB => &inputs.controls.throttle_b,
            ShareOf::MastTravel => &inputs.mast.position,
            ShareOf::Charge(which) => &pack(inputs, which).charge,
        })
    }

    fn voltage(&mut self, of: VoltageOf) -> Reading<Millivolts> {
        read(|inputs| match of {
            VoltageOf::Bus => &inputs.bus.voltage,
            VoltageOf::Pack(which) => &pack(inputs, which).voltage,
            VoltageOf::Auxiliary => &inputs.auxiliary,
        })
    }

    fn current(&mut self, of: CurrentOf) -> Reading<Milliamps> {
        read(|inputs| match of {
            CurrentOf::MastDrive => &inputs.mast.drive_current,
            CurrentOf::DoorDrive => &inputs.doors.drive_current,
            CurrentOf::Bus => &inputs.bus.current,
        })
    }

    fn temperature(&mut self, of: TemperatureOf) -> Reading<DeciCelsius> {
        read(|inputs| match of {
            TemperatureOf::Pack(which) => &pack(inputs, which).temperature,
            TemperatureOf::Motor => &inputs.thermal.motor,
            TemperatureOf::Controller => &inputs.thermal.controller,
        })
    }

    fn insulation(&mut self) -> Reading<KiloOhms> {
        read(|inputs| &inputs.bus.insulation)
    }

    fn airspeed(&mut self) -> Reading<DeciMetresPerSecond> {
        read(|inputs| &inputs.airspeed)
    }
}

/// The kinds of port of this board.
#[derive(Debug)]
pub struct Ports;

impl mastwright_core::board::Ports for Ports {
    type Contact = Contact;
    type Switch = pins::Pin;
    type Analog = Channels;
    type AngleA = Angle;
    type AngleB = Angle;
    type Speed = Speed;
    type Motor = pins::Motor;
    type Watchdog = Dog;
}

/// Every sensor of the board.
#[must_use]
pub fn sensors() -> Sensors<Ports> {
    Sensors {
        contacts: Contacts {
            select_hold: Contact(|inputs| &inputs.controls.select_hold),
            select_deploy: Contact(|inputs| &inputs.controls.select_deploy),
            select_stow: Contact(|inputs| &inputs.controls.select_stow),
            stop_a: Contact(|inputs| &inputs.controls.stop_a),
            stop_b: Contact(|inputs| &inputs.controls.stop_b),
            bench_key: Contact(|inputs| &inputs.controls.bench_key),
            acknowledge: Contact(|inputs| &inputs.controls.acknowledge),
            acknowledge_rest: Contact(|inputs| &inputs.controls.acknowledge_rest),
            aux_charge: Contact(|inputs| &inputs.controls.aux_charge),
            aux_charge_off: Contact(|inputs| &inputs.controls.aux_charge_off),
            mast_stowed: Contact(|inputs| &inputs.mast.stowed_switch),
            mast_deployed: Contact(|inputs| &inputs.mast.deployed_switch),
            mast_locked: Contact(|inputs| &inputs.mast.lock_switch),
            left_door_open: Contact(|inputs| &inputs.doors.left_open),
            right_door_open: Contact(|inputs| &inputs.doors.right_open),
            doors_shut: Contact(|inputs| &inputs.doors.shut),
            main_feedback: Contact(|inputs| &inputs.bus.main_feedback),
            fans_turning: Contact(|inputs| &inputs.thermal.fans_turning),
        },
        analog: Channels(()),
        angle_a: Angle(|inputs| &inputs.propeller.angle_a),
        angle_b: Angle(|inputs| &inputs.propeller.angle_b),
        speed: Speed(()),
    }
}
