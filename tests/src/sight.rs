//! Whether the fault matrix, and random missions, can see a wrong controller.
//!
//! Responsibilities:
//! 1. Fly a controller through the base missions without faults and, where nothing shows,
//!    through cells of the fault matrix; the first place where it does harm or breaks a
//!    requirement and the honest controller does neither is what was seen.
//! 2. The same for random missions: runs of a swarm.
//! 3. Which faults a saboteur's wrong has to do with, so that a part of the matrix will
//!    do, and which saboteurs cannot show there by their nature.

use mastwright_core::Sequencer;
use mastwright_sim::campaign::base::Base;
use mastwright_sim::campaign::cell::Cell;
use mastwright_sim::campaign::plan::{self, Order, Plan};
use mastwright_sim::campaign::record::Outcome;
use mastwright_sim::campaign::{run, swarm};
use mastwright_sim::oracle::Verdict;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::Controller;

use crate::saboteurs::flown;

/// Where a wrong controller was seen, and by what it broke there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// A base mission without faults, a cell, or a run.
    pub place: String,
    /// What it broke there and the honest one does not, the hazards first.
    pub broke: Vec<String>,
}

/// How one controller is looked at, its type forgotten.
#[derive(Clone, Copy, Debug)]
pub struct Eyes {
    /// In the base missions, then in the cells of these faults.
    pub matrix: fn(&Honest, &[&str]) -> Option<Seen>,
    /// In random missions.
    pub random: fn(&Honest) -> Option<Seen>,
}

impl Eyes {
    /// The eyes on one type of controller.
    #[must_use]
    pub const fn on<C: Controller + Send + Sync>() -> Self {
        Self {
            matrix: in_matrix::<C>,
            random: in_random::<C>,
        }
    }
}

/// What the honest controller does, for comparison.
#[derive(Debug)]
pub struct Honest {
    plan: Plan<Sequencer>,
    /// Random missions, and what is broken in each.
    random: Vec<(Scenario, Vec<String>)>,
}

impl Honest {
    /// The single faults of the matrix with `instants` moments in each state, and
    /// random missions number 1 to `missions`.
    ///
    /// # Panics
    /// When a mission is not in order.
    #[must_use]
    pub fn new(instants: u64, missions: u64) -> Self {
        let order = Order {
            instants,
            margins: false,
            ..Order::default()
        };
        let random = (1..=missions).map(|seed| {
            let text = swarm::text(seed);
            let scenario = Scenario::parse("random.toml", &text).expect("a run is in order");
            let broken = broken(&flown::fly_honest(&scenario));
            (scenario, broken)
        });
        Self {
            plan: Plan::new(order, plan::missions().expect("missions are in order")),
            random: random.collect(),
        }
    }

    /// The cells of the plan with one of these faults, then those named.
    fn cells<'a>(&'a self, concerns: &'a [&str]) -> impl Iterator<Item = Cell> + 'a {
        let singles = (0..self.plan.len()).map(|index| self.plan.cell(index));
        let concerned = singles.filter(|cell| {
            let fault = &cell.faults[0].fault;
            let name = format!("{}/{}", fault.target(), fault.kind());
            concerns.contains(&name.as_str())
        });
        let named = concerns.iter().filter(|concern| concern.contains('@'));
        concerned.chain(named.map(|name| name.parse().expect("the name of a cell")))
    }
}

fn broken(verdict: &Verdict) -> Vec<String> {
    verdict.broken().map(|line| line.id.to_owned()).collect()
}

/// Looks in the base missions, then in the cells of `concerns`: see [`CONCERNS`].
fn in_matrix<C: Controller + Send + Sync>(honest: &Honest, concerns: &[&str]) -> Option<Seen> {
    let mut bases = Vec::new();
    for base in honest.plan.bases() {
        let flown = Base::<C>::fly(base.scenario.clone(), base.seed);
        let mut broke = flown.broken.iter().filter(|id| !base.broken.contains(id));
        if let Some(first) = broke.next() {
            let all = [first].into_iter().chain(broke);
            return Some(Seen {
                place: base.scenario.name.clone(),
                broke: all.map(|id| (*id).to_owned()).collect(),
            });
        }
        bases.push(flown.with_moments(base.moments.clone()));
    }
    honest.cells(concerns).find_map(|cell| {
        let record = run::fly(&bases[cell.mission], &cell, None).record;
        let right = &honest.plan.bases()[cell.mission];
        if !is_bad(record.outcome) || is_bad(run::fly(right, &cell, None).record.outcome) {
            return None;
        }
        let ids = record
            .hazards
            .split(' ')
            .chain(record.requirements.split(' '));
        Some(Seen {
            place: record.cell.clone(),
            broke: ids.filter(|id| !id.is_empty()).map(str::to_owned).collect(),
        })
    })
}

fn is_bad(outcome: Outcome) -> bool {
    match outcome {
        Outcome::Harm | Outcome::Broken => true,
        Outcome::Detected | Outcome::Undetected | Outcome::NoEffect => false,
    }
}

/// Looks in random missions for what the honest controller does not break in the same one.
fn in_random<C: Controller>(honest: &Honest) -> Option<Seen> {
    honest.random.iter().find_map(|(scenario, also)| {
        let mut broke = broken(&flown::fly_as::<C>(scenario));
        broke.retain(|id| !also.contains(id));
        (!broke.is_empty()).then(|| Seen {
            place: format!("run {}", scenario.seed),
            broke,
        })
    })
}

