//! What happened, before it is put into words: small, `Copy`, made without allocation.

use enumset::EnumSet;
use mastwright_core::State;
use mastwright_core::bus::Stage;
use mastwright_core::command::Intention;
use mastwright_core::fault::{Class, Fault};
use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::outputs::{DoorDrive, Fans, MastDrive, Motor, Pace};

use super::{Entry, Kind};
use crate::frame::told_seconds;
use crate::report::words;
use crate::scenario::Scenario;

/// One thing that happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Note {
    /// When, in ticks since the start.
    pub tick: u64,
    /// State of the controller then.
    pub phase: &'static str,
    /// What.
    pub what: What,
}

/// The things that happen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// The scenario's pilot or crew began the action of this index.
    Action(usize),
    /// The scenario's fault of this index began.
    Ordered(usize),
    /// The controller's supply came back (true) or went.
    Supply(bool),
    /// The controller took an intention.
    Asked(Intention),
    /// The pilot moves the mast by hand.
    AskedByHand(Intention),
    /// An intention had no effect.
    Ignored(Intention),
    /// The controller went to this state.
    Entered(State),
    /// The bus went to this stage, at this voltage, V.
    Bus(Stage, f64),
    /// Acknowledge was pressed, with or without alerts to silence.
    Acknowledged {
        /// There were alerts.
        alerts: bool,
    },
    /// Restraint of the blade was confirmed (true) or ended.
    Restraint(bool),
    /// So many events found no room.
    EventsLost(u8),
    /// Something was asked for and denied.
    Denied(Permission, EnumSet<Reason>),
    /// An alert came.
    Alert(Fault),
    /// A latched fault was cleared.
    Cleared(Fault),
    /// The mast drive went to this, at this travel (0 to 1), locked or not.
    Mast(MastDrive, f64, bool),
    /// The door drive went to this, at this opening (0 to 1).
    Doors(DoorDrive, f64),
    /// The motor went to this, at this shaft speed, rad/s.
    Motor(Motor, f64),
    /// The fans went on or off.
    Fans(Fans),
    /// The auxiliary charger went on or off, at this battery voltage, V.
    AuxCharger(bool, f64),
    /// The heat warning sounds (true) or falls silent.
    Heat(bool),
}

impl Note {
    /// The note in words; `scenario` names its actions and faults.
    #[must_use]
    pub fn entry(&self, scenario: &Scenario) -> Entry {
        Entry {
            time: told_seconds(self.tick),
            phase: self.phase,
            kind: self.what.kind(),
            text: self.what.words(scenario),
        }
    }
}

