//! What each state asks to drive, and what the interlock lets through.

use super::{Condition, Conditions, Config, Inputs, Outputs, Seen, Sequencer, State};
use crate::axis::Way;
use crate::bus;
use crate::command::Selector;
use crate::interlock::Permission;
use crate::outputs::{Denial, Motor, Pace};
use crate::propeller::{Propeller, Task};

/// What a state asks for.
struct Wish {
    /// The bus live, dead, or as it is.
    bus: Option<bool>,
    blade: Task,
    mast: Option<Way>,
    doors: Option<Way>,
}

/// Asks for a permission; records the reasons if it is denied.
fn ask(permission: Permission, proven: Conditions, outputs: &mut Outputs) -> bool {
    let reasons = permission.reasons(proven);
    if reasons.is_empty() {
        return true;
    }
    let denial = Denial {
        permission,
        reasons,
    };
    // One slot for each of the five asks of a tick: never full.
    if outputs.denials.push(denial).is_err() {
        outputs.events_lost = outputs.events_lost.saturating_add(1);
    }
    false
}

impl Sequencer {
    pub(super) fn command(
        &mut self,
        inputs: &Inputs,
        seen: &mut Seen,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        if matches!(self.state, State::Armed | State::Thrust) {
            seen.proven |= Condition::Armed;
        }
        let wish = self.wish(seen);
        self.command_blade(wish.blade, inputs, seen, config, outputs);
        self.command_bus(wish.bus, seen, config, outputs);
        self.command_mast(wish.mast, seen.proven, config, outputs);
        self.command_doors(wish.doors, seen.proven, config, outputs);
        outputs.drives.fans = self.thermal.fans();
    }

    /// The table of states and wishes.
    fn wish(&self, seen: &Seen) -> Wish {
        use Task::{Free, Propel, Slowed, Still};
        let wish = |bus, blade, mast, doors| Wish {
            bus,
            blade,
            mast,
            doors,
        };
        let aux = seen.said.aux_charge;
        // Without a bus there is nothing to hold the blade with, and off its lock no torque
        // is allowed: then there is nothing to ask for.
        let live = self.bus.stage() == bus::Stage::Live;
        let rest = if live && seen.proven.contains(Condition::MastLocked) {
            Still
        } else {
            Slowed
        };
        // The doors are open whenever the mast is out; after a reset they may not be.
        let opened = (!seen.proven.contains(Condition::DoorsOpen)).then_some(Way::Out);
        // Only torque parks a blade that is not, and only a proven lock permits torque; after
        // a reset it is not proven yet.
        let unlocked = seen.lock_to_prove && !seen.proven.contains(Condition::Parked);
        let press = unlocked.then_some(Way::Out);
        // A mast that came to its end by hand before it was to be stowed has no way left: one
        // whose drive is reversed would leave its end as the doors begin to close.
        let lower = (!seen.proven.contains(Condition::MastStowed)).then_some(Way::In);
        match self.state {
            State::Waking => wish(Some(false), Slowed, None, None),
            State::Stowed => wish(Some(aux), Slowed, None, None),
            State::Resting | State::Halted(_) => wish(None, rest, None, None),
            State::DeployPower | State::DeployPark => wish(Some(true), rest, None, None),
            State::DeployDoors => wish(Some(true), rest, None, opened),
            State::DeployMast => wish(Some(true), rest, Some(Way::Out), opened),
            State::Deployed | State::Armed => wish(Some(true), rest, None, None),
            State::Thrust => {
                let share = seen.said.demand.min(seen.thrust_limit);
                wish(Some(true), Propel(share), None, None)
            }
            State::StowPower => wish(Some(true), Slowed, None, None),
            State::StowBrake | State::StowPark => wish(Some(true), Still, press, press.and(opened)),
            State::StowProve => wish(Some(true), Free, None, None),
            State::StowMast => wish(Some(true), Slowed, lower, lower.and(opened)),
            State::StowDoors => wish(Some(true), Slowed, None, Some(Way::In)),
            State::Jog => {
                let locked = seen.proven.contains(Condition::MastLocked);
                let (mast, doors) = hand_flown(seen.said.selector, locked, seen.proven);
                wish(None, rest, mast, doors)
            }
            State::Bench if !seen.said.bench_key => wish(Some(false), Free, None, None),
            State::Bench => {
                // The slow pace proves no lock: pressed on, it would only be an overload.
                let locked = seen.lock_to_prove || seen.proven.contains(Condition::MastLocked);
                let (mast, doors) = hand_flown(seen.said.selector, locked, seen.proven);
                wish(Some(false), Free, mast, doors)
            }
        }
    }

