//! Outputs: one bit of one register each, so that one store drops them all.

use core::convert::Infallible;

use embedded_hal::digital::{ErrorType, OutputPin};
use embedded_hal::pwm::{self, SetDutyCycle};
use mastwright_core::board::{Actuators, MotorLines, PwmMotor, Relays, Switch};

use crate::register::Register;

/// Levels of all outputs. Bits 0 to 14: the switches in the order of
/// [`Switch::ON_ORDER`]; bits 15 to 20: the motor's lines in the order of [`lines`].
// SAFETY: the LED register of the board's system controller.
pub const LEVELS: Register = unsafe { Register::at(0x4002_F004) };

/// Duty cycle of the motor's strength, in steps of a thousandth.
// SAFETY: the prescaler of a counter that nothing else uses: a register that keeps what
// is written and is cleared by a reset.
pub const STRENGTH: Register = unsafe { Register::at(0x4002_801C) };

/// The first bit of the motor's lines.
const MOTOR: u8 = 15;

/// Drops every output, whatever else goes on: fail-safe is low.
pub fn drop_all() {
    LEVELS.write(0);
    STRENGTH.write(0);
}

/// An output.
#[derive(Debug)]
pub struct Pin(u8);

impl Pin {
    /// Sees to its level. The emulator takes far longer to write the register than to
    /// read it, and a level that stands as it should needs no writing.
    fn set(&self, high: bool) {
        let is = LEVELS.read();
        let bit = 1 << self.0;
        let due = if high { is | bit } else { is & !bit };
        if due != is {
            LEVELS.write(due);
        }
    }
}

impl ErrorType for Pin {
    type Error = Infallible;
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.set(false);
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        self.set(true);
        Ok(())
    }
}

/// The motor's strength.
#[derive(Debug)]
pub struct Strength(());

impl pwm::ErrorType for Strength {
    type Error = Infallible;
}

impl SetDutyCycle for Strength {
    fn max_duty_cycle(&self) -> u16 {
        1000
    }

    fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
        STRENGTH.write(duty.into());
        Ok(())
    }
}

/// The motor controller behind its lines.
pub type Motor = PwmMotor<Pin, Strength>;

fn relays() -> Relays<Pin> {
    let pin = |switch: Switch| {
        let place = Switch::ON_ORDER.iter().position(|each| *each == switch);
        // The order holds every switch, and 15 of them.
        Pin(place.unwrap_or(0) as u8)
    };
    Relays {
        fans_rest: pin(Switch::FansRest),
        discharge: pin(Switch::Discharge),
        pack_1: pin(Switch::Pack1),
        pack_2: pin(Switch::Pack2),
        precharge: pin(Switch::Precharge),
        main: pin(Switch::Main),
        aux_charger: pin(Switch::AuxCharger),
        mast_slow: pin(Switch::MastSlow),
        mast_extend: pin(Switch::MastExtend),
        mast_retract: pin(Switch::MastRetract),
        doors_open: pin(Switch::DoorsOpen),
        doors_close: pin(Switch::DoorsClose),
        mast_power: pin(Switch::MastPower),
        door_power: pin(Switch::DoorPower),
        motor_enable: pin(Switch::MotorEnable),
    }
}

fn lines() -> MotorLines<Pin> {
    MotorLines {
        thrust: Pin(MOTOR),
        free: Pin(MOTOR + 1),
        brake: Pin(MOTOR + 2),
        creep: Pin(MOTOR + 3),
        hold: Pin(MOTOR + 4),
        reverse: Pin(MOTOR + 5),
    }
}

/// Everything that is switched and driven. To be called once: two owners of one pin
/// could not see what the other does.
pub fn actuators<P>() -> Actuators<P>
where
    P: mastwright_core::board::Ports<Switch = Pin, Motor = Motor>,
{
    Actuators {
        relays: relays(),
        motor: PwmMotor::new(lines(), Strength(())),
    }
}
