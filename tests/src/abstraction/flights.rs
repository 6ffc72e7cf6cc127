//! Real flights, and the controller's memory before and after each tick of them.

use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer};
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::faults::{Entry, Kind, Target, catalogue};
use mastwright_sim::frame::Frame;
use mastwright_sim::plant::doors::MAST_BELOW;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::deed::Deed;
use mastwright_sim::scenario::shipped::all;
use mastwright_sim::sensors::contacts::{DOORS_OPEN_ABOVE, STOWED_BELOW};
use mastwright_sim::world::{Controller, World};

use super::troubles::{self, Covered};
use crate::draw::Draw;
use crate::flown;
use crate::mission::{Ending, TAIL};
use crate::pilot::{self, Plan};
use crate::upsets::{self, Healing};

/// A pack with less charge than this at the start may be empty before the end, 0 to 1.
const SCARCE: f64 = 0.3;

/// A flight and what of the abstract world it needs.
#[derive(Clone, Debug)]
pub struct Flight {
    /// Its name: `MASTWRIGHT_FLIGHT=name` flies it alone.
    pub name: String,
    /// What is flown.
    pub scenario: Scenario,
    /// What is broken in it, if the abstract world has it all.
    pub troubles: Option<Vec<Trouble>>,
}

impl Flight {
    fn new(name: String, scenario: Scenario) -> Self {
        let troubles = troubles_of(&scenario);
        Self {
            name,
            scenario,
            troubles,
        }
    }
}

/// The flights that are asked for, or all.
#[must_use]
pub fn asked(flights: Vec<Flight>) -> Vec<Flight> {
    match std::env::var("MASTWRIGHT_FLIGHT") {
        Ok(name) => flights
            .into_iter()
            .filter(|flight| flight.name == name)
            .collect(),
        Err(_) => flights,
    }
}

/// How many times as many random missions are flown as usual: `MASTWRIGHT_CASES`.
fn cases() -> u32 {
    let asked = std::env::var("MASTWRIGHT_CASES").ok();
    asked.and_then(|cases| cases.parse().ok()).unwrap_or(1)
}

/// Every shipped scenario and lesson.
///
/// # Panics
/// When one is not in order.
#[must_use]
pub fn shipped() -> Vec<Flight> {
    all()
        .map(|shipped| {
            let scenario = Scenario::parse(&shipped.file(), shipped.text);
            Flight::new(shipped.name.to_owned(), scenario.expect("in order"))
        })
        .collect()
}

/// Random missions in which nothing is broken.
#[must_use]
pub fn sound(count: u32) -> Vec<Flight> {
    let plan = Plan {
        upsets: (0, 0),
        ending: Ending::Left,
    };
    let mission = |number: u32| pilot::mission(u64::from(number) + 1, plan);
    (0..count * cases())
        .map(|number| Flight::new(format!("sound-{number}"), flown::scenario(&mission(number))))
        .collect()
}

/// Random missions in which one thing is broken: `count` for each fault of the catalogue that
/// `may` take part.
#[must_use]
pub fn with_fault(count: u32, may: impl Fn(&Entry) -> bool) -> Vec<Flight> {
    let entries: Vec<Entry> = catalogue().filter(may).collect();
    let plan = Plan {
        upsets: (0, 0),
        ending: Ending::Left,
    };
    let flight = |(number, entry): (u32, &Entry)| {
        let seed = 1_000_000 + u64::from(number);
        let mut mission = pilot::mission(seed, plan);
        let mut draw = Draw::new(seed);
        let upset = upsets::of(&mut draw, &mission, Healing::Maybe, entry);
        mission.upsets.push(upset);
        let name = format!("{}-{}-{number}", entry.target, entry.kind);
        Flight::new(name, flown::scenario(&mission))
    };
    let times = count * cases() * u32::try_from(entries.len()).unwrap_or(0);
    (0..times).zip(entries.iter().cycle()).map(flight).collect()
}

fn troubles_of(scenario: &Scenario) -> Option<Vec<Trouble>> {
    let start = &scenario.setup.initial;
    // The abstract world has no mast that lies off its end below doors that are not open.
    let below = start.mast >= STOWED_BELOW && start.mast <= MAST_BELOW;
    if below && start.doors.is_none_or(|doors| doors <= DOORS_OPEN_ABOVE) {
        return None;
    }
    let mut found = Vec::new();
    for order in &scenario.faults {
        let target: Target = order.target.parse().ok()?;
        let kind: Kind = order.kind.parse().ok()?;
        let entry = catalogue().find(|entry| entry.target == target && entry.kind == kind)?;
        match troubles::of(&entry) {
            Covered::AsHands => {}
            Covered::By(trouble) => found.push(trouble),
            Covered::ByBoth(one, other) => found.extend([one, other]),
            Covered::Not => return None,
        }
    }
    // An empty pack is as one whose voltage is not heard; so are packs that differ.
    let [one, two] = scenario.setup.initial.charge;
    let differ = (one - two).abs() > 0.005;
    for (charge, trouble) in [(one, Trouble::Pack1Voltage), (two, Trouble::Pack2Voltage)] {
        if charge < SCARCE || differ {
            found.push(trouble);
        }
    }
    let cut = |deed: &Deed| matches!(deed, Deed::PowerOff(_));
    if scenario.actions.iter().any(|action| cut(&action.deed)) {
        found.push(Trouble::PowerCut);
    }
    found.sort_unstable();
    found.dedup();
    (found.len() <= 2).then_some(found)
}

/// The real controller, and what it was before its last tick.
#[derive(Clone, Debug)]
pub struct Watched {
    /// Its memory before its last tick.
    pub before: Sequencer,
    /// Its memory now.
    pub now: Sequencer,
}

impl Controller for Watched {
    fn wake(retained: Faults, config: &Config) -> Self {
        let woken = Sequencer::wake(retained, config);
        Self {
            before: woken,
            now: woken,
        }
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        self.before = self.now;
        self.now.step(inputs, config)
    }

    fn with_bit_flipped(&self, bit: u32) -> Self {
        Self {
            before: self.before,
            now: self.now.with_bit_flipped(bit),
        }
    }
}

/// Flies a scenario with any controller, to the end of its tail; `look` sees every frame
/// and the controller after it, and ends the flight by an error.
///
/// # Errors
/// What `look` has to say.
pub fn fly<C: Controller, E>(
    scenario: &Scenario,
    mut look: impl FnMut(&Frame, &C) -> Result<(), E>,
) -> Result<(), E> {
    let mut world = World::<C>::with(scenario, scenario.seed);
    let mut waiting = scenario.actions.len();
    let mut tail = TAIL;
    for _ in 0..scenario.ticks {
        world.step();
        look(world.frame(), world.controller())?;
        waiting -= world.started_actions().iter().count();
        if waiting == 0 {
            tail -= 1;
            if tail == 0 {
                break;
            }
        }
    }
    Ok(())
}
