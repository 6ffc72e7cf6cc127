//! The example of `docs/bring-your-own-board.md`: a board of one's own, with the
//! controller on it by itself, without a host. It does not link if it can panic.

#![no_std]
#![no_main]

use core::convert::Infallible;

use cortex_m_rt::entry;
use embedded_hal::digital::{ErrorType, InputPin, OutputPin};
use mastwright_core::board::{
    Actuators, Analog, AngleSource, Board, Contacts, CurrentOf, MotorController, NoReading,
    NotObeyed, Reading, Relays, Sensors, ShareOf, SpeedSource, Switch, TemperatureOf, VoltageOf,
};
use mastwright_core::journal::{Journal, Stamp};
use mastwright_core::outputs::Motor;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use mastwright_core::{Config, Sequencer};
use mastwright_target::clock::{self, EndOfTick, Moment, TICK};
use mastwright_target::memory::Memory;
use mastwright_target::register::Register;
use mastwright_target::watchdog::Dog;

// In place of your hardware library: two registers of pins, and a converter.
// SAFETY: registers of the emulated board that keep what is written.
const OUT: Register = unsafe { Register::at(0x4002_F004) };
// SAFETY: as above; the switches of the board.
const IN: Register = unsafe { Register::at(0x4002_F00C) };

/// A contact between its pin and ground, with a pull-up: closed reads low.
struct Contact(u8);

impl ErrorType for Contact {
    type Error = Infallible;
}

impl InputPin for Contact {
    /// High means that what the input is named for is so, whatever the wire's level.
    fn is_high(&mut self) -> Result<bool, Infallible> {
        let level = IN.read() & 1 << self.0 != 0;
        Ok(!level)
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        self.is_high().map(|high| !high)
    }
}

/// A relay driver. Its pin has a pull-down, so that a reset drops the relay.
struct Relay(u8);

impl ErrorType for Relay {
    type Error = Infallible;
}

impl OutputPin for Relay {
    fn set_low(&mut self) -> Result<(), Infallible> {
        OUT.write(OUT.read() & !(1 << self.0));
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        OUT.write(OUT.read() | 1 << self.0);
        Ok(())
    }
}

/// The analogue channels. Nothing here may wait: a conversion that is not ready is absent.
struct Converter {
    /// The latest conversion of the bus voltage, if one has ended since the last tick.
    bus: Option<u16>,
}

impl Analog for Converter {
    fn voltage(&mut self, of: VoltageOf) -> Reading<Millivolts> {
        match of {
            // A 12-bit converter behind a divider: full scale is 600 V.
            VoltageOf::Bus => match self.bus.take() {
                None => Err(NoReading::Absent),
                // A count at the rail is a broken wire or a short, not a voltage.
                Some(0 | 4095..) => Err(NoReading::Unsound),
                Some(count) => Ok(Millivolts::new(i32::from(count) * 600_000 / 4095)),
            },
            VoltageOf::Pack(_) | VoltageOf::Auxiliary => Err(NoReading::Absent),
        }
    }

    fn share(&mut self, _: ShareOf) -> Reading<Permille> {
        Err(NoReading::Absent)
    }

    fn current(&mut self, _: CurrentOf) -> Reading<Milliamps> {
        Err(NoReading::Absent)
    }

    fn temperature(&mut self, _: TemperatureOf) -> Reading<DeciCelsius> {
        Err(NoReading::Absent)
    }

    fn insulation(&mut self) -> Reading<KiloOhms> {
        Err(NoReading::Absent)
    }

    fn airspeed(&mut self) -> Reading<DeciMetresPerSecond> {
        Err(NoReading::Absent)
    }
}

/// An encoder that has nothing to say yet.
struct Encoder;

impl AngleSource for Encoder {
    fn angle(&mut self) -> Reading<CentiDegrees> {
        Err(NoReading::Absent)
    }
}

