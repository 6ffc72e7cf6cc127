//! A property held against many missions; a failure made simple and kept as a file.

use std::path::{Path, PathBuf};

use proptest::strategy::{NewTree, Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestError, TestRng, TestRunner};

use crate::mission::Mission;
use crate::pilot::{self, Plan};
use crate::simpler;

/// A plan is a strategy: missions drawn by it, and how they get simpler.
#[derive(Clone, Copy, Debug)]
struct Missions(Plan);

/// A mission being made simpler.
#[derive(Debug)]
struct Tree {
    best: Mission,
    now: Mission,
    simpler: std::vec::IntoIter<Mission>,
}

impl Tree {
    fn next(&mut self) -> bool {
        match self.simpler.next() {
            Some(simpler) => {
                self.now = simpler;
                true
            }
            None => {
                self.now = self.best.clone();
                false
            }
        }
    }
}

impl ValueTree for Tree {
    type Value = Mission;

    fn current(&self) -> Mission {
        self.now.clone()
    }

    /// The present one fails: try one that is simpler still.
    fn simplify(&mut self) -> bool {
        self.best = self.now.clone();
        self.simpler = simpler::than(&self.best).into_iter();
        self.next()
    }

    /// The present one passes: try the next.
    fn complicate(&mut self) -> bool {
        self.next()
    }
}

impl Strategy for Missions {
    type Tree = Tree;
    type Value = Mission;

    fn new_tree(&self, runner: &mut TestRunner) -> NewTree<Self> {
        let seed = proptest::num::u64::ANY.new_tree(runner)?.current();
        let mission = pilot::mission(seed, self.0);
        Ok(Tree {
            best: mission.clone(),
            now: mission,
            simpler: Vec::new().into_iter(),
        })
    }
}

/// A number from the environment.
fn number(name: &str, default: u64) -> u64 {
    match std::env::var(name) {
        Ok(text) => text
            .parse()
            .unwrap_or_else(|_| panic!("{name}={text}: give a whole number")),
        Err(_) => default,
    }
}

/// How many cases a property gets: `MASTWRIGHT_CASES` times as many.
#[must_use]
pub fn cases(usual: u32) -> u32 {
    usual.saturating_mul(number("MASTWRIGHT_CASES", 1) as u32)
}

/// The seed from which everything follows; `MASTWRIGHT_SEED` changes it.
#[must_use]
pub fn seed() -> u64 {
    number("MASTWRIGHT_SEED", 1)
}

/// Holds `property` against missions of `plan`.
///
/// # Panics
/// When one breaks it: the message has the verdict, the simplest mission found stands
/// in a file of `found`, and the one command that replays it is given.
pub fn prove(
    name: &str,
    found: &Path,
    usual: u32,
    plan: Plan,
    property: impl Fn(&Mission) -> Result<(), String>,
) {
    let config = Config {
        cases: cases(usual),
        failure_persistence: None,
        max_shrink_iters: 3_000,
        ..Config::default()
    };
    let mut bytes = [0; 32];
    bytes[..8].copy_from_slice(&seed().to_le_bytes());
    let tag = name.as_bytes();
    let room = tag.len().min(24);
    bytes[8..8 + room].copy_from_slice(&tag[..room]);
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
    let mut runner = TestRunner::new_with_rng(config, rng);
    let outcome = runner.run(&Missions(plan), |mission| {
        property(&mission).map_err(TestCaseError::fail)
    });
    match outcome {
        Ok(()) => {}
        Err(TestError::Fail(why, mission)) => {
            let path = keep(found, name, &mission);
            panic!(
                "{name}:\n{why}\n\nreplay it with:\n  cargo run --release -- run {}\n",
                path.display()
            );
        }
        Err(TestError::Abort(why)) => panic!("{name}: gave up: {why}"),
    }
}

/// Writes a mission down as a scenario.
///
/// # Panics
/// When it cannot be written.
pub fn keep(found: &Path, name: &str, mission: &Mission) -> PathBuf {
    let path = found.join(format!("{name}.toml"));
    let text = mission.scenario(&name.replace('-', " "));
    std::fs::create_dir_all(found)
        .and_then(|()| std::fs::write(&path, text))
        .unwrap_or_else(|error| panic!("cannot write {}: {error}", path.display()));
    path
}
