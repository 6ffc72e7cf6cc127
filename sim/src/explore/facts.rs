//! The few facts about time that are taken for granted of the real plant: what is always
//! faster than which timer. Each is one row of [`may_run_out`]. Open: none is held against
//! the simulated aircraft by a test yet.

use mastwright_core::State;
use mastwright_core::bus::Stage;
use mastwright_core::walk::Timer;

use super::hands::Air;
use super::plant::{Mast, Plant, Volts};
use super::trouble::{Trouble, Troubles};

/// What decides whether a timer may run out in a step.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// The plant.
    pub plant: &'a Plant,
    /// What is broken.
    pub troubles: Troubles,
    /// The air.
    pub air: Air,
    /// The sequencer's state before the step.
    pub state: State,
    /// The stage of the bus before the step.
    pub stage: Stage,
}

/// Whether a running timer may run out in a step that begins so.
#[must_use]
pub fn may_run_out(timer: Timer, now: &Situation<'_>) -> bool {
    let broken = now.troubles.any();
    match timer {
        // A sound mast arrives, and sound doors do, before their time is up, unless the air
        // forbids them to move.
        Timer::State => match now.state {
            State::DeployDoors | State::DeployMast | State::StowMast | State::StowDoors => {
                broken || now.air == Air::Fast
            }
            State::Waking
            | State::Resting
            | State::Stowed
            | State::DeployPower
            | State::DeployPark
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::Jog
            | State::Bench
            | State::Halted(_) => true,
        },
        // A mast that is driven out and not held up locks within the proof time of the lock.
        Timer::Settling => {
            now.state != State::DeployMast
                || now.plant.mast == Mast::Locked
                || now.troubles.has(Trouble::MastStuck)
                || now.troubles.has(Trouble::MastReversed)
        }
        // Chosen with the readings, and a move of its own.
        Timer::Parked | Timer::MastRest | Timer::DoorRest => false,
        // A bus that is drained and not fed is dead within its least draining time.
        Timer::BusDrained => {
            now.plant.volts == Volts::Dead
                || now.troubles.has(Trouble::DischargeOpen)
                || now.troubles.has(Trouble::MainWelded)
        }
        // A sound bus charges, closes and drains within the time of each.
        Timer::BusStage => match now.stage {
            Stage::Draining | Stage::Precharging | Stage::Closing => broken,
            Stage::Dead | Stage::Checking | Stage::Live | Stage::Opening => true,
        },
        // Sound drives, contacts and sensors trip none of these.
        Timer::MastRun
        | Timer::MastOverload
        | Timer::MastContradicted
        | Timer::MastLost
        | Timer::DoorRun
        | Timer::DoorOverload
        | Timer::DoorContradicted
        | Timer::DoorLost
        | Timer::DoorUnpressed
        | Timer::BusWelded
        | Timer::BusLost
        | Timer::BusLeftBehind
        | Timer::MotorUnasked
        | Timer::StopLost
        | Timer::Pack1Unusable
        | Timer::Pack2Unusable => broken,
        Timer::Restraint | Timer::MotorRunaway | Timer::DoorPressing | Timer::BusChecked => true,
    }
}