/// Saboteurs that show in no base mission without faults, and what their wrong has to do
/// with: faults by target and kind, each flown at every moment of the matrix; and cells by
/// name, where it takes several faults at once, as `mastwright matrix --cell` flies them.
pub const CONCERNS: &[(&str, &[&str])] = &[
    ("blind-to-insulation", &["mechanics.insulation-aged/acts"]),
    ("ignores-stow", &["pilot.throttle-left-open/acts"]),
    ("moves-by-itself", &["power/reset"]),
    ("takes-held-selector", &["power/reset", "power/brown-out"]),
    ("arms-open", &["pilot.throttle-left-open/acts"]),
    (
        "never-stops",
        &[
            "sensor.thermal.motor/stuck-at",
            "pilot.throttle-left-open/acts",
        ],
    ),
    ("hides-fans", &["mechanics.fans-seized/acts"]),
    (
        "believes-stale",
        &["sensor.mast.lock-switch/dropout", "link/dropout"],
    ),
    ("trusts-one-track", &["sensor.controls.throttle-b/stuck-at"]),
    (
        "trusts-position",
        &["sensor.mast.stowed-switch/stuck-closed"],
    ),
    (
        "hides-contradiction",
        &["sensor.mast.stowed-switch/stuck-closed"],
    ),
    (
        "feels-no-current",
        &["mechanics.mast-jam/acts", "mechanics.door-jam/acts"],
    ),
    ("pushes-on", &["mechanics.mast-jam/acts"]),
    (
        "patient",
        &["actuator.mast-drive/slow", "actuator.mast-drive/dead"],
    ),
    ("moves-in-halt", &["sensor.mast.stowed-switch/stuck-closed"]),
    ("never-late", &["processor/slow"]),
    ("forgets-in-time", &["sensor.mast.position/dropout"]),
    ("never-sounds", &["sensor.mast.position/dropout"]),
    ("blind-to-weld", &["mechanics.main-weld/acts"]),
    (
        "closes-on-fault",
        &["mechanics.precharge-open/acts", "mechanics.main-weld/acts"],
    ),
    ("deaf-to-heat", &["mechanics.bay-heat/acts"]),
    ("believes-slow-air", &["mechanics.over-speed/acts"]),
    (
        "misses-lost-lock",
        &[
            "ground-cycle@1900/actuator.mast-drive/stuck-on=-1+0.5,1900/actuator.mast-power/stuck-on+0.5",
        ],
    ),
    (
        "trusts-one-angle",
        &[
            "sensor.propeller.angle-a/stuck-at",
            "sensor.propeller.angle-a/stuck",
            "sensor.propeller.angle-a/offset",
        ],
    ),
    (
        "short-rest",
        &["pilot.selector-chatter/acts", "pilot.controls-spammed/acts"],
    ),
    ("re-arms-itself", &["pilot.stop-thrown/acts"]),
    (
        "waits-for-ever",
        &["ground-cycle@1900/pilot.stop-thrown/acts,1950/sensor.propeller.angle-b/dropout"],
    ),
    (
        "takes-restraint-for-granted",
        &["bench-work@700/pilot.bench-key-left-on/acts,2500/pilot.deploy-held/acts"],
    ),
    (
        "feels-cold",
        &[
            "warm-climb@500/pilot.throttle-left-open/acts=1000,510/pilot.deploy-held/acts",
            "warm-climb@500/pilot.throttle-left-open/acts=1000,510/pilot.deploy-held/acts,520/mechanics.fans-seized/acts",
        ],
    ),
    (
        "never-derates",
        &[
            "warm-climb@500/pilot.throttle-left-open/acts=1000,510/pilot.deploy-held/acts",
            "warm-climb@500/pilot.throttle-left-open/acts=1000,510/pilot.deploy-held/acts,520/mechanics.fans-seized/acts",
        ],
    ),
    (
        "forgets-on-press",
        &["ground-cycle@100/sensor.mast.position/dropout,300/pilot.acknowledge-held/acts+0.3"],
    ),
];

/// Saboteurs that the matrix cannot see, and why.
pub const UNSEEN: &[(&str, &str)] = &[
    (
        "indexes-blindly",
        "no sensor's converter tells a number beyond its range",
    ),
    (
        "adds-blindly",
        "no sensor's converter tells a number beyond its range",
    ),
    (
        "never-looks-at-the-clock",
        "a board; the matrix flies controllers",
    ),
    ("keeps-one-slot", "a journal; the matrix flies controllers"),
    (
        "keeps-no-checksum",
        "a journal; the matrix flies controllers",
    ),
    (
        "stays-halted",
        "a declared halt is an end; no mission's pilot clears one",
    ),
    (
        "dies-with-power",
        "wiring of the heat warning; the matrix flies controllers",
    ),
];

/// What stands beside `name` in a list of names.
#[must_use]
pub fn beside<T: Copy>(list: &[(&str, T)], name: &str) -> Option<T> {
    let found = list.iter().find(|(known, _)| *known == name);
    found.map(|(_, what)| *what)
}
