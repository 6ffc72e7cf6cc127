//! Switching: what the controller commands becomes levels of pins, in a safe order.
//!
//! Responsibilities:
//! 1. Map [`Drives`] to a set of [`Switch`]es. Opposite directions come from one enum
//!    value, so no command has them both.
//! 2. Switch off what goes off before switching on what goes on, so that opposite
//!    directions are not on together even for the instant between two pins (SR-03).
//! 3. On any failure, and on demand, switch everything off that can be.

use embedded_hal::digital::OutputPin;
use enumset::{EnumSet, EnumSetType};

use super::ports::{MotorController, Ports};
use crate::outputs::{DoorDrive, Drives, Fans, MastDrive, Motor, Pace};

/// One digital output. Off, the level at reset, is its fail-safe value.
#[derive(EnumSetType, Debug, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Switch {
    /// Lets the fans rest; off, they run.
    FansRest,
    /// Discharge relay across the bus capacitor.
    Discharge,
    /// Contactor of pack 1.
    Pack1,
    /// Contactor of pack 2.
    Pack2,
    /// Pre-charge relay.
    Precharge,
    /// Main contactor.
    Main,
    /// Auxiliary battery charger.
    AuxCharger,
    /// Slows the mast drive to a quarter of its speed.
    MastSlow,
    /// Mast drive, up.
    MastExtend,
    /// Mast drive, down.
    MastRetract,
    /// Door drive, open.
    DoorsOpen,
    /// Door drive, close.
    DoorsClose,
    /// Relay that powers the mast drive.
    MastPower,
    /// Relay that powers the door drive.
    DoorPower,
    /// Torque enable of the motor controller.
    MotorEnable,
}

/// A set of switches that are on.
pub type Switches = EnumSet<Switch>;

impl Switch {
    /// The order of switching on: what selects before what moves, a direction before
    /// its power, torque last. Switching off goes the other way: torque first.
    pub const ON_ORDER: [Self; 15] = [
        Self::FansRest,
        Self::Discharge,
        Self::Pack1,
        Self::Pack2,
        Self::Precharge,
        Self::Main,
        Self::AuxCharger,
        Self::MastSlow,
        Self::MastExtend,
        Self::MastRetract,
        Self::DoorsOpen,
        Self::DoorsClose,
        Self::MastPower,
        Self::DoorPower,
        Self::MotorEnable,
    ];
}

/// The switches that `drives` wants on; all others are off.
#[must_use]
pub fn switches(drives: &Drives) -> Switches {
    let mast = match drives.mast {
        MastDrive::Off => Switches::empty(),
        MastDrive::Extend(pace) => Switch::MastExtend | slow(pace),
        MastDrive::Retract(pace) => Switch::MastRetract | slow(pace),
    };
    let doors = match drives.doors {
        DoorDrive::Off => Switches::empty(),
        DoorDrive::Open => Switch::DoorsOpen.into(),
        DoorDrive::Close => Switch::DoorsClose.into(),
    };
    let fans = match drives.fans {
        Fans::On => Switches::empty(),
        Fans::Off => Switch::FansRest.into(),
    };
    let [pack_1, pack_2] = drives.bus.packs;
    mast | doors
        | fans
        | when(drives.motor_enable, Switch::MotorEnable)
        | when(drives.mast_power, Switch::MastPower)
        | when(drives.door_power, Switch::DoorPower)
        | when(drives.aux_charger, Switch::AuxCharger)
        | when(pack_1, Switch::Pack1)
        | when(pack_2, Switch::Pack2)
        | when(drives.bus.precharge, Switch::Precharge)
        | when(drives.bus.main, Switch::Main)
        | when(drives.bus.discharge, Switch::Discharge)
}

fn slow(pace: Pace) -> Switches {
    match pace {
        Pace::Full => Switches::empty(),
        Pace::Slow => Switch::MastSlow.into(),
    }
}

