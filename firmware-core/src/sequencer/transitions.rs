//! The transitions: one row for each state in [`Sequencer::next`], one function for
//! each row that needs more than a line.
//!
//! Interruptions come before progress: a stop, an opposing intention or a lost proof
//! is considered first, and a state that has nothing to do stays as it is.

use super::{
    Condition, Config, Fault, Faults, Halt, Intention, Seen, Sequencer, State, bus, doors, mast,
};
use crate::command::Selector;
use crate::interlock::{Permission, Reason};
use crate::timer::Countdown;
use crate::units::Permille;

impl Sequencer {
    /// The state for this tick.
    pub(super) fn next(&mut self, seen: &Seen, config: &Config) -> State {
        match self.state {
            State::Waking => self.wake_up(seen),
            State::Resting | State::Halted(_) => self.rest(seen),
            State::Stowed => self.stay_stowed(seen, config),

            State::DeployPower => interrupt_deploy(seen).unwrap_or(self.deploy_power(seen)),
            State::DeployPark => interrupt_deploy(seen).unwrap_or(self.deploy_park(seen)),
            State::DeployDoors => interrupt_deploy(seen).unwrap_or(self.deploy_doors(seen)),
            State::DeployMast => interrupt_deploy(seen).unwrap_or(self.deploy_mast(seen)),

            State::Deployed => interrupt_thrust(seen).unwrap_or(arm(seen)),
            State::Armed | State::Thrust => interrupt_thrust(seen).unwrap_or(propel(seen)),

            State::StowPower => oppose_stow(seen).unwrap_or(self.stow_power(seen)),
            State::StowBrake => oppose_stow(seen).unwrap_or(self.stow_brake(seen)),
            State::StowPark => oppose_stow(seen).unwrap_or(self.stow_park(seen)),
            State::StowProve => oppose_stow(seen).unwrap_or(self.stow_prove(seen)),
            State::StowMast => oppose_stow(seen).unwrap_or(self.stow_mast(seen)),
            State::StowDoors => oppose_stow(seen).unwrap_or(self.stow_doors(seen)),

            State::Jog => self.jog(seen, config),
            State::Bench if seen.said.bench_key_off && seen.said.clearing => {
                if seen.said.stop {
                    State::Halted(Halt::StopThrown)
                } else {
                    State::Resting
                }
            }
            State::Bench => State::Bench,
        }
    }

    /// The fault that a safe halt declared in this tick stands for, beyond those that
    /// the sensors showed.
    pub(super) fn fault_of(&self, halt: Halt) -> Faults {
        let overdue = self.left.is_over();
        match halt {
            Halt::NotSlowed => Fault::BrakeOverdue.into(),
            Halt::NotParked if overdue => Fault::ParkOverdue.into(),
            Halt::NotParked => Fault::ParkLost.into(),
            Halt::MastOverdue => Fault::MastOverdue.into(),
            Halt::Doors if overdue => Fault::DoorOverdue.into(),
            Halt::LockLost => Fault::LockLost.into(),
            Halt::Doors
            | Halt::NoBus
            | Halt::MastFault
            | Halt::StopThrown
            | Halt::TooFast
            | Halt::BenchKey => Faults::empty(),
        }
    }

    fn wake_up(&self, seen: &Seen) -> State {
        let bench = seen.said.bench_key
            && seen.said.acknowledging
            && seen.proves(Condition::ThrottleZero)
            && seen.slow_air;
        if !self.left.is_over() {
            State::Waking
        } else if bench {
            State::Bench
        } else if seen.is_stowed() {
            State::Stowed
        } else {
            State::Resting
        }
    }

    fn rest(&self, seen: &Seen) -> State {
        match seen.said.intention {
            // A reset during maintenance, or a Bench that was not entered, must not turn
            // the crew's next push into a powered move.
            Some(_) if seen.said.bench_key => State::Halted(Halt::BenchKey),
            Some(Intention::Deploy) => State::DeployPower,
            Some(Intention::Stow | Intention::StopAndStow) => begin_stow(seen),
            None if seen.said.stop_fresh => State::Halted(Halt::StopThrown),
            None if self.state == State::Resting && seen.is_stowed() => State::Stowed,
            None => self.state,
        }
    }

