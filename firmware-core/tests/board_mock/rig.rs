//! A board of mock pins on a bench: what is written is recorded in order, any pin can
//! be made to fail, and the two pairs of opposite directions are watched at each write.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;

use embedded_hal::digital::{ErrorKind, ErrorType, InputPin, OutputPin};
use mastwright_core::board::{
    Actuators, Analog, AngleSource, Board, Contacts, CurrentOf, Deadline, MotorController,
    NoReading, NotObeyed, Pack, Ports, Reading, Relays, Sensors, ShareOf, SpeedSource, Switch,
    Switches, TemperatureOf, VoltageOf, Watchdog,
};
use mastwright_core::inputs::Inputs;
use mastwright_core::outputs::{
    BusDrive, DoorDrive, Drives, Fans, MastDrive, Motor, Outputs, Pace,
};
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// Something that was done to the outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Done {
    Switched(Switch, bool),
    Commanded(Motor),
    Fed,
}

/// What the bench holds and has seen.
#[derive(Default)]
pub(crate) struct State {
    /// Switches whose pin is high.
    pub(crate) high: Switches,
    /// Switches whose pin refuses to be written and keeps its level.
    pub(crate) stuck: Switches,
    /// The motor controller refuses commands.
    pub(crate) motor_deaf: bool,
    /// The last command the motor controller took.
    pub(crate) motor: Motor,
    /// Everything done, in order.
    pub(crate) done: Vec<Done>,
    /// Opposite directions were on together.
    pub(crate) both_ways: bool,
    /// Contacts that are high, by name.
    pub(crate) closed: BTreeSet<&'static str>,
    /// Contacts that cannot be read, by name.
    pub(crate) silent: BTreeSet<&'static str>,
    /// Why nothing analogue can be read, if it cannot.
    pub(crate) no_reading: Option<NoReading>,
}

/// A handle on the bench, shared with its pins.
#[derive(Clone, Default)]
pub(crate) struct Bench(Rc<RefCell<State>>);

impl Bench {
    pub(crate) fn with<T>(&self, look: impl FnOnce(&mut State) -> T) -> T {
        look(&mut self.0.borrow_mut())
    }

    /// Takes what was done since the last call.
    pub(crate) fn done(&self) -> Vec<Done> {
        self.with(|state| std::mem::take(&mut state.done))
    }

    pub(crate) fn was_fed(&self) -> bool {
        self.with(|state| state.done.contains(&Done::Fed))
    }

    fn reading<T>(&self, value: T) -> Reading<T> {
        self.with(|state| state.no_reading).map_or(Ok(value), Err)
    }

    pub(crate) fn board(&self) -> Board<Mock> {
        Board::new(self.sensors(), self.actuators(), Dog(self.clone()))
    }

    pub(crate) fn actuators(&self) -> Actuators<Mock> {
        let pin = |switch| Pin(switch, self.clone());
        Actuators {
            relays: Relays {
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
            },
            motor: Drive(self.clone()),
        }
    }

    pub(crate) fn sensors(&self) -> Sensors<Mock> {
        let contact = |name| Contact(name, self.clone());
        Sensors {
            contacts: Contacts {
                select_hold: contact("select_hold"),
                select_deploy: contact("select_deploy"),
                select_stow: contact("select_stow"),
                stop_a: contact("stop_a"),
                stop_b: contact("stop_b"),
                bench_key: contact("bench_key"),
                acknowledge: contact("acknowledge"),
                acknowledge_rest: contact("acknowledge_rest"),
                aux_charge: contact("aux_charge"),
                aux_charge_off: contact("aux_charge_off"),
                mast_stowed: contact("mast_stowed"),
                mast_deployed: contact("mast_deployed"),
                mast_locked: contact("mast_locked"),
                left_door_open: contact("left_door_open"),
                right_door_open: contact("right_door_open"),
                doors_shut: contact("doors_shut"),
                main_feedback: contact("main_feedback"),
                fans_turning: contact("fans_turning"),
            },
            analog: Channels(self.clone()),
            angle_a: Angle(1_100, self.clone()),
            angle_b: Angle(1_200, self.clone()),
            speed: Speed(self.clone()),
        }
    }
}

/// The kinds of port of the mock board.
pub(crate) struct Mock;

impl Ports for Mock {
    type Contact = Contact;
    type Switch = Pin;
    type Analog = Channels;
    type AngleA = Angle;
    type AngleB = Angle;
    type Speed = Speed;
    type Motor = Drive;
    type Watchdog = Dog;
}

pub(crate) struct Pin(Switch, Bench);

impl Pin {
    fn write(&self, on: bool) -> Result<(), ErrorKind> {
        self.1.with(|state| {
            state.done.push(Done::Switched(self.0, on));
            if state.stuck.contains(self.0) {
                return Err(ErrorKind::Other);
            }
            if on {
                state.high |= self.0;
            } else {
                state.high.remove(self.0);
            }
            for pair in [
                Switch::MastExtend | Switch::MastRetract,
                Switch::DoorsOpen | Switch::DoorsClose,
            ] {
                state.both_ways |= state.high.is_superset(pair);
            }
            Ok(())
        })
    }
}

