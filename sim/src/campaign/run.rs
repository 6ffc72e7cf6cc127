//! Flying one cell.
//!
//! A cell is flown from its moment to the end of its mission, and on until the aircraft
//! has been at rest for [`REST`], or until [`PATIENCE`] is over. Stopping there loses
//! nothing the cell is judged by: at rest no drive is commanded, mast and doors stand
//! still, no stop-and-stow is awaited, and the pilot does nothing more.

use enumset::EnumSet;
use mastwright_core::outputs::{DoorDrive, MastDrive};
use mastwright_core::{Fault, State};

use super::base::{Base, Checkpoint, Done};
use super::cell::Cell;
use super::margin::{self, Tolerance};
use super::record::{End, Family, Outcome, Record, Ticks};
use crate::frame::Frame;
use crate::oracle;
use crate::world::Controller;

/// The aircraft has come to rest when it has been so for this many ticks: 2 s, longer
/// than the second after which a wandering blade or a late alert would show.
pub const REST: u64 = 200;
/// Ticks after the end of its mission at which a cell is given up: the 60 s in which a
/// stop-and-stow must end, and 5 s.
pub const PATIENCE: u64 = 6500;

/// Mast or doors faster than this move, 1/s.
const MOVING: f64 = 0.005;
/// At or below this travel and opening, mast and doors are put away, 0 to 1.
const PUT_AWAY: f64 = 0.04;

/// What has been seen of a cell so far.
#[derive(Clone, Debug, Default)]
struct Seen {
    told: Option<(String, u64)>,
    reacted: Option<u64>,
    differed: bool,
    emergency: Option<u64>,
    rest: Watch,
}

/// Watches whether the aircraft has come to rest.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watch {
    still: u64,
}

impl Watch {
    /// Sees one tick; `emergency`: a stop-and-stow is awaited.
    pub fn see(&mut self, frame: &Frame, emergency: bool) {
        self.still = if at_rest(frame) && !emergency {
            self.still + 1
        } else {
            0
        };
    }

    /// True once the aircraft has been at rest for [`REST`].
    #[must_use]
    pub const fn rests(&self) -> bool {
        self.still >= REST
    }

    /// How a flight has ended whose last frame is `frame`.
    #[must_use]
    pub fn end(&self, frame: &Frame) -> End {
        if self.rests() {
            end_at_rest(frame)
        } else {
            End::Moving
        }
    }
}

/// A cell, flown.
#[derive(Clone, Debug)]
pub struct Flown {
    /// Its line of the table.
    pub record: Record,
    /// Ticks from the start of its mission to its end.
    pub length: u64,
}

/// Flies one cell; `tolerance` is how long its moment's world stays unharmed with the
/// controller not asked and no fault, where that is known.
#[must_use]
pub fn fly<C: Controller>(base: &Base<C>, cell: &Cell, tolerance: Option<Tolerance>) -> Flown {
    let onset = cell.onset();
    let start = base.at(onset);
    let tolerance = tolerance.map_or(Tolerance::default(), |shared| match cell.faults[..] {
        [single] if margin::matters_unasked(single.fault.target()) => {
            margin::tolerance(base, &start, Some(single.fault))
        }
        [..] => shared,
    });
    let (flown, seen) = fly_from(base, cell, start);
    Flown {
        record: record(base, cell, &flown, seen, tolerance),
        length: flown.tick,
    }
}

fn fly_from<C: Controller>(
    base: &Base<C>,
    cell: &Cell,
    start: Checkpoint<C>,
) -> (Checkpoint<C>, Seen) {
    let mut flown = start;
    let mut seen = Seen::default();
    let mut due = cell.faults.iter().peekable();
    let last_onset = cell.faults.last().map_or(0, |last| last.tick);
    let end = base.length().max(last_onset + REST);
    while flown.tick < end || (!seen.rest.rests() && flown.tick < end + PATIENCE) {
        while let Some(ordered) = due.next_if(|ordered| ordered.tick <= flown.tick) {
            flown.world.inject(ordered.fault, base.seed);
        }
        flown.step();
        let emergency = flown.oracle.emergency();
        seen.see(flown.world.frame(), base.done(flown.tick - 1), emergency);
    }
    (flown, seen)
}

impl Seen {
    fn see(&mut self, frame: &Frame, faultless: &Done, emergency: bool) {
        let outputs = &frame.outputs;
        if outputs.drives != faultless.drives {
            self.differed = true;
            self.reacted.get_or_insert(frame.tick);
        }
        if outputs.indications != faultless.indications
            || frame.heat_warning != faultless.heat_warning
        {
            self.differed = true;
            if self.told.is_none() {
                self.told = told(frame, faultless).map(|what| (what, frame.tick));
            }
        }
        if emergency {
            *self.emergency.get_or_insert(0) += 1;
        }
        self.rest.see(frame, emergency);
    }
}

