//! The few facts about time that are taken for granted of the real plant: what is always
//! faster than which timer. Each stands in a row of [`may_run_out`], with the troubles that can
//! undo it; `tests/tests/exploration_plant.rs` holds them against the simulated aircraft.
//!
//! A fact that holds while nothing is broken goes on holding for troubles that have no
//! part in it: a temperature sensor does not slow a door. What is broken stays broken, so
//! what may run out once may run out ever after.

use enumset::enum_set;
use mastwright_core::bus::{FORBIDDING as BUS_FORBIDS, Stage};
use mastwright_core::doors::FORBIDDING as DOORS_FORBID;
use mastwright_core::inputs::PACKS;
use mastwright_core::mast::FORBIDDING as MAST_FORBIDS;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Fault, Faults, State};

use super::cases::{Cases, Several};
use super::plant::{Mast, Plant, Volts};
use super::trouble::Trouble;

/// What decides whether a timer may run out in a step.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// The plant.
    pub plant: &'a Plant,
    /// What is broken.
    pub broken: Several,
    /// The sequencer's state before the step.
    pub state: State,
    /// The stage of the bus before the step.
    pub stage: Stage,
}

/// What may keep the doors from arriving, from being seen to arrive, or from being pressed
/// shut with a current that is seen.
const DOORS: Cases = enum_set!(
    Trouble::LeftOpen
        | Trouble::RightOpen
        | Trouble::ShutSwitch
        | Trouble::DoorCurrent
        | Trouble::DoorsStuck
);
/// What may keep the mast from arriving, or from being seen to arrive.
const MAST: Cases = enum_set!(
    Trouble::MastPosition
        | Trouble::StowedSwitch
        | Trouble::DeployedSwitch
        | Trouble::LockSwitch
        | Trouble::MastCurrent
        | Trouble::MastStuck
        | Trouble::MastReversed
        | Trouble::SpindleFree
);
/// What may keep the bus from taking its steps, from being seen to take them, or from
/// staying live.
const BUS: Cases = enum_set!(
    Trouble::BusVoltage
        | Trouble::BusCurrent
        | Trouble::InsulationMonitor
        | Trouble::InsulationLow
        | Trouble::MainFeedback
        | Trouble::Pack1Voltage
        | Trouble::Pack2Voltage
        | Trouble::MotorDisobeys
        | Trouble::MainWelded
        | Trouble::MainStuckOpen
        | Trouble::PrechargeOpen
        | Trouble::DischargeOpen
        | Trouble::PacksOff
);
/// What may show contacts of the main contactor that touch, long after they were told to
/// part.
const CONTACTS: Cases = enum_set!(Trouble::MainWelded | Trouble::MainFeedback);
/// What may show current where no torque is asked for, for longer than it takes to fade.
const CURRENT: Cases = enum_set!(Trouble::BusCurrent | Trouble::MotorDisobeys);
/// What may keep a bus that is drained fed, or undrained.
const FED: Cases = enum_set!(Trouble::DischargeOpen | Trouble::MainWelded);
/// What may hold up a mast that is driven out and shows its lock.
const HELD_UP: Cases = enum_set!(Trouble::MastStuck | Trouble::MastReversed);

/// True when a timer that runs out would change nothing: a fault `stands` that forbids what its
/// fault would, or the pack that it lets go is not joined.
#[must_use]
pub fn is_quiet(timer: Timer, stands: Faults, joined: [bool; PACKS]) -> bool {
    let [one, two] = joined;
    let let_go = (timer == Timer::Pack1Unusable && !one) || (timer == Timer::Pack2Unusable && !two);
    // A mast's run that is overdue ends a stage of the sequencer besides.
    let only_latches = timer != Timer::MastRun;
    let_go || (only_latches && !stands.is_disjoint(latched_by(timer.into())))
}

