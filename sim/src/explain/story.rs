//! The flight up to the tick in question: since when things held, which faults acted, and
//! the controller as it was some ticks before.

use std::collections::{BTreeMap, VecDeque};

use mastwright_core::outputs::Event;
use mastwright_core::{Config, Halt, Sequencer, State};

use super::question::Found;
use super::search::{LONGEST, WINDOWS};
use super::{CannotExplain, Clause, Fault, Reading, Transition, seconds};
use crate::report::timeline::{Entry, Timeline};
use crate::report::why::{self, Why};
use crate::report::witness::{Speaks, witnesses};
use crate::scenario::Scenario;
use crate::trace::{Mark, Player, Tick, Trace};
use crate::world::Unit;

/// Entries of the timeline that are told.
const BEFORE: usize = 8;

/// The flight up to the tick in question.
pub(super) struct Story {
    /// The ticks up to the one in question, as many as the longest window has.
    pub(super) ticks: VecDeque<Tick>,
    /// Of each window the controller as it was before the first of its ticks.
    pub(super) units: BTreeMap<usize, Unit<Sequencer>>,
    /// The controller of this build answered the tick in question as it was recorded.
    pub(super) as_recorded: bool,
    /// Ticks before it are lost: what the controller was told in them is not known.
    pub(super) gap: bool,
    /// Faults that began.
    pub(super) faults: Vec<Fault>,
    /// The latest entries of the timeline.
    pub(super) before: Vec<Entry>,
    /// What held in the tick before is known.
    known: bool,
    /// Since which tick each clause holds or does not.
    clauses: Vec<(bool, u64)>,
    /// Since which tick each reading of each clause bears on it as it does.
    readings: Vec<Vec<(&'static str, Speaks, u64)>>,
}

impl Story {
    /// Goes through `trace` up to what was `found`.
    pub(super) fn told(
        trace: &Trace,
        found: &Found,
        config: &Config,
        scenario: &Scenario,
    ) -> Result<Self, CannotExplain> {
        let count = found.permission.clauses().len();
        let mut story = Self {
            ticks: VecDeque::with_capacity(LONGEST + 1),
            units: BTreeMap::new(),
            as_recorded: false,
            gap: false,
            faults: Vec::new(),
            before: Vec::new(),
            known: true,
            clauses: vec![(false, 0); count],
            readings: vec![Vec::new(); count],
        };
        // Only of what does not hold in the end is it told since when.
        let last = trace.at(found.tick)?;
        let failing: Vec<bool> = found
            .permission
            .clauses()
            .iter()
            .map(|clause| !why::holds(clause, &last.frame))
            .collect();
        let mut player = Player::new(Unit::new(config));
        let mut timeline = Timeline::default();
        for tick in trace.ticks() {
            let Ok(tick) = tick else {
                story.lose();
                continue;
            };
            let number = tick.frame.tick;
            let left = usize::try_from(found.tick - number).unwrap_or(usize::MAX);
            if WINDOWS.contains(&(left + 1)) {
                story.units.insert(left + 1, player.unit().clone());
            }
            let (outputs, _) = player.play(&tick);
            story.as_recorded = outputs == tick.frame.outputs;
            story.see_clauses(&tick, found, &failing, config);
            story.known = true;
            story.see_faults(trace, &tick, scenario);
            timeline.see(&tick.frame, tick.begun, scenario, &mut story.before);
            story.forget();
            if left < LONGEST {
                story.ticks.push_back(tick);
            }
            if number == found.tick {
                return Ok(story);
            }
        }
        Ok(story)
    }

    /// The tick in question.
    pub(super) fn tick(&self) -> &Tick {
        self.ticks.back().expect("the tick that was found")
    }

    /// What held up to here is not known to have held on.
    fn lose(&mut self) {
        self.gap = true;
        self.known = false;
        self.ticks.clear();
        self.units.clear();
        self.readings.iter_mut().for_each(Vec::clear);
    }

    /// The entries of the timeline that are not told any more.
    fn forget(&mut self) {
        let more = self.before.len().saturating_sub(BEFORE);
        self.before.drain(..more);
    }

    fn see_clauses(&mut self, tick: &Tick, found: &Found, failing: &[bool], config: &Config) {
        let number = tick.frame.tick;
        let rows = self.clauses.iter_mut().zip(&mut self.readings);
        for ((clause, failing), ((held, since), known)) in
            found.permission.clauses().iter().zip(failing).zip(rows)
        {
            let holds = why::holds(clause, &tick.frame);
            if holds != *held || !self.known {
                (*held, *since) = (holds, number);
            }
            let shown = failing.then(|| why::shown(clause, &tick.frame)).flatten();
            let Some(shown) = shown else { continue };
            let heard = witnesses(shown, &tick.frame, config);
            *known = heard
                .iter()
                .map(|witness| {
                    let before = known.iter().find(|(name, ..)| *name == witness.name);
                    match before {
                        Some((name, speaks, since)) if *speaks == witness.speaks => {
                            (*name, *speaks, *since)
                        }
                        Some(_) | None => (witness.name, witness.speaks, number),
                    }
                })
                .collect();
        }
    }

