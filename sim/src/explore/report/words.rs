//! The abstract world in words.

use mastwright_core::Inputs;
use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor};
use mastwright_core::signal::Signal;
use mastwright_core::walk::Timer;

use super::super::hands::{Air, Heat, Push};
use super::super::memory::Acknowledge;
use super::super::plant::{Doors, Mast, Pace, Place, Plant, Volts};
use super::super::trouble::Trouble;

pub(super) const fn mast(mast: Mast) -> &'static str {
    match mast {
        Mast::Stowed => "stowed",
        Mast::Inside => "off its end, blade between the walls of the bay",
        Mast::Brink => "just out of the bay",
        Mast::Edge => "out of the bay, its margin not yet full",
        Mast::Clear => "clear of the bay",
        Mast::Deployed => "at its deployed end, not locked",
        Mast::Locked => "locked",
    }
}

pub(super) const fn doors(doors: Doors) -> &'static str {
    match doors {
        Doors::Shut => "shut",
        Doors::Ajar => "ajar",
        Doors::Agape => "just off their open switches",
        Doors::Open => "open",
    }
}

pub(super) const fn place(place: Place) -> &'static str {
    match place {
        Place::Window => "parked",
        Place::Near => "beside its park window",
        Place::Away => "away from its park angle",
    }
}

pub(super) const fn pace(pace: Pace) -> &'static str {
    match pace {
        Pace::Still => "still",
        Pace::Slow => "turning slowly",
        Pace::Fast => "spinning",
    }
}

pub(super) const fn volts(volts: Volts) -> &'static str {
    match volts {
        Volts::Dead => "dead",
        Volts::Part => "partly charged",
        Volts::Full => "full",
    }
}

pub(super) const fn push(push: Push) -> &'static str {
    match push {
        Push::Hold => "centred",
        Push::Deploy => "to deploy",
        Push::Stow => "to stow",
    }
}

pub(super) const fn acknowledge(button: Acknowledge) -> &'static str {
    match button {
        Acknowledge::Up => "released",
        Acknowledge::Pressed => "pressed",
        Acknowledge::Down => "down",
        Acknowledge::Held => "held",
    }
}

pub(super) const fn air(air: Air) -> &'static str {
    match air {
        Air::Calm => "calm",
        Air::Within => "within the range for motion",
        Air::Fast => "too fast for motion",
    }
}

pub(super) const fn heat(heat: Heat) -> &'static str {
    match heat {
        Heat::Cool => "cool",
        Heat::Hot => "hot",
        Heat::TooHot => "too hot for thrust",
    }
}

pub(super) const fn motor(motor: Motor) -> &'static str {
    match motor {
        Motor::Free => "free",
        Motor::Thrust(_) => "thrust",
        Motor::Short => "shorted",
        Motor::Brake(_) => "brake",
        Motor::Creep(_) => "creep",
        Motor::Hold(_) => "hold",
    }
}

/// Each output that can be told from outside: its name and what it does.
pub(super) fn drives(drives: &Drives) -> [(&'static str, &'static str); 7] {
    const fn closed(closed: bool) -> &'static str {
        if closed { "closed" } else { "open" }
    }
    const fn on(on: bool) -> &'static str {
        if on { "on" } else { "off" }
    }
    [
        (
            "mast drive",
            match drives.mast {
                MastDrive::Off => "off",
                MastDrive::Extend(_) => "extends",
                MastDrive::Retract(_) => "retracts",
            },
        ),
        (
            "door drive",
            match drives.doors {
                DoorDrive::Off => "off",
                DoorDrive::Open => "opens",
                DoorDrive::Close => "closes",
            },
        ),
        (
            "motor",
            if drives.motor_enable || matches!(drives.motor, Motor::Short) {
                motor(drives.motor)
            } else {
                "no torque"
            },
        ),
        ("pre-charge", on(drives.bus.precharge)),
        ("main contactor", closed(drives.bus.main)),
        ("discharge", on(drives.bus.discharge)),
        ("charger", on(drives.aux_charger)),
    ]
}

pub(super) const fn timer(timer: Timer) -> &'static str {
    match timer {
        Timer::State => "time of the state",
        Timer::Restraint => "confirmation of restraint",
        Timer::Settling => "rest left",
        Timer::MotorUnasked => "current drawn unasked",
        Timer::MotorRunaway => "blade that runs away",
        Timer::StopLost => "stop switch not heard",
        Timer::MastRest => "dead time of the mast drive",
        Timer::MastRun => "longest run of the mast drive",
        Timer::MastOverload => "overload of the mast drive",
        Timer::MastContradicted => "contradiction of the mast's sensors",
        Timer::MastLost => "mast sensor not heard",
        Timer::Lock => "proof of the lock",
        Timer::DoorRest => "dead time of the door drive",
        Timer::DoorRun => "longest run of the door drive",
        Timer::DoorOverload => "overload of the door drive",
        Timer::DoorContradicted => "contradiction of the door switches",
        Timer::DoorLost => "door sensor not heard",
        Timer::DoorPressing => "door drive pressing on its end",
        Timer::DoorUnpressed => "doors not pressed shut",
        Timer::Parked => "parking proof",
        Timer::BusStage => "time of the bus stage",
        Timer::BusChecked => "checks before closing or time to close",
        Timer::BusWelded => "contactor closed unasked",
        Timer::BusLost => "bus not proven live",
        Timer::BusLeftBehind => "bus behind its packs",
        Timer::BusDrained => "least draining time",
        Timer::Pack1Unusable => "pack 1 not usable",
        Timer::Pack2Unusable => "pack 2 not usable",
    }
}

