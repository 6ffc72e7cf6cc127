//! Why the thing now asked for happens or does not: one permission, its conditions, and
//! the first denial in one plain sentence with the readings behind it.
//!
//! Terms: the *subject* is the permission looked at: what is asked for and denied now, or
//! else what the present state would need next.

use enumset::EnumSet;
use mastwright_core::interlock::{Clause, Condition, Permission, Reason};
use mastwright_core::outputs::{Drives, Motor};
use mastwright_core::{Config, State};

use super::witness::{Speaks, Witness, condition, witnesses};
use crate::frame::Frame;

/// Why something happens or does not.
#[derive(Clone, Debug)]
pub struct Why {
    /// What is looked at.
    pub permission: Permission,
    /// It was asked for in this tick and denied.
    pub denied: bool,
    /// Its clauses in order.
    pub rows: Vec<Row>,
    /// The first denial, or that nothing forbids it, in one sentence.
    pub sentence: String,
    /// What else was asked for and denied in this tick.
    pub also: Vec<Permission>,
}

/// One clause of a permission.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its conditions in words.
    pub words: String,
    /// It holds.
    pub holds: bool,
    /// The readings behind it.
    pub witnesses: Vec<Witness>,
}

impl Why {
    /// Looks at one tick.
    #[must_use]
    pub fn of(frame: &Frame, config: &Config) -> Self {
        Self::about(subject(frame), frame, config)
    }

    /// Looks at this permission in one tick.
    #[must_use]
    pub fn about(permission: Permission, frame: &Frame, config: &Config) -> Self {
        let proven = frame.outputs.proven;
        let rows = permission
            .clauses()
            .iter()
            .map(|clause| row(clause, frame, config))
            .collect();
        let denied_now = || frame.outputs.denials.iter().map(|denial| denial.permission);
        let denied = denied_now().any(|denied| denied == permission);
        let asked = denied || is_under_way(frame.outputs.indications.state);
        Self {
            permission,
            denied,
            rows,
            sentence: sentence(permission, permission.reasons(proven), asked, frame, config),
            also: denied_now().filter(|also| *also != permission).collect(),
        }
    }

    /// Nothing forbids it.
    #[must_use]
    pub fn permitted(&self) -> bool {
        self.rows.iter().all(|row| row.holds)
    }
}

fn row(clause: &Clause, frame: &Frame, config: &Config) -> Row {
    let words: Vec<&str> = foremost(clause).map(condition).collect();
    Row {
        words: words.join(" or "),
        holds: holds(clause, frame),
        witnesses: shown(clause, frame)
            .map_or_else(Vec::new, |shown| witnesses(shown, frame, config)),
    }
}

/// Whether a clause holds in this tick.
pub(crate) fn holds(clause: &Clause, frame: &Frame) -> bool {
    frame.powered && !clause.any_of.is_disjoint(frame.outputs.proven)
}

/// The condition of a clause whose readings are shown: of one that holds the condition
/// that makes it hold, of one that does not the first.
pub(crate) fn shown(clause: &Clause, frame: &Frame) -> Option<Condition> {
    let proven = frame.outputs.proven & clause.any_of;
    proven.iter().next().or_else(|| foremost(clause).next())
}

/// The conditions of a clause, those about the thing itself before the one that only makes
/// it needless: above the clearance position the blade may stand as it likes.
fn foremost(clause: &Clause) -> impl Iterator<Item = Condition> {
    let away = clause.any_of & Condition::MastClear;
    (clause.any_of - away).iter().chain(away)
}

/// A move of mast or doors that is denied comes first, since it answers "why does it not
/// move?"; a halt is asked about its next move; then what else is denied; then what comes
/// next.
fn subject(frame: &Frame) -> Permission {
    let denials = &frame.outputs.denials;
    let moves = denials.iter().find(|denial| match denial.permission {
        Permission::Propel
        | Permission::Extend
        | Permission::Retract
        | Permission::OpenDoors
        | Permission::CloseDoors => true,
        Permission::TurnBlade
        | Permission::HoldBlade
        | Permission::BrakeBlade
        | Permission::Precharge
        | Permission::CloseMain
        | Permission::AuxCharge => false,
    });
    let next = next(frame);
    match (moves, denials.first()) {
        (Some(denial), _) => denial.permission,
        (None, Some(denial)) if !is_halted(frame) || next.permitted(frame.outputs.proven) => {
            denial.permission
        }
        (None, Some(_) | None) => next,
    }
}