    fn command_blade(
        &mut self,
        task: Task,
        inputs: &Inputs,
        seen: &mut Seen,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        let (permission, motor) = Propeller::ask(task, &inputs.propeller, config, seen.proven);
        let permitted = permission.is_none_or(|permission| ask(permission, seen.proven, outputs));
        outputs.drives.motor = match (permitted, task) {
            (true, _) => motor,
            // Shorted phases brake a moving blade without any permission or power.
            (false, Task::Still | Task::Slowed) => Motor::Short,
            (false, Task::Free | Task::Propel(_)) => Motor::Free,
        };
        outputs.drives.motor_enable = !matches!(outputs.drives.motor, Motor::Free | Motor::Short);
        self.propelled = matches!(outputs.drives.motor, Motor::Thrust(_));
        self.gripped = match outputs.drives.motor {
            Motor::Creep(_) | Motor::Hold(_) => true,
            // A gripped blade that runs away is braked first: it is still that blade.
            Motor::Brake(_) => self.gripped,
            Motor::Free | Motor::Short | Motor::Thrust(_) => false,
        };
        if !self.propelled {
            seen.proven |= Condition::TorqueOff;
        }
    }

    fn command_bus(
        &mut self,
        wanted: Option<bool>,
        seen: &mut Seen,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        let (drive, asked) = self.bus.step(
            wanted,
            &seen.bus,
            &mut self.packs,
            config,
            seen.proven,
            &mut seen.active,
        );
        outputs.drives.bus = drive;
        if let Some(permission) = asked {
            ask(permission, seen.proven, outputs);
        }
        outputs.drives.aux_charger =
            seen.said.aux_charge && ask(Permission::AuxCharge, seen.proven, outputs);
    }

    fn command_mast(
        &mut self,
        way: Option<Way>,
        proven: Conditions,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        let pace = if self.state == State::Bench {
            Pace::Slow
        } else {
            Pace::Full
        };
        let way = way.filter(|way| {
            let permission = match way {
                Way::Out => Permission::Extend,
                Way::In => Permission::Retract,
            };
            ask(permission, proven, outputs)
        });
        outputs.drives.mast = self.mast.drive(way, pace, config);
        outputs.drives.mast_power = way.is_some();
    }

    fn command_doors(
        &mut self,
        way: Option<Way>,
        proven: Conditions,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        let way = way.filter(|way| {
            let permission = match way {
                Way::Out => Permission::OpenDoors,
                Way::In => Permission::CloseDoors,
            };
            ask(permission, proven, outputs)
        });
        outputs.drives.doors = self.doors.drive(way, config);
        outputs.drives.door_power = way.is_some();
    }
}

/// What a held selector asks for: first the doors, then the mast, no further than its
/// ends, the deployed one when it is `locked`; doors close behind a stowed mast.
fn hand_flown(selector: Selector, locked: bool, proven: Conditions) -> (Option<Way>, Option<Way>) {
    let proves = |condition| proven.contains(condition);
    match selector {
        Selector::Hold | Selector::Unproven => (None, None),
        Selector::Deploy if locked => (None, None),
        Selector::Stow if proves(Condition::MastStowed) => {
            let shut = proves(Condition::DoorsShut);
            (None, (!shut).then_some(Way::In))
        }
        Selector::Deploy | Selector::Stow if !proves(Condition::DoorsOpen) => {
            (None, Some(Way::Out))
        }
        Selector::Deploy => (Some(Way::Out), None),
        Selector::Stow => (Some(Way::In), None),
    }
}