impl What {
    /// What kind of thing it is.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Action(_) => Kind::Pilot,
            Self::Ordered(_) => Kind::Fault,
            Self::Supply(_) => Kind::Supply,
            Self::Asked(_) | Self::AskedByHand(_) | Self::Ignored(_) => Kind::Asked,
            Self::Entered(_) => Kind::Phase,
            Self::Bus(..) => Kind::Bus,
            Self::Denied(..) => Kind::Denied,
            Self::Alert(fault) => match fault.class() {
                Class::Warning => Kind::Warning,
                Class::Caution => Kind::Caution,
                Class::Advisory => Kind::Advisory,
            },
            Self::Acknowledged { .. }
            | Self::Restraint(_)
            | Self::EventsLost(_)
            | Self::Cleared(_) => Kind::Crew,
            Self::Mast(..)
            | Self::Doors(..)
            | Self::Motor(..)
            | Self::Fans(_)
            | Self::AuxCharger(..) => Kind::Drive,
            Self::Heat(_) => Kind::Heat,
        }
    }

    /// It in words; `scenario` names its actions and faults.
    #[must_use]
    pub fn words(&self, scenario: &Scenario) -> String {
        match *self {
            Self::Action(index) => scenario
                .actions
                .get(index)
                .map_or_else(String::new, |action| action.words.clone()),
            Self::Ordered(index) => scenario
                .faults
                .get(index)
                .map_or_else(String::new, |fault| fault.words()),
            Self::Supply(true) => "the controller has its supply again and wakes".to_owned(),
            Self::Supply(false) => "the controller has lost its supply".to_owned(),
            Self::Asked(intention) => words::intention(intention).to_owned(),
            Self::AskedByHand(intention) => format!(
                "{} by hand, while the selector is held",
                words::intention(intention)
            ),
            Self::Ignored(intention) => {
                format!("{} has no effect here", words::intention(intention))
            }
            Self::Entered(state) => words::state(state),
            Self::Bus(stage, volts) => format!("{} ({volts:.0} V)", words::stage(stage)),
            Self::Acknowledged { alerts: true } => "alerts acknowledged".to_owned(),
            Self::Acknowledged { alerts: false } => {
                "acknowledge pressed, with no alert to silence".to_owned()
            }
            Self::Restraint(true) => "restraint of the blade confirmed".to_owned(),
            Self::Restraint(false) => "restraint of the blade ended".to_owned(),
            Self::EventsLost(count) => format!("{count} events found no room"),
            Self::Denied(permission, reasons) => denied(permission, reasons),
            Self::Alert(fault) => format!("{} ({fault:?})", words::fault(fault)),
            Self::Cleared(fault) => format!("cleared: {} ({fault:?})", words::fault(fault)),
            Self::Mast(drive, place, locked) => mast(drive, place * 100.0, locked),
            Self::Doors(drive, place) => doors(drive, place * 100.0),
            Self::Motor(command, speed) => {
                // Adding zero takes the sign off a rounded -0.
                let rpm = (speed * 60.0 / std::f64::consts::TAU).round() + 0.0;
                format!("{} at {rpm:.0} rpm", motor(command))
            }
            Self::Fans(Fans::On) => "cooling fans on".to_owned(),
            Self::Fans(Fans::Off) => "cooling fans off".to_owned(),
            Self::AuxCharger(on, volts) => {
                let switched = if on { "on" } else { "off" };
                format!("auxiliary charger {switched} at {volts:.1} V")
            }
            Self::Heat(true) => "the heat warning sounds".to_owned(),
            Self::Heat(false) => "the heat warning falls silent".to_owned(),
        }
    }
}

fn denied(permission: Permission, reasons: EnumSet<Reason>) -> String {
    let reasons: Vec<&str> = reasons.iter().map(Reason::words).collect();
    format!("{}: {}", words::permission(permission), reasons.join("; "))
}

fn mast(drive: MastDrive, percent: f64, locked: bool) -> String {
    let locked = if locked { ", locked" } else { "" };
    match drive {
        MastDrive::Off => format!("mast drive off at {percent:.0} %{locked}"),
        MastDrive::Extend(pace) => format!("mast extends{} from {percent:.0} %", slow(pace)),
        MastDrive::Retract(pace) => format!("mast retracts{} from {percent:.0} %", slow(pace)),
    }
}

fn doors(drive: DoorDrive, percent: f64) -> String {
    match drive {
        DoorDrive::Off => format!("door drive off, doors {percent:.0} % open"),
        DoorDrive::Open => format!("doors open from {percent:.0} %"),
        DoorDrive::Close => format!("doors close from {percent:.0} %"),
    }
}

const fn slow(pace: Pace) -> &'static str {
    match pace {
        Pace::Full => "",
        Pace::Slow => " slowly",
    }
}

const fn motor(motor: Motor) -> &'static str {
    match motor {
        Motor::Free => "motor free",
        Motor::Thrust(_) => "motor propels",
        Motor::Short => "motor windings shorted as a brake",
        Motor::Brake(_) => "motor brakes",
        Motor::Creep(_) => "motor turns the blade",
        Motor::Hold(_) => "motor holds the blade",
    }
}
