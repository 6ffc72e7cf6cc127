//! What stands before the ticks: what was flown, by what, and how to read it.

use std::borrow::Cow;
use std::collections::BTreeMap;

use mastwright_core::bus::Stage;
use mastwright_core::config::{Config, Settings};
use mastwright_core::interlock::{Condition, Permission, Reason};
use mastwright_core::link::fingerprint;
use mastwright_core::{Fault, Faults, Intention, Mode, Sequencer, State};
use serde::{Deserialize, Serialize};

use super::columns::tables;
use super::named::{Named, names};
use crate::controls::Push;
use crate::report::layout::visible;
use crate::scenario::Scenario;

/// The names of the tables, in the order in which a block holds them.
pub(super) const TABLE_NAMES: [&str; super::columns::TABLES] =
    ["ticks", "answers", "events", "marks"];

/// What is known of a trace before its first tick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// What recorded it.
    pub build: Build,
    /// What was flown.
    pub scenario: Flown,
    /// Seed of everything random.
    pub seed: u64,
    /// Where the controller ran, and who flew: in words.
    pub by: String,
    /// The controller's settings, by name, in their units.
    pub settings: BTreeMap<String, i64>,
    /// Fingerprint of the state of a controller just woken with these settings. Another
    /// build that comes to another number keeps its state in another form: states
    /// cannot be compared then, outputs still can.
    pub waking: u32,
    /// Duration of a tick, ms.
    pub tick_ms: u16,
    /// The columns of each table, by name.
    pub(super) columns: BTreeMap<String, Vec<String>>,
    /// The variants of each enumeration, by name, in the order in which they are counted.
    pub(super) names: BTreeMap<String, Vec<String>>,
}

/// A build of this program.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Build {
    /// Its version.
    pub version: String,
    /// Checksum of its sources: the same sources give the same number.
    pub sources: String,
}

impl Build {
    /// This build.
    #[must_use]
    pub fn this() -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            sources: env!("MASTWRIGHT_SOURCES").to_owned(),
        }
    }
}

impl std::fmt::Display for Build {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "mastwright {}, sources {}", self.version, self.sources)
    }
}

/// The scenario that was flown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Flown {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Its file, as it stood.
    pub text: String,
    /// How many actions it has; an action's number is below it.
    pub actions: usize,
    /// How many faults it has. A fault of this number or a higher one was given by hand.
    pub faults: usize,
}

impl Header {
    /// The header of a flight of `scenario`; `by` says where the controller runs and who
    /// flies.
    #[must_use]
    pub fn new(scenario: &Scenario, seed: u64, by: &str) -> Self {
        let columns = TABLE_NAMES.into_iter().map(str::to_owned).zip(tables());
        Self {
            build: Build::this(),
            scenario: Flown {
                name: scenario.name.clone(),
                title: scenario.title.clone(),
                text: scenario.text.clone(),
                actions: scenario.actions.len(),
                faults: scenario.faults.len(),
            },
            seed,
            by: by.to_owned(),
            settings: by_name(&scenario.config.settings()),
            waking: waking(&scenario.config),
            tick_ms: mastwright_core::units::TICK_MS,
            columns: columns.collect(),
            names: lists(),
        }
    }

    /// The settings as a checked whole, and the names of those this build does not know.
    ///
    /// # Errors
    /// When this build refuses them together; why.
    pub fn config(&self) -> Result<(Config, Vec<String>), String> {
        let known = |name: &String| Settings::FIELDS.iter().any(|field| field.name == name);
        let (known, unknown): (BTreeMap<_, _>, BTreeMap<_, _>) =
            self.settings.iter().partition(|(name, _)| known(name));
        let settings = serde_json::to_value(known)
            .and_then(serde_json::from_value::<Settings>)
            .map_err(|error| error.to_string())?;
        let config = Config::new(settings).map_err(|refusal| refusal.to_string())?;
        Ok((config, unknown.into_keys().cloned().collect()))
    }

    /// The settings of this build that the trace does not have: they have the value they
    /// have unless a scenario says otherwise.
    #[must_use]
    pub fn missing_settings(&self) -> Vec<String> {
        let names = Settings::FIELDS.iter().map(|field| field.name);
        let missing = names.filter(|name| !self.settings.contains_key(*name));
        missing.map(str::to_owned).collect()
    }

    /// The same with names and words in which every character can be seen. The scenario's
    /// text stays as it is: it is read, not shown.
    pub(super) fn visible(mut self) -> Self {
        let flown = &mut self.scenario;
        let shown = [
            &mut self.build.version,
            &mut self.build.sources,
            &mut flown.name,
            &mut flown.title,
            &mut self.by,
        ];
        let lists = self.names.values_mut().flatten();
        for word in shown.into_iter().chain(lists) {
            if let Cow::Owned(seen) = visible(word) {
                *word = seen;
            }
        }
        self
    }

    /// The scenario, read anew from its text.
    ///
    /// # Errors
    /// When this build cannot read it any more.
    pub fn scenario(&self) -> Result<Scenario, crate::scenario::problem::Problem> {
        Scenario::parse(&format!("{}.toml", self.scenario.name), &self.scenario.text)
    }
}

/// Fingerprint of the state of a controller just woken.
pub(super) fn waking(config: &Config) -> u32 {
    fingerprint(&Sequencer::wake(Faults::empty(), config))
}

fn by_name(settings: &Settings) -> BTreeMap<String, i64> {
    let value = serde_json::to_value(settings).expect("settings are numbers by name");
    serde_json::from_value(value).expect("settings are numbers by name")
}

/// Every list of names this build counts by.
pub(super) fn lists() -> BTreeMap<String, Vec<String>> {
    fn list<T: Named>() -> (String, Vec<String>) {
        (T::LIST.to_owned(), names::<T>())
    }
    [
        list::<Condition>(),
        list::<Fault>(),
        list::<Intention>(),
        list::<Mode>(),
        list::<Permission>(),
        list::<Push>(),
        list::<Reason>(),
        list::<Stage>(),
        list::<State>(),
    ]
    .into()
}