/// What the sensor that `trouble` breaks says; nothing, if it breaks none.
pub(super) fn said(trouble: Trouble, inputs: &Inputs) -> Option<String> {
    let Inputs {
        controls,
        mast,
        doors,
        propeller,
        bus,
        packs,
        ..
    } = inputs;
    let said = match trouble {
        Trouble::MastPosition => number(mast.position, |v| f64::from(v.get()) / 10.0, "%"),
        Trouble::StowedSwitch => contact(mast.stowed_switch),
        Trouble::DeployedSwitch => contact(mast.deployed_switch),
        Trouble::LockSwitch => contact(mast.lock_switch),
        Trouble::MastCurrent => number(mast.drive_current, |v| f64::from(v.get()) / 1e3, "A"),
        Trouble::LeftOpen => contact(doors.left_open),
        Trouble::RightOpen => contact(doors.right_open),
        Trouble::ShutSwitch => contact(doors.shut),
        Trouble::DoorCurrent => number(doors.drive_current, |v| f64::from(v.get()) / 1e3, "A"),
        Trouble::AngleA => number(propeller.angle_a, |v| f64::from(v.get()) / 100.0, "deg"),
        Trouble::AngleB => number(propeller.angle_b, |v| f64::from(v.get()) / 100.0, "deg"),
        Trouble::ShaftSpeed => number(propeller.speed, |v| f64::from(v.get()), "rpm"),
        Trouble::BusVoltage => number(bus.voltage, |v| f64::from(v.get()) / 1e3, "V"),
        Trouble::BusCurrent => number(bus.current, |v| f64::from(v.get()) / 1e3, "A"),
        Trouble::InsulationMonitor => number(bus.insulation, |v| f64::from(v.get()), "kohm"),
        Trouble::MainFeedback => contact(bus.main_feedback),
        Trouble::Pack1Voltage => number(packs[0].voltage, |v| f64::from(v.get()) / 1e3, "V"),
        Trouble::Pack2Voltage => number(packs[1].voltage, |v| f64::from(v.get()) / 1e3, "V"),
        Trouble::ThrottleA => number(controls.throttle_a, |v| f64::from(v.get()) / 10.0, "%"),
        Trouble::ThrottleB => number(controls.throttle_b, |v| f64::from(v.get()) / 10.0, "%"),
        Trouble::SelectHold => contact(controls.select_hold),
        Trouble::SelectDeploy => contact(controls.select_deploy),
        Trouble::SelectStow => contact(controls.select_stow),
        Trouble::StopA => contact(controls.stop_a),
        Trouble::StopB => contact(controls.stop_b),
        Trouble::BenchKey => contact(controls.bench_key),
        Trouble::AuxContact => contact(controls.aux_charge),
        Trouble::Airspeed => number(inputs.airspeed, |v| f64::from(v.get()) / 10.0, "m/s"),
        Trouble::None
        | Trouble::SelectorLingers
        | Trouble::MastStuck
        | Trouble::MastReversed
        | Trouble::SpindleFree
        | Trouble::DoorsStuck
        | Trouble::MotorDead
        | Trouble::MotorDisobeys
        | Trouble::BladeTurned
        | Trouble::MainWelded
        | Trouble::MainStuckOpen
        | Trouble::PrechargeOpen
        | Trouble::DischargeOpen
        | Trouble::PacksOff
        | Trouble::InsulationLow
        | Trouble::LateTicks
        | Trouble::PowerCut => return None,
    };
    Some(said)
}

fn contact(signal: Signal<bool>) -> String {
    match heard(signal) {
        Some(true) => "on".to_owned(),
        Some(false) => "off".to_owned(),
        None => "nothing".to_owned(),
    }
}

fn number<T: Copy>(signal: Signal<T>, value: impl Fn(T) -> f64, unit: &str) -> String {
    match heard(signal) {
        Some(heard) => format!("{} {unit}", value(heard)),
        None => "nothing".to_owned(),
    }
}

fn heard<T: Copy>(signal: Signal<T>) -> Option<T> {
    signal.is_valid().then(|| signal.raw())
}

/// Where the plant stands.
pub(super) fn stands(plant: &Plant) -> String {
    format!(
        "mast {}, doors {}, blade {}, bus {}",
        mast(plant.mast),
        doors(plant.doors),
        place(plant.place),
        volts(plant.volts),
    )
}