    fn see_faults(&mut self, trace: &Trace, tick: &Tick, scenario: &Scenario) {
        for mark in &tick.marks {
            match *mark {
                Mark::FaultBegan(number) => self.faults.push(Fault {
                    number: number + 1,
                    words: name(trace, scenario, number),
                    began: seconds(tick.frame.tick),
                    ended: None,
                }),
                Mark::FaultEnded(number) => {
                    let acting = self.faults.iter_mut().rev();
                    let ended = acting
                        .filter(|fault| fault.ended.is_none())
                        .find(|fault| fault.number == number + 1);
                    if let Some(fault) = ended {
                        fault.ended = Some(seconds(tick.frame.tick));
                    }
                }
                Mark::ActionBegan(_) | Mark::BitFlipped(_) => {}
            }
        }
    }

    /// The transition of the tick in question.
    pub(super) fn transition(&self) -> Option<Transition> {
        let events = &self.tick().frame.outputs.events;
        events.iter().rev().find_map(|event| match *event {
            Event::Went { from, to } => Some(Transition {
                from: format!("{from:?}"),
                to: format!("{to:?}"),
                when: ways(from, to),
            }),
            Event::Intended(_)
            | Event::Ignored(_)
            | Event::Latched(_)
            | Event::Cleared(_)
            | Event::Bus(_)
            | Event::Acknowledged
            | Event::RestraintConfirmed
            | Event::RestraintEnded => None,
        })
    }

    /// The clauses of `why`, each since when.
    pub(super) fn clauses(&self, why: &Why) -> Vec<Clause> {
        let rows = why.rows.iter().zip(&self.clauses).zip(&self.readings);
        rows.map(|((row, (_, since)), known)| Clause {
            words: row.words.clone(),
            holds: row.holds,
            since: seconds(*since),
            readings: row
                .witnesses
                .iter()
                .map(|witness| Reading {
                    words: witness.words(),
                    speaks: witness.speaks,
                    since: known
                        .iter()
                        .find(|(name, ..)| *name == witness.name)
                        .map(|(.., since)| seconds(*since)),
                })
                .collect(),
        })
        .collect()
    }
}

/// What takes the controller from the one to the other. A halt's reason tells one way
/// into it from another.
fn ways(from: State, to: State) -> Vec<&'static str> {
    let out = from.ways_out().iter();
    let ways = out.filter(|way| way.to.name() == to.name());
    let mut ways: Vec<&'static str> = ways.map(|way| way.when).collect();
    if let (Some(halt), true) = (to.halt(), ways.len() > 1) {
        let its_own = ways.iter().any(|way| only_for(way) == Some(halt));
        ways.retain(|way| match only_for(way) {
            Some(only) => only == halt,
            None => !its_own,
        });
    }
    ways
}

/// The one reason of a halt that this way of the table leads to, where it shares its
/// state with others.
fn only_for(way: &str) -> Option<Halt> {
    if way == "bus lost" {
        Some(Halt::NoBus)
    } else if way == "lock lost" {
        Some(Halt::LockLost)
    } else if way.contains("bench key") {
        Some(Halt::BenchKey)
    } else if way.starts_with("stop ") {
        Some(Halt::StopThrown)
    } else {
        None
    }
}

/// A fault in words: as the scenario ordered it, or as it was given by hand.
fn name(trace: &Trace, scenario: &Scenario, number: u32) -> String {
    if let Some(order) = scenario.faults.get(number as usize) {
        return order.words();
    }
    trace.fault(number).map_or_else(
        || "not noted in the trace".to_owned(),
        |fault| format!("{fault}. {}", fault.entry().sentence()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_several_ways_into_a_halt_the_one_that_held_is_told() {
        let halted = |from, halt| ways(from, State::Halted(halt));
        assert_eq!(halted(State::StowPark, Halt::NotParked), ["overdue"]);
        assert_eq!(halted(State::StowPark, Halt::NoBus), ["bus lost"]);
        assert_eq!(halted(State::StowPower, Halt::NoBus), ["overdue"]);
        assert_eq!(halted(State::Thrust, Halt::LockLost), ["lock lost"]);
        assert_eq!(
            halted(State::DeployPark, Halt::StopThrown),
            ["stop switch thrown, by one contact too, or not heard"]
        );
        assert_eq!(ways(State::Armed, State::Thrust), ["throttle open"]);
    }

    #[test]
    fn no_halt_is_left_with_more_than_one_way() {
        for from in State::ALL {
            for halt in Halt::ALL {
                let ways = ways(from, State::Halted(halt));
                assert!(ways.len() <= 1, "{from:?} {halt:?}: {ways:?}");
            }
        }
    }
}
