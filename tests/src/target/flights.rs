//! Flights in lock step, in groups, on as many boards at once as there are.
//!
//! What a group tells does not depend on which board flew what: a board counts anew for
//! each flight, and flights are taken together in their order.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};

use mastwright_core::Sequencer;
use mastwright_sim::campaign::mission::MISSIONS;
use mastwright_sim::campaign::plan::{Order, Plan, missions};
use mastwright_sim::link::{Failure, Summary, lock_step, random_ticks, trial::random_cuts};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::{LESSONS, SHIPPED, Shipped};

use super::counts::Counts;
use super::emulator::Emulator;
use super::tools::Problem;
use crate::flown;
use crate::mission::Ending;
use crate::pilot;

/// Random ticks, by each of the [`SEEDS`].
pub const RANDOM: u64 = 50_000;
/// Seeds of random ticks.
pub const SEEDS: [u64; 2] = [1, 2];
/// Of as many random ticks there is one before which power is cut.
const A_CUT_IN: u64 = 400;
/// Random missions with faults.
pub const FAULTY: u64 = 8;
/// Cells of the fault matrix.
pub const CELLS: usize = 100;

/// Flights in lock step, and what the steps in them took.
#[derive(Clone, Debug)]
pub struct Group {
    /// What was flown.
    pub name: &'static str,
    /// How many flights.
    pub flights: usize,
    /// Power cuts and returns in them.
    pub resets: u32,
    /// All their steps.
    pub counts: Counts,
    /// Where the longest step was.
    pub longest_in: String,
}

impl Group {
    /// Flies one after the other of `flights`, each with its name, on whichever board is
    /// free. `fly` flies one.
    fn fly<T: Sync>(
        name: &'static str,
        boards: &mut [Emulator],
        flights: &[(String, T)],
        fly: impl Fn(&T, &mut Emulator) -> Result<Summary, Failure> + Sync,
    ) -> Result<Self, Problem> {
        let next = AtomicUsize::new(0);
        let take_turns = |board: &mut Emulator| {
            let mut flown = Vec::new();
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                let Some((title, flight)) = flights.get(number) else {
                    return Ok(flown);
                };
                let summary = fly(flight, board).map_err(|failure| {
                    // Nobody needs to fly on.
                    next.store(flights.len(), Ordering::Relaxed);
                    format!("{title}: {failure}\n{failure:#?}")
                })?;
                let counts = board.counts()?;
                println!(
                    "{title}: {} ticks alike, {} of them sampled alike",
                    summary.ticks, counts.sampled
                );
                flown.push((number, title, summary.resets, counts));
            }
        };
        let done: Vec<Result<Vec<_>, Problem>> = std::thread::scope(|scope| {
            let take_turns = &take_turns;
            let threads: Vec<_> = boards
                .iter_mut()
                .map(|board| scope.spawn(move || take_turns(board)))
                .collect();
            threads
                .into_iter()
                .map(|thread| thread.join().unwrap_or_else(|panic| resume_unwind(panic)))
                .collect()
        });
        let done = done.into_iter().collect::<Result<Vec<_>, _>>()?;
        let mut flown: Vec<_> = done.into_iter().flatten().collect();
        flown.sort_by_key(|(number, ..)| *number);
        let mut group = Self {
            name,
            flights: 0,
            resets: 0,
            counts: Counts::default(),
            longest_in: String::new(),
        };
        for (_, title, resets, counts) in flown {
            group.take_in(title, resets, &counts);
        }
        Ok(group)
    }

    fn take_in(&mut self, flight: &str, resets: u32, counts: &Counts) {
        if counts.worst() > self.counts.worst() {
            flight.clone_into(&mut self.longest_in);
        }
        self.flights += 1;
        self.resets += resets;
        self.counts.add(counts);
    }
}