const fn is_halted(frame: &Frame) -> bool {
    matches!(frame.outputs.indications.state, State::Halted(_))
}

/// Something is being done, or was and came to a halt: its next step is asked for. In the
/// other states nobody asks until the pilot does.
const fn is_under_way(state: State) -> bool {
    match state {
        State::Waking
        | State::Stowed
        | State::Resting
        | State::Deployed
        | State::Jog
        | State::Bench => false,
        State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::Armed
        | State::Thrust
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::StowPower
        | State::Halted(_) => true,
    }
}

/// The permission the present state needs next.
fn next(frame: &Frame) -> Permission {
    let drives = &frame.outputs.drives;
    match frame.outputs.indications.state {
        State::Stowed | State::DeployPower | State::StowPower => power(drives),
        State::DeployPark | State::DeployMast => Permission::Extend,
        State::DeployDoors => Permission::OpenDoors,
        State::Deployed | State::Armed | State::Thrust => Permission::Propel,
        State::StowBrake => Permission::BrakeBlade,
        State::StowPark => match drives.motor {
            Motor::Creep(_) => Permission::TurnBlade,
            Motor::Free | Motor::Thrust(_) | Motor::Short | Motor::Brake(_) | Motor::Hold(_) => {
                Permission::HoldBlade
            }
        },
        State::StowProve | State::StowMast => Permission::Retract,
        State::StowDoors => Permission::CloseDoors,
        State::Waking | State::Resting | State::Jog | State::Halted(_) | State::Bench => {
            at_rest(frame)
        }
    }
}

/// From where the mast stands: out of its bay it is to be stowed, in it to be deployed.
fn at_rest(frame: &Frame) -> Permission {
    let proves = |condition| frame.outputs.proven.contains(condition);
    let bench = !proves(Condition::NotBench);
    if !proves(Condition::MastStowed) {
        Permission::Retract
    } else if bench && proves(Condition::DoorsOpen) {
        Permission::Extend
    } else if bench {
        Permission::OpenDoors
    } else {
        power(&frame.outputs.drives)
    }
}

const fn power(drives: &Drives) -> Permission {
    if drives.bus.precharge {
        Permission::CloseMain
    } else {
        Permission::Precharge
    }
}

fn sentence(
    permission: Permission,
    reasons: EnumSet<Reason>,
    asked: bool,
    frame: &Frame,
    config: &Config,
) -> String {
    if !frame.powered {
        return "the controller has no supply: nothing is permitted".to_owned();
    }
    let clauses = permission.clauses();
    let denying = clauses
        .iter()
        .filter(|clause| reasons.contains(clause.reason));
    let state = frame.outputs.indications.state;
    // What passes by itself within a moment is named only when it stands alone.
    let first = denying
        .clone()
        .find(|clause| !follows(clause.reason, state))
        .or(denying.clone().next());
    let Some(clause) = first else {
        return permitted(permission, frame);
    };
    let shown = foremost(clause).next();
    let behind = shown.map_or_else(String::new, |shown| {
        evidence(&witnesses(shown, frame, config), shown, config)
    });
    let colon = if behind.is_empty() { "" } else { ": " };
    let unasked = if asked { "" } else { "if asked: " };
    format!(
        "{unasked}{}: {}{colon}{behind}",
        refusal(permission),
        reason(clause.reason, state)
    )
}

/// It passes by itself within a moment; or, while thrust is awaited, it ends with
/// whatever else denies: arming waits for that.
const fn follows(reason: Reason, state: State) -> bool {
    matches!(reason, Reason::DeadTime | Reason::Late)
        || matches!((reason, state), (Reason::NotArmed, State::Deployed))
}