    fn stay_stowed(&mut self, seen: &Seen, config: &Config) -> State {
        let after = config.fault_after.ticks();
        if self.settling.feed(!seen.is_stowed(), after) {
            // A stop thrown in this very tick is not to be lost with it.
            return if seen.said.stop_fresh {
                State::Halted(Halt::StopThrown)
            } else {
                State::Resting
            };
        }
        match seen.said.intention {
            Some(Intention::Deploy) if seen.said.bench_key => State::Halted(Halt::BenchKey),
            Some(Intention::Deploy) => State::DeployPower,
            // What is stowed need not be stowed again.
            Some(Intention::Stow | Intention::StopAndStow) | None => State::Stowed,
        }
    }

    fn deploy_power(&self, seen: &Seen) -> State {
        if !seen.proves(Condition::BusLive) {
            self.stay_or(Halt::NoBus)
        } else if seen.proves(Condition::MastLocked) {
            State::Deployed
        } else {
            State::DeployPark
        }
    }

    fn deploy_park(&self, seen: &Seen) -> State {
        if seen.proves(Condition::Parked) || seen.proves(Condition::MastClear) {
            State::DeployDoors
        } else {
            self.stay_or(Halt::NotParked)
        }
    }

    fn deploy_doors(&self, seen: &Seen) -> State {
        if seen.proves(Condition::DoorsOpen) {
            State::DeployMast
        } else {
            self.door_trouble(seen)
        }
    }

    fn deploy_mast(&self, seen: &Seen) -> State {
        if seen.proves(Condition::MastLocked) {
            State::Deployed
        } else {
            self.mast_trouble(seen)
        }
    }

    fn stow_power(&self, seen: &Seen) -> State {
        if seen.proves(Condition::BusLive) {
            State::StowBrake
        } else {
            self.stay_or(Halt::NoBus)
        }
    }

    fn stow_brake(&self, seen: &Seen) -> State {
        if self.bus.stage() != bus::Stage::Live {
            State::Halted(Halt::NoBus)
        } else if seen.proves(Condition::ShaftSlow) {
            State::StowPark
        } else if too_fast_for_torque(seen) {
            self.stay_or(Halt::TooFast)
        } else {
            self.stay_or(Halt::NotSlowed)
        }
    }

    fn stow_park(&self, seen: &Seen) -> State {
        if self.bus.stage() != bus::Stage::Live {
            State::Halted(Halt::NoBus)
        } else if too_fast_for_torque(seen) {
            self.stay_or(Halt::TooFast)
        } else if !seen.proves(Condition::Parked) {
            self.stay_or(Halt::NotParked)
        } else if !seen.proves(Condition::AirspeedInRange) {
            self.stay_or(Halt::TooFast)
        } else {
            State::StowProve
        }
    }

    fn stow_prove(&self, seen: &Seen) -> State {
        if !seen.proves(Condition::Parked) {
            State::Halted(Halt::NotParked)
        } else if self.left.is_over() {
            State::StowMast
        } else {
            State::StowProve
        }
    }

    fn stow_mast(&self, seen: &Seen) -> State {
        if seen.proves(Condition::MastStowed) {
            State::StowDoors
        } else {
            self.mast_trouble(seen)
        }
    }

    fn stow_doors(&self, seen: &Seen) -> State {
        if seen.is_stowed() {
            State::Stowed
        } else {
            self.door_trouble(seen)
        }
    }

    fn jog(&mut self, seen: &Seen, config: &Config) -> State {
        if seen.said.intention == Some(Intention::StopAndStow) {
            return begin_stow(seen);
        }
        if seen.said.stop_fresh {
            return State::Halted(Halt::StopThrown);
        }
        if !self.standing(seen.active).is_disjoint(mast::FORBIDDING) {
            return State::Halted(Halt::MastFault);
        }
        match seen.said.selector {
            Selector::Deploy | Selector::Stow => {
                self.left = Countdown::of(config.jog_idle.ticks());
                State::Jog
            }
            Selector::Hold | Selector::Unproven => {
                if seen.is_stowed() {
                    State::Stowed
                } else if seen.said.stop && self.left.is_over() {
                    // A stop was asked for and opposed; it is not to end without an answer.
                    State::Halted(Halt::StopThrown)
                } else if seen.proves(Condition::MastLocked) {
                    State::Deployed
                } else if self.left.is_over() {
                    State::Resting
                } else {
                    State::Jog
                }
            }
        }
    }

    /// The present state while its time lasts, a safe halt after that.
    fn stay_or(&self, halt: Halt) -> State {
        if self.left.is_over() {
            State::Halted(halt)
        } else {
            self.state
        }
    }

