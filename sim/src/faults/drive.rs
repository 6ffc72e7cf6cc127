//! What faults make of the commands on their way to the actuators.

use mastwright_core::outputs::{DoorDrive, Drives, Fans, MastDrive, Motor, Pace};
use mastwright_core::units::{Permille, Rpm};

use super::actuator::ActuatorId;
use super::timing::Delay;

/// What a fault does to a command.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Effect {
    /// At rest: no motion, no torque, contacts open.
    Rest,
    /// At rest during breaks.
    Breaks,
    /// As it was commanded at first.
    Hold,
    /// Acting: the way of the sign given, or as last driven (0), or with this strength.
    On(f64),
    /// At a quarter of the rated speed.
    Slow,
    /// The opposite way.
    Reverse,
    /// With this share (permille) of what is commanded.
    Weak(f64),
    /// So many seconds late.
    Delay(f64),
}

/// What a fault must remember of one actuator.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct State {
    held: Option<Drives>,
    ways: Option<Ways>,
    ticks: u32,
    delay: Option<Delay<Drives>>,
}

impl State {
    /// The state at the moment the fault begins.
    pub(super) fn new(effect: Effect) -> Self {
        let delay = if let Effect::Delay(seconds) = effect {
            Some(Delay::new(seconds))
        } else {
            None
        };
        Self {
            held: None,
            ways: None,
            ticks: 0,
            delay,
        }
    }

    /// Makes of the commands what the faulty actuator does with them. `broken` is
    /// true during breaks; `last` holds the ways the drives were last driven.
    pub(super) fn corrupt(
        &mut self,
        effect: Effect,
        id: ActuatorId,
        drives: &mut Drives,
        broken: bool,
        last: Ways,
    ) {
        let tick = self.ticks;
        self.ticks = self.ticks.wrapping_add(1);
        match effect {
            Effect::Rest => rest(id, drives),
            Effect::Breaks if broken => rest(id, drives),
            Effect::Breaks => {}
            Effect::Hold => copy(id, self.held.get_or_insert(*drives), drives),
            Effect::On(strength) => {
                let last = *self.ways.get_or_insert(last);
                act(id, drives, strength, last);
            }
            Effect::Slow => slow(id, drives, tick),
            Effect::Reverse => reverse(id, drives),
            Effect::Weak(share) => drives.motor = weakened(drives.motor, share),
            Effect::Delay(_) => {
                if let Some(delay) = &mut self.delay {
                    let due = delay.pass(*drives);
                    copy(id, &due, drives);
                }
            }
        }
    }
}

/// The ways the drives were last driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ways {
    mast: MastDrive,
    doors: DoorDrive,
}

impl Default for Ways {
    /// Before any command: the ways out of the bay.
    fn default() -> Self {
        Self {
            mast: MastDrive::Extend(Pace::Full),
            doors: DoorDrive::Open,
        }
    }
}

impl Ways {
    /// Remembers the ways of what is driven now.
    #[inline]
    pub(super) fn note(&mut self, drives: &Drives) {
        if drives.mast != MastDrive::Off {
            self.mast = drives.mast;
        }
        if drives.doors != DoorDrive::Off {
            self.doors = drives.doors;
        }
    }
}

fn copy(id: ActuatorId, from: &Drives, to: &mut Drives) {
    match id {
        ActuatorId::MastDrive => to.mast = from.mast,
        ActuatorId::DoorDrive => to.doors = from.doors,
        ActuatorId::MastPower => to.mast_power = from.mast_power,
        ActuatorId::DoorPower => to.door_power = from.door_power,
        ActuatorId::Motor => to.motor = from.motor,
        ActuatorId::MotorEnable => to.motor_enable = from.motor_enable,
        ActuatorId::Pack1Contactor => to.bus.packs[0] = from.bus.packs[0],
        ActuatorId::Pack2Contactor => to.bus.packs[1] = from.bus.packs[1],
        ActuatorId::Precharge => to.bus.precharge = from.bus.precharge,
        ActuatorId::MainContactor => to.bus.main = from.bus.main,
        ActuatorId::Discharge => to.bus.discharge = from.bus.discharge,
        ActuatorId::Fans => to.fans = from.fans,
        ActuatorId::AuxCharger => to.aux_charger = from.aux_charger,
    }
}

fn rest(id: ActuatorId, drives: &mut Drives) {
    let at_rest = Drives {
        fans: Fans::Off,
        ..Drives::default()
    };
    copy(id, &at_rest, drives);
}

fn act(id: ActuatorId, drives: &mut Drives, strength: f64, last: Ways) {
    let mast = match strength {
        way if way > 0.0 => MastDrive::Extend(Pace::Full),
        way if way < 0.0 => MastDrive::Retract(Pace::Full),
        _ => last.mast,
    };
    let doors = match strength {
        way if way > 0.0 => DoorDrive::Open,
        way if way < 0.0 => DoorDrive::Close,
        _ => last.doors,
    };
    let mut acting = Drives {
        motor: Motor::Thrust(Permille::new(strength as i16)),
        motor_enable: true,
        mast,
        doors,
        mast_power: true,
        door_power: true,
        fans: Fans::On,
        aux_charger: true,
        ..Drives::default()
    };
    acting.bus.packs = [true; 2];
    acting.bus.precharge = true;
    acting.bus.main = true;
    acting.bus.discharge = true;
    copy(id, &acting, drives);
}

/// A quarter of the speed: the mast drive has a pace for it, the door drive gets its
/// supply in one tick of four.
fn slow(id: ActuatorId, drives: &mut Drives, tick: u32) {
    if id == ActuatorId::DoorDrive {
        if !tick.is_multiple_of(4) {
            drives.doors = DoorDrive::Off;
        }
        return;
    }
    drives.mast = match drives.mast {
        MastDrive::Off => MastDrive::Off,
        MastDrive::Extend(_) => MastDrive::Extend(Pace::Slow),
        MastDrive::Retract(_) => MastDrive::Retract(Pace::Slow),
    };
}

fn reverse(id: ActuatorId, drives: &mut Drives) {
    let reversed = Drives {
        mast: match drives.mast {
            MastDrive::Off => MastDrive::Off,
            MastDrive::Extend(pace) => MastDrive::Retract(pace),
            MastDrive::Retract(pace) => MastDrive::Extend(pace),
        },
        doors: match drives.doors {
            DoorDrive::Off => DoorDrive::Off,
            DoorDrive::Open => DoorDrive::Close,
            DoorDrive::Close => DoorDrive::Open,
        },
        motor: match drives.motor {
            Motor::Thrust(share) => Motor::Thrust(Permille::ZERO.minus(share)),
            Motor::Creep(speed) => Motor::Creep(Rpm::ZERO.minus(speed)),
            same @ (Motor::Free | Motor::Short | Motor::Brake(_) | Motor::Hold(_)) => same,
        },
        ..*drives
    };
    copy(id, &reversed, drives);
}

fn weakened(motor: Motor, share: f64) -> Motor {
    let weak = |full: Permille| Permille::new((f64::from(full.get()) * share / 1_000.0) as i16);
    match motor {
        Motor::Thrust(full) => Motor::Thrust(weak(full)),
        Motor::Brake(full) => Motor::Brake(weak(full)),
        Motor::Hold(full) => Motor::Hold(weak(full)),
        same @ (Motor::Free | Motor::Short | Motor::Creep(_)) => same,
    }
}
