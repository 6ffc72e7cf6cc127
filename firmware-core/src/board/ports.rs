//! What a board must offer: traits for what `embedded-hal` has no trait for.
//!
//! Scaling from counts to units belongs to whoever implements these, since it belongs
//! to the circuit; ranges are those documented in [`crate::inputs`].

use embedded_hal::digital::{InputPin, OutputPin};

use crate::outputs::Motor;
use crate::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// Why a source gave no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum NoReading {
    /// Nothing new this tick: the last sample stands, one tick older.
    Absent,
    /// The source declares itself unsound: the last sample is invalid from now on.
    Unsound,
}

/// A reading, or why there is none.
pub type Reading<T> = Result<T, NoReading>;

/// One of the two packs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Pack {
    /// The first of [`crate::Inputs::packs`].
    One,
    /// The second.
    Two,
}

/// What is read as a share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ShareOf {
    /// Throttle lever, first track.
    ThrottleA,
    /// Throttle lever, second track.
    ThrottleB,
    /// Travel of the mast.
    MastTravel,
    /// State of charge of a pack.
    Charge(Pack),
}

/// What is read as a voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum VoltageOf {
    /// The bus capacitor.
    Bus,
    /// A pack, before its contactor.
    Pack(Pack),
    /// The auxiliary battery.
    Auxiliary,
}

/// What is read as a current.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CurrentOf {
    /// The mast drive, without sign.
    MastDrive,
    /// The door drive, without sign.
    DoorDrive,
    /// The bus; positive leaves the packs.
    Bus,
}

/// What is read as a temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TemperatureOf {
    /// The hottest cell of a pack.
    Pack(Pack),
    /// The motor's windings.
    Motor,
    /// The motor controller's heat sink.
    Controller,
}

/// Everything read through an analogue channel or a bus of its own. No method may wait:
/// a conversion that is not ready is [`NoReading::Absent`].
pub trait Analog {
    /// A share.
    ///
    /// # Errors
    /// Why there is no reading.
    fn share(&mut self, of: ShareOf) -> Reading<Permille>;

    /// A voltage.
    ///
    /// # Errors
    /// Why there is no reading.
    fn voltage(&mut self, of: VoltageOf) -> Reading<Millivolts>;

    /// A current.
    ///
    /// # Errors
    /// Why there is no reading.
    fn current(&mut self, of: CurrentOf) -> Reading<Milliamps>;

    /// A temperature.
    ///
    /// # Errors
    /// Why there is no reading.
    fn temperature(&mut self, of: TemperatureOf) -> Reading<DeciCelsius>;

    /// Insulation resistance between the bus and the airframe.
    ///
    /// # Errors
    /// Why there is no reading.
    fn insulation(&mut self) -> Reading<KiloOhms>;

    /// Airspeed.
    ///
    /// # Errors
    /// Why there is no reading.
    fn airspeed(&mut self) -> Reading<DeciMetresPerSecond>;
}

/// A source of the blade's angle. The two sources fail apart only if they share neither
/// sensor, wire nor converter.
pub trait AngleSource {
    /// The angle, 0 to 35 999 (0.01°).
    ///
    /// # Errors
    /// Why there is no reading.
    fn angle(&mut self) -> Reading<CentiDegrees>;
}

/// A source of the shaft's speed, apart from both angle sources.
pub trait SpeedSource {
    /// The speed; positive is the propulsive sense.
    ///
    /// # Errors
    /// Why there is no reading.
    fn speed(&mut self) -> Reading<Rpm>;
}

/// The motor controller did not take a command.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct NotObeyed;

/// The motor controller's command channel; its torque enable is a switch of its own.
pub trait MotorController {
    /// Gives a command, every tick, changed or not. [`Motor::Short`] must be carried
    /// out as far as it can be, whatever else fails.
    ///
    /// # Errors
    /// The command was not taken.
    fn command(&mut self, motor: Motor) -> Result<(), NotObeyed>;
}

/// The watchdog. Left unfed it resets the processor, whose outputs then fall to their
/// fail-safe levels. Its time should span a few ticks: one late tick need not reset.
pub trait Watchdog {
    /// Feeds it.
    fn feed(&mut self);
}

/// Tells whether the present tick is late; the controller itself never reads a clock.
pub trait Deadline {
    /// True once the present tick's deadline has passed.
    fn missed(&mut self) -> bool;
}

/// The kinds of port a board is made of.
///
/// Every contact has one type, every switch another: the erased pin of a hardware
/// library, or `&mut dyn InputPin<Error = E>`, where the pins differ.
pub trait Ports {
    /// A digital input. High means that what the input is named for is so.
    type Contact: InputPin;
    /// A digital output. High means on; low, the level at reset, is fail-safe.
    type Switch: OutputPin;
    /// Analogue readings.
    type Analog: Analog;
    /// The blade's angle, measured in the motor.
    type AngleA: AngleSource;
    /// The blade's angle, measured at the hub.
    type AngleB: AngleSource;
    /// The shaft's speed.
    type Speed: SpeedSource;
    /// The motor controller.
    type Motor: MotorController;
    /// The watchdog.
    type Watchdog: Watchdog;
}