    /// What ends a mast move short of its end, if anything does.
    fn mast_trouble(&self, seen: &Seen) -> State {
        let standing = self.standing(seen.active);
        let strike = !seen.proves(Condition::Parked) && !seen.proves(Condition::MastClear);
        if seen.active.contains(Fault::MastOverdue) {
            State::Halted(Halt::MastOverdue)
        } else if !standing.is_disjoint(mast::FORBIDDING) {
            State::Halted(Halt::MastFault)
        } else if !standing.is_disjoint(doors::FORBIDDING) {
            State::Halted(Halt::Doors)
        } else if strike {
            State::Halted(Halt::NotParked)
        } else if !seen.proves(Condition::AirspeedInRange) {
            self.stay_or(Halt::TooFast)
        } else {
            self.stay_or(Halt::MastOverdue)
        }
    }

    /// What ends a door move short of its end, if anything does.
    fn door_trouble(&self, seen: &Seen) -> State {
        if !seen.proves(Condition::AirspeedInRange) {
            self.stay_or(Halt::TooFast)
        } else if self.standing(seen.active).is_disjoint(doors::FORBIDDING) {
            self.stay_or(Halt::Doors)
        } else {
            State::Halted(Halt::Doors)
        }
    }
}

impl Seen {
    fn proves(&self, condition: Condition) -> bool {
        self.proven.contains(condition)
    }

    fn is_stowed(&self) -> bool {
        self.proves(Condition::MastStowed) && self.proves(Condition::DoorsShut)
    }
}

/// What interrupts deploying, if anything does.
fn interrupt_deploy(seen: &Seen) -> Option<State> {
    match seen.said.intention {
        Some(Intention::StopAndStow) => Some(begin_stow(seen)),
        // A stop by one contact alone comes before a push in the same tick.
        Some(Intention::Stow | Intention::Deploy) | None if seen.said.stop => {
            Some(State::Halted(Halt::StopThrown))
        }
        Some(Intention::Stow) => Some(State::Jog),
        Some(Intention::Deploy) | None => None,
    }
}

/// What interrupts thrust or the readiness for it, if anything does.
fn interrupt_thrust(seen: &Seen) -> Option<State> {
    match seen.said.intention {
        Some(Intention::Stow | Intention::StopAndStow) => Some(begin_stow(seen)),
        Some(Intention::Deploy) if !seen.proves(Condition::BusLive) => Some(State::DeployPower),
        Some(Intention::Deploy) | None if seen.said.stop => Some(State::Halted(Halt::StopThrown)),
        Some(Intention::Deploy) | None if !seen.proves(Condition::MastLocked) => {
            Some(State::Halted(Halt::LockLost))
        }
        Some(Intention::Deploy) | None => None,
    }
}

/// The blade has no torque before the lock is proven, and in this air the mast may not be
/// driven to prove it: then it is no fault of the blade or its motor.
fn too_fast_for_torque(seen: &Seen) -> bool {
    seen.lock_to_prove && !seen.proves(Condition::AirspeedInRange)
}

/// A Deploy intention while stowing opposes it.
fn oppose_stow(seen: &Seen) -> Option<State> {
    (seen.said.intention == Some(Intention::Deploy)).then_some(State::Jog)
}

/// The first step of stowing that is still to be done.
fn begin_stow(seen: &Seen) -> State {
    if seen.proves(Condition::MastStowed) {
        State::StowDoors
    } else if seen.proves(Condition::BusLive) {
        State::StowBrake
    } else {
        State::StowPower
    }
}

/// True when something other than the throttle itself denies thrust. A late tick
/// denies thrust for that tick alone; it does not disarm.
fn is_disarmed(seen: &Seen) -> bool {
    let denied = Permission::Propel.reasons(seen.proven | Condition::Armed);
    !(denied - Reason::Late).is_empty()
}

/// Deployed: armed once the throttle is seen at zero (SR-08).
fn arm(seen: &Seen) -> State {
    if !is_disarmed(seen) && seen.proves(Condition::ThrottleZero) {
        State::Armed
    } else {
        State::Deployed
    }
}

/// Armed: the throttle decides, until thrust is denied.
fn propel(seen: &Seen) -> State {
    if is_disarmed(seen) {
        State::Deployed
    } else if seen.said.demand > Permille::ZERO {
        State::Thrust
    } else {
        State::Armed
    }
}