/// What tells of a fault in this tick that the faultless mission did not tell of.
fn told(frame: &Frame, faultless: &Done) -> Option<String> {
    let indications = &frame.outputs.indications;
    let new: EnumSet<Fault> = indications.faults - faultless.indications.faults;
    if let Some(fault) = new.iter().next() {
        return Some(format!("{fault:?}"));
    }
    if frame.heat_warning && !faultless.heat_warning {
        return Some("HeatWarning".to_owned());
    }
    let state = indications.state;
    let newly_halted = state.halt().is_some() && state != faultless.indications.state;
    newly_halted.then(|| in_words(state))
}

/// Nothing is driven or under way, and mast and doors stand still. The blade may turn
/// with the wind.
fn at_rest(frame: &Frame) -> bool {
    let drives = &frame.outputs.drives;
    let undriven = drives.mast == MastDrive::Off && drives.doors == DoorDrive::Off;
    let still = frame.truth.mast.speed.abs() < MOVING && frame.truth.door_speed.abs() < MOVING;
    undriven && still && (!frame.powered || waits(frame.outputs.indications.state))
}

/// True in a state that waits for the pilot.
const fn waits(state: State) -> bool {
    match state {
        State::Resting
        | State::Stowed
        | State::Deployed
        | State::Armed
        | State::Halted(_)
        | State::Bench => true,
        State::Waking
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::Thrust
        | State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::Jog => false,
    }
}

fn end_at_rest(frame: &Frame) -> End {
    if frame.truth.mast.position <= PUT_AWAY && frame.truth.doors <= PUT_AWAY {
        return End::Stowed;
    }
    if !frame.powered {
        return End::Unpowered;
    }
    match frame.outputs.indications.state {
        State::Halted(_) => End::Halted,
        State::Deployed | State::Armed | State::Thrust => End::Deployed,
        State::Bench => End::Bench,
        State::Waking
        | State::Resting
        | State::Stowed
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::Jog => End::Resting,
    }
}

/// Ids of what was broken, the first one first, and when that was.
fn broken(judgements: &[oracle::Judgement], onset: u64) -> (String, Option<Ticks>) {
    let mut found: Vec<(u64, &str)> = judgements
        .iter()
        .filter_map(|judgement| match &judgement.outcome {
            oracle::Outcome::Broken { first, .. } => Some((first.tick, judgement.id)),
            oracle::Outcome::Held { .. }
            | oracle::Outcome::NotExercised
            | oracle::Outcome::ByTest { .. } => None,
        })
        .collect();
    found.sort_by_key(|(tick, _)| *tick);
    let ids: Vec<&str> = found.iter().map(|(_, id)| *id).collect();
    let first = found
        .first()
        .map(|(tick, _)| Ticks(tick.saturating_sub(onset)));
    (ids.join(" "), first)
}

fn record<C: Controller>(
    base: &Base<C>,
    cell: &Cell,
    flown: &Checkpoint<C>,
    seen: Seen,
    tolerance: Tolerance,
) -> Record {
    let onset = cell.onset();
    let since = |tick: u64| Ticks(tick - onset);
    let frame = flown.world.frame();
    let first = &cell.faults[0].fault;
    let verdict = flown.oracle.finish();
    let (hazards, harm_after) = broken(&verdict.hazards, onset);
    let (requirements, broken_after) = broken(&verdict.requirements, onset);
    let outcome = match (harm_after, broken_after, &seen.told) {
        (Some(_), _, _) => Outcome::Harm,
        (None, Some(_), _) => Outcome::Broken,
        (None, None, Some(_)) => Outcome::Detected,
        (None, None, None) if seen.differed => Outcome::Undetected,
        (None, None, None) => Outcome::NoEffect,
    };
    let (phase, instant) = base.place(onset);
    Record {
        cell: cell.to_string(),
        mission: base.scenario.name.clone(),
        phase: phase.name().to_owned(),
        instant: instant.to_owned(),
        onset: Ticks(onset),
        family: Family::of(first.target()),
        target: first.target().to_string(),
        kind: first.kind().to_string(),
        outcome,
        hazards,
        harm_after,
        requirements,
        broken_after,
        end: seen.rest.end(frame),
        final_state: final_state(frame),
        emergency: seen.emergency.map(Ticks),
        reacted_after: seen.reacted.map(since),
        detected_after: seen.told.as_ref().map(|(_, tick)| since(*tick)),
        detected_by: seen.told.map(|(what, _)| what).unwrap_or_default(),
        frozen_harm_after: tolerance.frozen,
        blind_harm_after: tolerance.blind,
    }
}

/// The state of the controller in words, a halt with its reason.
pub(super) fn final_state(frame: &Frame) -> String {
    if !frame.powered {
        return "no supply".to_owned();
    }
    in_words(frame.outputs.indications.state)
}

fn in_words(state: State) -> String {
    match state.halt() {
        Some(reason) => format!("{}:{reason:?}", state.name()),
        None => state.name().to_owned(),
    }
}