fn when(on: bool, switch: Switch) -> Switches {
    if on { switch.into() } else { Switches::empty() }
}

/// The pin of each [`Switch`], under its name.
#[allow(
    missing_docs,
    reason = "each field is documented under the same name in `Switch`"
)]
pub struct Relays<P> {
    pub fans_rest: P,
    pub discharge: P,
    pub pack_1: P,
    pub pack_2: P,
    pub precharge: P,
    pub main: P,
    pub aux_charger: P,
    pub mast_slow: P,
    pub mast_extend: P,
    pub mast_retract: P,
    pub doors_open: P,
    pub doors_close: P,
    pub mast_power: P,
    pub door_power: P,
    pub motor_enable: P,
}

impl<P> Relays<P> {
    const fn pin(&mut self, switch: Switch) -> &mut P {
        match switch {
            Switch::FansRest => &mut self.fans_rest,
            Switch::Discharge => &mut self.discharge,
            Switch::Pack1 => &mut self.pack_1,
            Switch::Pack2 => &mut self.pack_2,
            Switch::Precharge => &mut self.precharge,
            Switch::Main => &mut self.main,
            Switch::AuxCharger => &mut self.aux_charger,
            Switch::MastSlow => &mut self.mast_slow,
            Switch::MastExtend => &mut self.mast_extend,
            Switch::MastRetract => &mut self.mast_retract,
            Switch::DoorsOpen => &mut self.doors_open,
            Switch::DoorsClose => &mut self.doors_close,
            Switch::MastPower => &mut self.mast_power,
            Switch::DoorPower => &mut self.door_power,
            Switch::MotorEnable => &mut self.motor_enable,
        }
    }
}

/// The output that did not obey.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Failed {
    /// A switch.
    Switch(Switch),
    /// The motor controller's command channel.
    Motor,
}

/// Everything that is switched and driven.
pub struct Actuators<P: Ports> {
    /// Digital outputs.
    pub relays: Relays<P::Switch>,
    /// The motor controller.
    pub motor: P::Motor,
}

impl<P: Ports> Actuators<P> {
    /// Carries out `drives`. Every pin is written every tick, so that a level disturbed
    /// from outside lasts one tick at most.
    ///
    /// # Errors
    /// The first output that did not obey; everything else is then fail-safe.
    pub fn apply(&mut self, drives: &Drives) -> Result<(), Failed> {
        let applied = self.switch_over(drives);
        if applied.is_err() {
            // What did not obey is known already; whatever else can go off, goes.
            let _ = self.fail_safe();
        }
        applied
    }

    /// Puts every output into its fail-safe value, torque first. Tries each one,
    /// whatever became of the others; may be called at any time, from a panic handler
    /// too.
    ///
    /// # Errors
    /// The first output that did not obey.
    pub fn fail_safe(&mut self) -> Result<(), Failed> {
        let mut all = Ok(());
        for switch in Switch::ON_ORDER.into_iter().rev() {
            let off = self.set(switch, false);
            all = all.and(off);
        }
        let shorted = self.command(Motor::Short);
        all.and(shorted)
    }

    fn switch_over(&mut self, drives: &Drives) -> Result<(), Failed> {
        let on = switches(drives);
        for switch in Switch::ON_ORDER.into_iter().rev() {
            if !on.contains(switch) {
                self.set(switch, false)?;
            }
        }
        self.command(drives.motor)?;
        for switch in Switch::ON_ORDER {
            if on.contains(switch) {
                self.set(switch, true)?;
            }
        }
        Ok(())
    }

    fn set(&mut self, switch: Switch, on: bool) -> Result<(), Failed> {
        let pin = self.relays.pin(switch);
        let written = if on { pin.set_high() } else { pin.set_low() };
        written.map_err(|_| Failed::Switch(switch))
    }

    fn command(&mut self, motor: Motor) -> Result<(), Failed> {
        self.motor.command(motor).map_err(|_| Failed::Motor)
    }
}
