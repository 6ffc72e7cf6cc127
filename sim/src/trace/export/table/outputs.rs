//! Signals of what the controller drove, told, found proven and denied.

use std::borrow::Cow;

use enumset::EnumSet;
use mastwright_core::Fault;
use mastwright_core::interlock::{Condition, Permission, Reason};
use mastwright_core::outputs::{DoorDrive, Drives, Fans, Indications, MastDrive, Motor, Pace};

use super::super::signal::{Signal, Unit};
use crate::report::words;

/// The signals, in the order of the controller's outputs.
pub(super) fn signals() -> Vec<Signal> {
    let mut all = drives();
    all.extend(told());
    all.extend(EnumSet::<Fault>::all().iter().map(|fault| {
        let name = format!("outputs.latched.{fault:?}");
        Signal::flag(name, about_fault("Latched", fault), move |tick| {
            tick.frame.outputs.indications.faults.contains(fault)
        })
    }));
    all.extend(EnumSet::<Fault>::all().iter().map(|fault| {
        let name = format!("outputs.sounding.{fault:?}");
        Signal::flag(name, about_fault("Sounding", fault), move |tick| {
            tick.frame.outputs.indications.sounding.contains(fault)
        })
    }));
    all.extend(EnumSet::<Condition>::all().iter().map(|condition| {
        let name = format!("outputs.proven.{condition:?}");
        let about = format!("Proven: {}", crate::report::witness::condition(condition));
        Signal::flag(name, about, move |tick| {
            tick.frame.outputs.proven.contains(condition)
        })
    }));
    all.extend(EnumSet::<Permission>::all().iter().map(|permission| {
        let name = format!("outputs.denied.{permission:?}");
        let about = format!(
            "Asked for and denied: {}; the reasons joined by `+`, `-` when not denied",
            words::permission(permission)
        );
        Signal::text(name, about, move |tick| {
            let denials = &tick.frame.outputs.denials;
            let denial = denials
                .iter()
                .find(|denial| denial.permission == permission);
            denial.map_or(Cow::Borrowed("-"), |denial| {
                Cow::Owned(reasons(denial.reasons))
            })
        })
    }));
    all
}

fn about_fault(how: &str, fault: Fault) -> String {
    let class = words::class(fault.class()).to_lowercase();
    format!("{how}, {class}: {}", words::fault(fault))
}

fn reasons(reasons: EnumSet<Reason>) -> String {
    let words: Vec<String> = reasons.iter().map(|reason| format!("{reason:?}")).collect();
    words.join("+")
}

fn driven(name: &'static str, about: &'static str, get: fn(&Drives) -> bool) -> Signal {
    Signal::flag(name, about, move |tick| get(&tick.frame.outputs.drives))
}

fn drives() -> Vec<Signal> {
    vec![
        Signal::text(
            "outputs.drive.motor",
            "Command to the motor controller",
            |tick| {
                Cow::Borrowed(match tick.frame.outputs.drives.motor {
                    Motor::Free => "Free",
                    Motor::Thrust(_) => "Thrust",
                    Motor::Short => "Short",
                    Motor::Brake(_) => "Brake",
                    Motor::Creep(_) => "Creep",
                    Motor::Hold(_) => "Hold",
                })
            },
        ),
        Signal::real(
            "outputs.drive.motor_share",
            Unit::Percent,
            "Share of the limit of Thrust, Brake or Hold; 0 otherwise",
            |tick| match tick.frame.outputs.drives.motor {
                Motor::Thrust(share) | Motor::Brake(share) | Motor::Hold(share) => {
                    f64::from(share.get()) / 10.0
                }
                Motor::Free | Motor::Short | Motor::Creep(_) => 0.0,
            },
        ),
        Signal::real(
            "outputs.drive.motor_speed",
            Unit::Rpm,
            "Speed of Creep; 0 otherwise",
            |tick| match tick.frame.outputs.drives.motor {
                Motor::Creep(speed) => f64::from(speed.get()),
                Motor::Free
                | Motor::Short
                | Motor::Thrust(_)
                | Motor::Brake(_)
                | Motor::Hold(_) => 0.0,
            },
        ),
        driven(
            "outputs.drive.motor_enable",
            "Torque enable of the motor",
            |d| d.motor_enable,
        ),
        Signal::text("outputs.drive.mast", "Mast drive", |tick| {
            Cow::Borrowed(match tick.frame.outputs.drives.mast {
                MastDrive::Off => "Off",
                MastDrive::Extend(Pace::Full) => "Extend",
                MastDrive::Extend(Pace::Slow) => "ExtendSlow",
                MastDrive::Retract(Pace::Full) => "Retract",
                MastDrive::Retract(Pace::Slow) => "RetractSlow",
            })
        }),
        driven(
            "outputs.drive.mast_power",
            "Power relay of the mast drive",
            |d| d.mast_power,
        ),
        Signal::text("outputs.drive.doors", "Door drive", |tick| {
            Cow::Borrowed(match tick.frame.outputs.drives.doors {
                DoorDrive::Off => "Off",
                DoorDrive::Open => "Open",
                DoorDrive::Close => "Close",
            })
        }),
        driven(
            "outputs.drive.door_power",
            "Power relay of the door drive",
            |d| d.door_power,
        ),
        driven("outputs.drive.pack_1", "Contactor of pack 1", |d| {
            d.bus.packs[0]
        }),
        driven("outputs.drive.pack_2", "Contactor of pack 2", |d| {
            d.bus.packs[1]
        }),
        driven("outputs.drive.precharge", "Pre-charge relay", |d| {
            d.bus.precharge
        }),
        driven("outputs.drive.main", "Main contactor", |d| d.bus.main),
        driven("outputs.drive.discharge", "Discharge relay", |d| {
            d.bus.discharge
        }),
        driven("outputs.drive.fans", "Cooling fans on", |d| {
            d.fans == Fans::On
        }),
        driven("outputs.drive.aux_charger", "Auxiliary charger", |d| {
            d.aux_charger
        }),
    ]
}

fn shown(name: &'static str, about: &'static str, get: fn(&Indications) -> bool) -> Signal {
    Signal::flag(name, about, move |tick| {
        get(&tick.frame.outputs.indications)
    })
}

fn told() -> Vec<Signal> {
    vec![
        Signal::text("outputs.told.state", "State of the sequencer", |tick| {
            Cow::Owned(format!("{:?}", tick.frame.outputs.indications.state))
        }),
        Signal::text("outputs.told.mode", "Mode of control", |tick| {
            Cow::Owned(format!("{:?}", tick.frame.outputs.indications.mode))
        }),
        shown(
            "outputs.told.mast_locked",
            "Mast proven deployed and locked",
            |i| i.mast_locked,
        ),
        shown(
            "outputs.told.stowed",
            "Mast proven stowed and doors proven shut",
            |i| i.stowed,
        ),
        shown("outputs.told.parked", "Propeller proven parked", |i| {
            i.parked
        }),
        shown("outputs.told.armed", "Thrust follows the throttle", |i| {
            i.armed
        }),
        shown(
            "outputs.told.bus_dead",
            "Bus proven below the high-voltage limit",
            |i| i.bus_dead,
        ),
        Signal::whole(
            "outputs.told.events_lost",
            None,
            "Events that found no room",
            |tick| Some(u32::from(tick.frame.outputs.events_lost)),
        ),
    ]
}