/// The faults that forbid something, each standing for all that forbid the same, that are
/// latched where these timers run out, as soon as readings are judged.
#[must_use]
pub fn latched_by(timers: Timers) -> Faults {
    let of = |timer| match timer {
        Timer::MotorUnasked | Timer::MotorRunaway => Fault::MotorUnasked.into(),
        Timer::MastRun | Timer::MastOverload | Timer::MastContradicted | Timer::MastLost => {
            MAST_FORBIDS
        }
        Timer::DoorOverload
        | Timer::DoorContradicted
        | Timer::DoorLost
        | Timer::DoorRun
        | Timer::DoorUnpressed => DOORS_FORBID,
        Timer::BusWelded => BUS_FORBIDS,
        Timer::Pack1Unusable
        | Timer::Pack2Unusable
        | Timer::State
        | Timer::Restraint
        | Timer::Settling
        | Timer::StopLost
        | Timer::MastRest
        | Timer::Lock
        | Timer::DoorRest
        | Timer::DoorPressing
        | Timer::Parked
        | Timer::BusStage
        | Timer::BusChecked
        | Timer::BusLost
        | Timer::BusLeftBehind
        | Timer::BusDrained => Faults::empty(),
    };
    let each = timers.iter().map(of);
    each.fold(Faults::empty(), |all, faults| all | faults)
}

/// The cases in which a running timer may run out in a step that begins so.
#[must_use]
pub fn may_run_out(timer: Timer, now: &Situation<'_>) -> Cases {
    let any = |of| now.broken.with_any(of);
    let always = |so, of| if so { now.broken.all() } else { any(of) };
    match timer {
        // A mast that is driven out, and not held up, locks within the proof time of the
        // lock, whatever the switch says.
        Timer::Lock => always(now.plant.mast != Mast::Deployed, HELD_UP),
        // Chosen with the readings, and a move of its own.
        Timer::Parked | Timer::MastRest | Timer::DoorRest => Cases::empty(),
        // A bus that is drained and not fed is dead within its least draining time, and its
        // main contacts, told to part, have parted.
        Timer::BusDrained => {
            let dead = always(now.plant.volts == Volts::Dead, FED);
            dead & always(!now.plant.main, Trouble::MainWelded.into())
        }
        // A sound bus charges, closes and drains within the time of each.
        Timer::BusStage => match now.stage {
            Stage::Draining | Stage::Precharging | Stage::Closing => any(BUS),
            Stage::Dead | Stage::Checking | Stage::Live | Stage::Opening => now.broken.all(),
        },
        // A main contactor that is told to close has closed before its contact is believed.
        Timer::BusChecked => always(
            now.stage != Stage::Closing || now.plant.main,
            Trouble::MainStuckOpen.into(),
        ),
        // A bus that was live, and is fed, stays so.
        Timer::BusLost | Timer::BusLeftBehind => any(BUS),
        // Contacts part, and a current fades, within a few ticks.
        Timer::BusWelded => any(CONTACTS),
        Timer::MotorUnasked => any(CURRENT),
        // Sound drives reach their ends within their longest run, and are seen to; sound
        // doors that close are pressed shut, and the drive ends then.
        Timer::MastRun => any(MAST),
        Timer::DoorRun | Timer::DoorOverload | Timer::DoorUnpressed => any(DOORS),
        // What coasted when the supply went is at rest before the controller has woken.
        Timer::State => always(
            now.state != State::Waking || now.plant.rests(),
            Cases::empty(),
        ),
        // The rest runs only on what something broken shows, or takes any time.
        Timer::Restraint
        | Timer::Settling
        | Timer::MotorRunaway
        | Timer::StopLost
        | Timer::MastOverload
        | Timer::MastContradicted
        | Timer::MastLost
        | Timer::DoorContradicted
        | Timer::DoorLost
        | Timer::DoorPressing
        | Timer::Pack1Unusable
        | Timer::Pack2Unusable => now.broken.all(),
    }
}