/// A reason in words. Not being armed has many: only while thrust is awaited is it the
/// throttle.
fn reason(reason: Reason, state: State) -> String {
    if reason != Reason::NotArmed {
        return reason.words().to_owned();
    }
    if state.is_stowing() {
        "not armed: told to stow".to_owned()
    } else if state.is_deploying() {
        "not armed: still deploying".to_owned()
    } else if state == State::Deployed {
        "not armed: throttle not seen at zero since thrust is awaited".to_owned()
    } else {
        "not armed".to_owned()
    }
}

/// The readings that stand against a condition: those not heard before those that deny
/// it; all of them where it takes several to contradict each other.
fn evidence(witnesses: &[Witness], condition: Condition, config: &Config) -> String {
    let of = |speaks| {
        witnesses
            .iter()
            .filter(move |witness| witness.speaks == speaks)
    };
    let list = |chosen: Vec<&Witness>| {
        let words: Vec<String> = chosen.into_iter().map(Witness::words).collect();
        words.join(", ")
    };
    let against: Vec<&Witness> = of(Speaks::Unheard).chain(of(Speaks::Against)).collect();
    if !against.is_empty() {
        return list(against);
    }
    match condition {
        Condition::Parked => format!(
            "all agree, {} ms of proof not over",
            config.park_proof.get()
        ),
        Condition::ExtendRested
        | Condition::RetractRested
        | Condition::OpenRested
        | Condition::CloseRested => format!("{} ms not over", config.dead_time.get()),
        Condition::Armed => "throttle at zero now, not armed yet".to_owned(),
        Condition::AirspeedInRange => {
            let back = config.mast_airspeed_max.minus(config.mast_airspeed_band);
            let back = f64::from(back.get()) / 10.0;
            format!(
                "{}, must fall below {back:.1} m/s",
                list(of(Speaks::For).collect())
            )
        }
        Condition::MastConsistent
        | Condition::MastHealthy
        | Condition::MastStowed
        | Condition::MastClear
        | Condition::MastDeployed
        | Condition::MastLocked
        | Condition::DoorsOpen
        | Condition::DoorsShut
        | Condition::DoorsHealthy
        | Condition::BladeKnown
        | Condition::BladeAgrees
        | Condition::BladeNearPark
        | Condition::BladeInPlace
        | Condition::ShaftSlow
        | Condition::Restrained
        | Condition::TorqueOff
        | Condition::MotorObeys
        | Condition::BusDead
        | Condition::BusLive
        | Condition::Precharged
        | Condition::InrushFaded
        | Condition::MainOpen
        | Condition::MainClosed
        | Condition::BusHealthy
        | Condition::InsulationOk
        | Condition::Pack1Usable
        | Condition::Pack2Usable
        | Condition::CoolEnough
        | Condition::ThrottleProven
        | Condition::ThrottleZero
        | Condition::StopReleased
        | Condition::AuxWanted
        | Condition::NotBench
        | Condition::OnTime => list(of(Speaks::For).collect()),
    }
}

/// A denial of each permission, to be followed by its reason.
const fn refusal(permission: Permission) -> &'static str {
    match permission {
        Permission::Propel => "no thrust",
        Permission::Extend => "will not raise the mast",
        Permission::Retract => "will not stow",
        Permission::OpenDoors => "will not open the doors",
        Permission::CloseDoors => "will not close the doors",
        Permission::TurnBlade => "will not turn the blade",
        Permission::HoldBlade => "will not hold the blade",
        Permission::BrakeBlade => "will not brake the propeller",
        Permission::Precharge => "will not make the bus live",
        Permission::CloseMain => "will not close the main contactor",
        Permission::AuxCharge => "will not charge the auxiliary battery",
    }
}

fn permitted(permission: Permission, frame: &Frame) -> String {
    let words = crate::report::words::permission(permission);
    if let State::Halted(halt) = frame.outputs.indications.state {
        format!("safe halt: {}; may {words}", halt.words())
    } else {
        format!("may {words}: every condition holds")
    }
}

#[cfg(test)]
mod tests;