impl ErrorType for Pin {
    type Error = ErrorKind;
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), ErrorKind> {
        self.write(false)
    }

    fn set_high(&mut self) -> Result<(), ErrorKind> {
        self.write(true)
    }
}

pub(crate) struct Contact(&'static str, Bench);

impl ErrorType for Contact {
    type Error = ErrorKind;
}

impl InputPin for Contact {
    fn is_high(&mut self) -> Result<bool, ErrorKind> {
        self.1.with(|state| {
            if state.silent.contains(self.0) {
                Err(ErrorKind::Other)
            } else {
                Ok(state.closed.contains(self.0))
            }
        })
    }

    fn is_low(&mut self) -> Result<bool, ErrorKind> {
        self.is_high().map(|high| !high)
    }
}

pub(crate) struct Drive(Bench);

impl MotorController for Drive {
    fn command(&mut self, motor: Motor) -> Result<(), NotObeyed> {
        self.0.with(|state| {
            state.done.push(Done::Commanded(motor));
            if state.motor_deaf {
                return Err(NotObeyed);
            }
            state.motor = motor;
            Ok(())
        })
    }
}

pub(crate) struct Dog(Bench);

impl Watchdog for Dog {
    fn feed(&mut self) {
        self.0.with(|state| state.done.push(Done::Fed));
    }
}

pub(crate) struct Angle(i32, Bench);

impl AngleSource for Angle {
    fn angle(&mut self) -> Reading<CentiDegrees> {
        self.1.reading(CentiDegrees::new(self.0))
    }
}

pub(crate) struct Speed(Bench);

impl SpeedSource for Speed {
    fn speed(&mut self) -> Reading<Rpm> {
        self.0.reading(Rpm::new(1_300))
    }
}

/// Analogue channels, each with a value of its own.
pub(crate) struct Channels(Bench);

const fn number(pack: Pack) -> i16 {
    match pack {
        Pack::One => 1,
        Pack::Two => 2,
    }
}

impl Analog for Channels {
    fn share(&mut self, of: ShareOf) -> Reading<Permille> {
        self.0.reading(Permille::new(match of {
            ShareOf::ThrottleA => 110,
            ShareOf::ThrottleB => 120,
            ShareOf::MastTravel => 130,
            ShareOf::Charge(pack) => 140 + number(pack),
        }))
    }

    fn voltage(&mut self, of: VoltageOf) -> Reading<Millivolts> {
        self.0.reading(Millivolts::new(match of {
            VoltageOf::Bus => 210,
            VoltageOf::Pack(pack) => 220 + i32::from(number(pack)),
            VoltageOf::Auxiliary => 230,
        }))
    }

    fn current(&mut self, of: CurrentOf) -> Reading<Milliamps> {
        self.0.reading(Milliamps::new(match of {
            CurrentOf::MastDrive => 310,
            CurrentOf::DoorDrive => 320,
            CurrentOf::Bus => 330,
        }))
    }

    fn temperature(&mut self, of: TemperatureOf) -> Reading<DeciCelsius> {
        self.0.reading(DeciCelsius::new(match of {
            TemperatureOf::Pack(pack) => 410 + number(pack),
            TemperatureOf::Motor => 420,
            TemperatureOf::Controller => 430,
        }))
    }

    fn insulation(&mut self) -> Reading<KiloOhms> {
        self.0.reading(KiloOhms::new(510))
    }

    fn airspeed(&mut self) -> Reading<DeciMetresPerSecond> {
        self.0.reading(DeciMetresPerSecond::new(610))
    }
}

/// A deadline that answers as told, first before the outputs are applied, then after.
pub(crate) struct Clock(pub(crate) [bool; 2], pub(crate) usize);

impl Clock {
    pub(crate) fn on_time() -> Self {
        Self([false, false], 0)
    }

    pub(crate) fn late_before_outputs() -> Self {
        Self([true, true], 0)
    }

    pub(crate) fn late_after_outputs() -> Self {
        Self([false, true], 0)
    }
}

impl Deadline for Clock {
    fn missed(&mut self) -> bool {
        let late = self.0[self.1.min(1)];
        self.1 += 1;
        late
    }
}

/// A controller that commands these drives, whatever it reads.
pub(crate) fn commanding(drives: Drives) -> impl FnOnce(&Inputs) -> Outputs {
    move |_| Outputs {
        drives,
        ..Outputs::default()
    }
}

/// As much as can be on at once.
pub(crate) fn everything() -> Drives {
    Drives {
        motor: Motor::Thrust(Permille::FULL),
        motor_enable: true,
        mast: MastDrive::Extend(Pace::Slow),
        doors: DoorDrive::Open,
        mast_power: true,
        door_power: true,
        bus: BusDrive {
            packs: [true; 2],
            precharge: true,
            main: true,
            discharge: true,
        },
        fans: Fans::Off,
        aux_charger: true,
    }
}
