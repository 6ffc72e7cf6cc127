//! What must come of a scenario, beyond the safety requirements.

mod watch;

pub use watch::{Finding, Watch};

use enumset::EnumSet;
use mastwright_core::{Fault, Faults, Halt, State};
use serde::Deserialize;
use toml::Spanned;

use super::moment::{fault_named, halt_named, state_named};
use super::problem::{Complaint, did_you_mean};
use super::setup::within;
use crate::oracle::REQUIREMENTS;

/// What must come of a scenario.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Expect {
    /// The state at the end is one of these; empty: any.
    pub ends_in: Vec<State>,
    /// The state at the end is a safe halt for this reason.
    pub halt: Option<Halt>,
    /// These states are entered in this order; others may lie between.
    pub visits: Vec<State>,
    /// None of these states is ever entered.
    pub never_visits: Vec<State>,
    /// All of these faults latch.
    pub raises: Faults,
    /// No fault latches but those in `raises` and `may_raise`.
    pub only: bool,
    /// These faults may latch when `only` is set.
    pub may_raise: Faults,
    /// None of these faults latches.
    pub never_raises: Faults,
    /// This height is reached, m.
    pub height_reached: Option<f64>,
    /// This height is never exceeded, m.
    pub stays_below: Option<f64>,
    /// From the last demand to stow until stowed, s at most.
    pub stowed_within: Option<f64>,
    /// Requirements that must have been put to the test.
    pub exercises: Vec<String>,
}

/// `[expect]` as written.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(super) struct RawExpect {
    ends_in: Vec<Spanned<String>>,
    halt: Option<Spanned<String>>,
    visits: Vec<Spanned<String>>,
    never_visits: Vec<Spanned<String>>,
    raises: Vec<Spanned<String>>,
    may_raise: Option<Vec<Spanned<String>>>,
    never_raises: Vec<Spanned<String>>,
    height_reached: Option<Spanned<f64>>,
    stays_below: Option<Spanned<f64>>,
    stowed_within: Option<Spanned<f64>>,
    exercises: Vec<Spanned<String>>,
}

impl RawExpect {
    pub(super) fn check(&self) -> Result<Expect, Complaint> {
        let expect = Expect {
            ends_in: each(&self.ends_in, state)?,
            halt: self.halt.as_ref().map(halt).transpose()?,
            visits: each(&self.visits, state)?,
            never_visits: each(&self.never_visits, state)?,
            raises: faults(&self.raises)?,
            only: self.may_raise.is_some(),
            may_raise: faults(self.may_raise.as_deref().unwrap_or_default())?,
            never_raises: faults(&self.never_raises)?,
            height_reached: within("height_reached", &self.height_reached, 0.0..9000.0, "m")?,
            stays_below: within("stays_below", &self.stays_below, 0.0..9000.0, "m")?,
            stowed_within: within(
                "stowed_within",
                &self.stowed_within,
                0.0..super::LONGEST,
                "s",
            )?,
            exercises: requirements(&self.exercises)?,
        };
        self.contradiction(&expect).map_or(Ok(expect), Err)
    }

    /// Something expected that can never be.
    fn contradiction(&self, expect: &Expect) -> Option<Complaint> {
        if let Some(never) = self.never_raises.iter().find(|name| {
            fault_named(name.get_ref())
                .is_some_and(|fault| (expect.raises | expect.may_raise).contains(fault))
        }) {
            return Some(Complaint::new(
                never.span(),
                format!(
                    "`{}` cannot be both expected and forbidden",
                    never.get_ref()
                ),
                "expected elsewhere",
                "take it out of one of the two lists",
            ));
        }
        if let Some(never) = self.never_visits.iter().find(|name| {
            state_named(name.get_ref()).is_some_and(|state| expect.visits.contains(&state))
        }) {
            return Some(Complaint::new(
                never.span(),
                format!(
                    "`{}` cannot be both visited and never visited",
                    never.get_ref()
                ),
                "expected elsewhere",
                "take it out of one of the two lists",
            ));
        }
        let halted = expect.ends_in.iter().any(|state| state.name() == "Halted");
        match &self.halt {
            Some(halt) if !expect.ends_in.is_empty() && !halted => Some(Complaint::new(
                halt.span(),
                "a halt at the end is expected, and `ends_in` does not allow it",
                "not among `ends_in`",
                "leave `ends_in` out: `halt` says it all",
            )),
            Some(_) | None => None,
        }
    }
}

fn each<T>(
    names: &[Spanned<String>],
    find: impl Fn(&Spanned<String>) -> Result<T, Complaint>,
) -> Result<Vec<T>, Complaint> {
    names.iter().map(find).collect()
}

fn state(name: &Spanned<String>) -> Result<State, Complaint> {
    state_named(name.get_ref())
        .ok_or_else(|| unknown(name, "state of the controller", State::ALL.map(State::name)))
}

fn halt(name: &Spanned<String>) -> Result<Halt, Complaint> {
    halt_named(name.get_ref()).ok_or_else(|| {
        let known = Halt::ALL.map(|halt| format!("{halt:?}"));
        unknown(name, "halt reason", known.iter().map(String::as_str))
    })
}

fn faults(names: &[Spanned<String>]) -> Result<Faults, Complaint> {
    let mut faults = Faults::empty();
    for name in names {
        faults |= fault_named(name.get_ref()).ok_or_else(|| {
            let known: Vec<String> = EnumSet::<Fault>::all()
                .iter()
                .map(|fault| format!("{fault:?}"))
                .collect();
            unknown(
                name,
                "fault of the controller",
                known.iter().map(String::as_str),
            )
        })?;
    }
    Ok(faults)
}

/// Requirements judged in a run, by their ids.
pub(crate) fn requirements(names: &[Spanned<String>]) -> Result<Vec<String>, Complaint> {
    each(names, requirement)
}

fn requirement(name: &Spanned<String>) -> Result<String, Complaint> {
    let judged = || {
        REQUIREMENTS
            .iter()
            .filter(|known| known.judged.at_run_time())
    };
    if judged().any(|known| known.id == name.get_ref()) {
        return Ok(name.get_ref().clone());
    }
    Err(unknown(
        name,
        "requirement judged in a run",
        judged().map(|known| known.id),
    ))
}

fn unknown<'a>(
    name: &Spanned<String>,
    what: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Complaint {
    Complaint::new(
        name.span(),
        format!("`{}` is no {what}", name.get_ref()),
        "unknown name",
        did_you_mean(name.get_ref(), known),
    )
}