impl SpeedSource for Encoder {
    fn speed(&mut self) -> Reading<Rpm> {
        Err(NoReading::Absent)
    }
}

/// A motor controller without a voice: it can only be told to short its windings, which
/// the relay of torque enable does when it drops.
struct Shorted;

impl MotorController for Shorted {
    fn command(&mut self, motor: Motor) -> Result<(), NotObeyed> {
        match motor {
            Motor::Short => Ok(()),
            // What cannot be done is said, and the board goes fail-safe.
            Motor::Free | Motor::Thrust(_) | Motor::Brake(_) | Motor::Creep(_) | Motor::Hold(_) => {
                Err(NotObeyed)
            }
        }
    }
}

/// Your kinds of port, by name.
struct MyBoard;

impl mastwright_core::board::Ports for MyBoard {
    type Contact = Contact;
    type Switch = Relay;
    type Analog = Converter;
    type AngleA = Encoder;
    type AngleB = Encoder;
    type Speed = Encoder;
    type Motor = Shorted;
    type Watchdog = Dog;
}

fn sensors() -> Sensors<MyBoard> {
    Sensors {
        contacts: Contacts {
            select_hold: Contact(0),
            select_deploy: Contact(1),
            select_stow: Contact(2),
            stop_a: Contact(3),
            stop_b: Contact(4),
            bench_key: Contact(5),
            acknowledge: Contact(6),
            acknowledge_rest: Contact(7),
            aux_charge: Contact(8),
            aux_charge_off: Contact(9),
            mast_stowed: Contact(10),
            mast_deployed: Contact(11),
            mast_locked: Contact(12),
            left_door_open: Contact(13),
            right_door_open: Contact(14),
            doors_shut: Contact(15),
            main_feedback: Contact(16),
            fans_turning: Contact(17),
        },
        analog: Converter { bus: None },
        angle_a: Encoder,
        angle_b: Encoder,
        speed: Encoder,
    }
}

fn actuators() -> Actuators<MyBoard> {
    let relay = |switch: Switch| Relay(switch as u8);
    Actuators {
        relays: Relays {
            fans_rest: relay(Switch::FansRest),
            discharge: relay(Switch::Discharge),
            pack_1: relay(Switch::Pack1),
            pack_2: relay(Switch::Pack2),
            precharge: relay(Switch::Precharge),
            main: relay(Switch::Main),
            aux_charger: relay(Switch::AuxCharger),
            mast_slow: relay(Switch::MastSlow),
            mast_extend: relay(Switch::MastExtend),
            mast_retract: relay(Switch::MastRetract),
            doors_open: relay(Switch::DoorsOpen),
            doors_close: relay(Switch::DoorsClose),
            mast_power: relay(Switch::MastPower),
            door_power: relay(Switch::DoorPower),
            motor_enable: relay(Switch::MotorEnable),
        },
        motor: Shorted,
    }
}

#[entry]
fn main() -> ! {
    clock::start();
    // SAFETY: the only call.
    let mut memory = unsafe { Memory::take() };
    // Outputs are put into their fail-safe values before anything else.
    let mut board = Board::new(sensors(), actuators(), Dog::start());
    let config = Config::default();
    let (mut journal, recovered) = Journal::recover(&mut memory);
    let mut sequencer = Sequencer::wake(recovered.retained.faults, &config);
    let mut now = Stamp::default();
    loop {
        let begun = Moment::now();
        let ticked = board.tick(&mut sequencer, &config, &mut EndOfTick(begun));
        // After the outputs: keeping the journal must not delay them.
        journal.note(now, &ticked.outputs);
        // A record that was not kept stays due.
        let _ = journal.save(&mut memory);
        now = now.next();
        while begun.elapsed() < TICK {}
    }
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    unsafe extern "C" {
        fn a_path_to_a_panic_is_left() -> !;
    }
    // SAFETY: never called: no such function exists, and an image in which the call is
    // left does not link.
    unsafe { a_path_to_a_panic_is_left() }
}
