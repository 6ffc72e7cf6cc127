//! The fault matrix: that it hits every state, that a cell is what its name says, and
//! that its table is the same however it was flown.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use mastwright_core::outputs::{MastDrive, Motor, Pace};
use mastwright_core::units::Permille;
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer, State};
use mastwright_sim::campaign::base::Base;
use mastwright_sim::campaign::cell::Cell;
use mastwright_sim::campaign::mission::MISSIONS;
use mastwright_sim::campaign::plan::{self, Order, Plan, Sweep};
use mastwright_sim::campaign::record::{Outcome, Record};
use mastwright_sim::campaign::store::{self, Shard, Store};
use mastwright_sim::faults::catalogue;
use mastwright_sim::join;
use mastwright_sim::report;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::Controller;

fn order(only: &str) -> Order {
    Order {
        only: Some(only.to_owned()),
        ..Order::default()
    }
}

fn whole(order: Order) -> Plan<Sequencer> {
    Plan::new(order, plan::missions().expect("missions are in order"))
}

/// A new directory for the files of one test.
fn directory(test: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("mastwright-{test}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).expect("a directory for temporary files");
    path
}

#[test]
fn the_base_missions_pass_every_state_and_break_and_alert_nothing() {
    let plan = whole(order("power/reset"));
    let mut passed = BTreeSet::new();
    for base in plan.bases() {
        assert!(
            base.spurious.is_empty(),
            "{}: {:?}",
            base.scenario.name,
            base.spurious
        );
        assert!(
            base.broken.is_empty(),
            "{}: {:?}",
            base.scenario.name,
            base.broken
        );
        passed.extend(base.states().into_iter().map(State::name));
    }
    let all: BTreeSet<&str> = State::ALL.into_iter().map(State::name).collect();
    assert_eq!(passed, all);
}

#[test]
fn every_entry_is_flown_in_every_state_and_there_are_enough_cells() {
    let plan = whole(Order::default());
    assert!(plan.len() >= 20_000, "{} cells", plan.len());
    let mut flown = BTreeSet::new();
    for index in 0..plan.len() {
        let cell = plan.cell(index);
        let phase = plan.bases()[cell.mission].place(cell.onset()).0.name();
        let fault = cell.faults[0].fault;
        flown.insert((phase, fault.target(), fault.kind().name()));
    }
    assert_eq!(flown.len(), State::ALL.len() * catalogue().count());
}

#[test]
fn a_cell_is_found_again_by_its_name_and_gives_the_same_record() {
    let plan = whole(order("mechanics.mast-jam/acts"));
    for index in (0..plan.len()).step_by(7) {
        let record = plan.fly(index);
        let cell: Cell = record.cell.parse().expect("a cell's own name");
        assert_eq!(cell, plan.cell(index));
        let scenario = MISSIONS[cell.mission].scenario().expect("in order");
        let base = Base::<Sequencer>::fly(scenario, 1);
        let again = plan::fly_alone(&base, &cell).record;
        assert_eq!(
            Record {
                instant: record.instant.clone(),
                ..again
            },
            record
        );
    }
}

#[test]
fn a_cell_written_as_a_scenario_breaks_the_same_things_at_the_same_times() {
    for name in [
        "ground-cycle@600/mechanics.mast-jam/acts",
        "opposed-deploy@952/mechanics.gust/acts=30",
        "stop-in-flight@900/sensor.propeller.angle-a/noise+1",
        "warm-climb@1500/memory/bit-flip=4711",
        "stop-in-flight@1300/power/intermittent",
        "opposed-stow@100/actuator.motor/weak,400/link/dropout+1",
    ] {
        let cell: Cell = name.parse().expect("a cell");
        let mission = MISSIONS[cell.mission];
        let base = Base::<Sequencer>::fly(mission.scenario().expect("in order"), 1);
        let flown = plan::fly_alone(&base, &cell);
        let text = cell.scenario(mission.text, 1, flown.length);
        let scenario = Scenario::parse("cell.toml", &text).expect("a scenario in order");
        let mut flight = join::take_off(&scenario, scenario.seed);
        let report = report::fly(&scenario, 1, "", &mut flight, |_| {});
        let broken = |rows: &[mastwright_sim::flight::Row]| {
            let ids = rows.iter().filter(|row| {
                matches!(row.outcome, mastwright_sim::flight::Outcome::Broken { .. })
            });
            ids.map(|row| row.id.clone()).collect::<BTreeSet<_>>()
        };
        let ids = |text: &str| text.split_whitespace().map(str::to_owned).collect();
        let record = &flown.record;
        assert_eq!(
            broken(&report.verdict.hazards),
            ids(&record.hazards),
            "{name}"
        );
        assert_eq!(
            broken(&report.verdict.requirements),
            ids(&record.requirements),
            "{name}"
        );
        let state = record.final_state.split(':').next().unwrap_or_default();
        assert!(
            state == "no supply" || report.end.state.starts_with(state),
            "{name}: {} and {}",
            report.end.state,
            record.final_state
        );
    }
}

/// Writes the plan's table as `threads` threads fly it.
fn table(plan: &Plan<Sequencer>, shard: Shard, threads: usize, path: &Path) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    let records: Vec<Record> = pool.expect("threads").install(|| {
        use rayon::prelude::*;
        let cells = 0..shard.len(plan.len());
        cells
            .into_par_iter()
            .map(|index| plan.fly(shard.cell(index)))
            .collect()
    });
    let mut store = Store::create(path, &plan.heading(), shard).expect("a new file");
    records
        .chunks(7)
        .for_each(|some| store.append(some).expect("written"));
}