fn fly(
    name: &'static str,
    boards: &mut [Emulator],
    scenarios: &[(String, Scenario)],
) -> Result<Group, Problem> {
    Group::fly(name, boards, scenarios, |scenario, board| {
        lock_step(scenario, scenario.seed, board)
    })
}

/// Every shipped scenario, each to its end.
///
/// # Errors
/// One cannot be read, or host and target differ.
pub fn scenarios(boards: &mut [Emulator]) -> Result<Group, Problem> {
    fly("shipped scenarios", boards, &parsed(SHIPPED)?)
}

/// Every shipped lesson, each to its end, its pilot the one of its demonstration.
///
/// # Errors
/// As [`scenarios`].
pub fn lessons(boards: &mut [Emulator]) -> Result<Group, Problem> {
    fly("shipped lessons", boards, &parsed(LESSONS)?)
}

fn parsed(shipped: &[Shipped]) -> Result<Vec<(String, Scenario)>, Problem> {
    shipped
        .iter()
        .map(|shipped| named(&shipped.file(), shipped.text))
        .collect()
}

/// A scenario under the name of its file.
fn named(name: &str, text: &str) -> Result<(String, Scenario), Problem> {
    let scenario = Scenario::parse(name, text).map_err(|problem| format!("{problem:?}"))?;
    Ok((name.to_owned(), scenario))
}

/// The missions of the fault matrix, which pass all of its moments, without faults.
///
/// # Errors
/// As [`scenarios`].
pub fn faultless(boards: &mut [Emulator]) -> Result<Group, Problem> {
    let scenarios = MISSIONS
        .iter()
        .map(|mission| named(mission.name, mission.text))
        .collect::<Result<Vec<_>, _>>()?;
    fly(
        "missions of the fault matrix, faultless",
        boards,
        &scenarios,
    )
}

/// Cells of the fault matrix, spread evenly over all single faults at all moments; each
/// for as long as its mission.
///
/// # Errors
/// As [`scenarios`].
pub fn cells(boards: &mut [Emulator], count: usize) -> Result<Group, Problem> {
    let order = Order {
        margins: false,
        ..Order::default()
    };
    let seed = order.seed;
    let missions = missions().map_err(|problem| format!("{problem:?}"))?;
    let plan: Plan<Sequencer> = Plan::new(order, missions);
    let scenarios = (0..count)
        .map(|number| plan.cell(number * plan.len() / count))
        .map(|cell| {
            let length = plan.bases()[cell.mission].length();
            let text = cell.scenario(MISSIONS[cell.mission].text, seed, length);
            named(&cell.to_string(), &text)
        })
        .collect::<Result<Vec<_>, _>>()?;
    fly("cells of the fault matrix", boards, &scenarios)
}

/// Random missions, each with one or two faults of the catalogue at a random moment.
///
/// # Errors
/// As [`scenarios`].
pub fn faulty(boards: &mut [Emulator], count: u64) -> Result<Group, Problem> {
    let plan = pilot::Plan {
        upsets: (1, 2),
        ending: Ending::Left,
    };
    let scenarios: Vec<_> = (0..count)
        .map(|seed| (seed, flown::scenario(&pilot::mission(seed, plan))))
        .map(|(seed, scenario)| (format!("seed {seed}"), scenario))
        .collect();
    fly("random missions with faults", boards, &scenarios)
}

/// Random readings, sound and unsound, of every age, and power cuts among them: `ticks`
/// by each of the [`SEEDS`].
///
/// # Errors
/// As [`scenarios`].
pub fn random(boards: &mut [Emulator], ticks: u64) -> Result<Group, Problem> {
    let count = usize::try_from(ticks / A_CUT_IN).map_err(|error| error.to_string())?;
    let seeds = SEEDS.map(|seed| (format!("seed {seed}"), seed));
    Group::fly("random readings", boards, &seeds, |seed, board| {
        random_ticks(*seed, ticks, &random_cuts(*seed, ticks, count), board)
    })
}