#[test]
fn the_table_is_the_same_at_any_number_of_threads_and_joined_from_shards() {
    let directory = directory("shards");
    let plan = whole(order("actuator.door-drive/"));
    let one = directory.join("one.csv");
    let two = directory.join("two.csv");
    table(&plan, Shard::WHOLE, 1, &one);
    table(&plan, Shard::WHOLE, 2, &two);
    let parts: Vec<PathBuf> = (1..=3)
        .map(|part| {
            let path = directory.join(format!("part{part}.csv"));
            table(&plan, Shard { part, of: 3 }, 2, &path);
            path
        })
        .collect();
    let joined = directory.join("joined.csv");
    let shuffled = [parts[2].clone(), parts[0].clone(), parts[1].clone()];
    let mut seen = 0;
    store::merge(&shuffled, Some(&joined), |_| seen += 1).expect("the shards fit");
    assert_eq!(seen, plan.len());
    let bytes = std::fs::read(&one).expect("written");
    assert!(
        bytes == std::fs::read(&two).expect("written"),
        "one thread and two"
    );
    assert!(
        bytes == std::fs::read(&joined).expect("written"),
        "unsplit and joined"
    );
    let missing = store::merge(&parts[..2], None, |_| {})
        .unwrap_err()
        .to_string();
    assert!(missing.contains("2 shards of 3"), "{missing}");
    let twice = [parts[0].clone(), parts[0].clone(), parts[2].clone()];
    let twice = store::merge(&twice, None, |_| {}).unwrap_err().to_string();
    assert!(twice.contains("shard 2/3 is missing"), "{twice}");
    std::fs::remove_dir_all(&directory).expect("removed");
}

#[test]
fn an_interrupted_table_continues_after_its_last_whole_line() {
    let directory = directory("resume");
    let plan = whole(order("ground-cycle@0/actuator."));
    let good = directory.join("good.csv");
    table(&plan, Shard::WHOLE, 2, &good);
    let bytes = std::fs::read(&good).expect("written");
    let torn = directory.join("torn.csv");
    std::fs::write(&torn, &bytes[..bytes.len() * 2 / 3]).expect("written");
    let mut seen = 0;
    let (mut store, done) =
        Store::resume(&torn, &plan.heading(), Shard::WHOLE, |_| seen += 1).expect("it fits");
    assert!(done > 0 && done < plan.len() && seen == done);
    let rest: Vec<Record> = (done..plan.len()).map(|index| plan.fly(index)).collect();
    store.append(&rest).expect("written");
    assert!(std::fs::read(&torn).expect("written") == bytes);

    let other = whole(order("ground-cycle@0/mechanics."));
    let refused = Store::resume(&torn, &other.heading(), Shard::WHOLE, |_| {}).unwrap_err();
    assert!(
        refused.to_string().contains("another plan or build"),
        "{refused}"
    );
    let refused = Store::create(&torn, &plan.heading(), Shard::WHOLE).unwrap_err();
    assert!(refused.to_string().contains("--resume"), "{refused}");
    std::fs::remove_dir_all(&directory).expect("removed");
}

#[test]
fn pairs_cover_every_two_entries_and_triples_are_as_many_as_asked_for() {
    let pairs = whole(Order {
        sweep: Sweep::Pairs,
        margins: false,
        ..Order::default()
    });
    let entries = catalogue().count();
    assert_eq!(pairs.len(), entries * (entries - 1) / 2);
    let mut covered = BTreeSet::new();
    for index in 0..pairs.len() {
        let mut two = pairs
            .cell(index)
            .faults
            .iter()
            .map(|ordered| (ordered.fault.target(), ordered.fault.kind()))
            .collect::<Vec<_>>();
        two.sort_unstable();
        covered.insert(two);
    }
    assert_eq!(covered.len(), pairs.len());
    let triples = whole(Order {
        sweep: Sweep::Triples(50),
        margins: false,
        ..Order::default()
    });
    assert_eq!(triples.len(), 50);
    assert!((0..50).all(|index| triples.cell(index).faults.len() == 3));
}

/// The real controller, except that it never heeds a jam: it keeps driving the mast.
#[derive(Clone)]
struct Deaf(Sequencer);

impl Controller for Deaf {
    fn wake(retained: Faults, config: &Config) -> Self {
        Self(Sequencer::wake(retained, config))
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        let mut outputs = self.0.step(inputs, config);
        if outputs.indications.state.halt().is_some() {
            outputs.drives.mast = MastDrive::Retract(Pace::Full);
            outputs.drives.mast_power = true;
            outputs.drives.motor = Motor::Thrust(Permille::FULL);
        }
        outputs
    }

    fn with_bit_flipped(&self, bit: u32) -> Self {
        Self(self.0.with_bit_flipped(bit))
    }
}

#[test]
fn the_matrix_sees_a_controller_that_is_wrong_only_under_a_fault() {
    let cells = order("ground-cycle@");
    let cells = Order {
        only: Some("mechanics.mast-jam/acts".to_owned()),
        margins: false,
        ..cells
    };
    let wrong = Plan::<Deaf>::new(cells.clone(), plan::missions().expect("in order"));
    let right = Plan::<Sequencer>::new(cells, plan::missions().expect("in order"));
    let bad = |outcome: Outcome| matches!(outcome, Outcome::Harm | Outcome::Broken);
    let count = |records: Vec<Record>| records.iter().filter(|r| bad(r.outcome)).count();
    let wrong = count((0..wrong.len()).map(|index| wrong.fly(index)).collect());
    let right = count((0..right.len()).map(|index| right.fly(index)).collect());
    assert_eq!(right, 0);
    assert!(wrong > 20, "{wrong}");
}
