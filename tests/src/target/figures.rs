//! The figures of the target, and the limits they are held against.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use mastwright_core::Sequencer;
use mastwright_sim::campaign::mission::MISSIONS;
use mastwright_sim::campaign::plan::{Order, Plan, missions};
use mastwright_sim::link::{Via, lock_step, random_ticks, trial::random_cuts};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::{LESSONS, SHIPPED, Shipped};
use serde::Deserialize;

use super::counts::Counts;
use super::emulator::Emulator;
use super::images::{self, Image, top};
use super::tools::{Problem, Tools};
use super::weight::Weight;
use crate::flown;
use crate::mission::Ending;
use crate::pilot;

/// The processor's clock for the share of a tick, Hz: that of the emulated board.
pub const CLOCK: u32 = 25_000_000;
/// Random ticks in lock step.
pub const RANDOM: u64 = 100_000;
/// Of as many random ticks there is one before which power is cut.
const A_CUT_IN: u64 = 400;
/// Random missions with faults.
pub const FAULTY: u64 = 8;
/// Cells of the fault matrix.
pub const CELLS: usize = 100;

/// `tests/target/limits.toml`.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// The whole of the controller's crate.
    pub core: Weight,
    /// The image that flies.
    pub image: Weight,
    /// One step.
    pub step: StepLimits,
    /// The watchdog.
    pub watchdog: WatchdogLimits,
}

/// Limits of one step.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepLimits {
    /// Instructions.
    pub instructions: u32,
    /// Stack, bytes.
    pub stack: u32,
}

/// Limits of the watchdog.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WatchdogLimits {
    /// From the latest feed to outputs dropped, ms.
    pub milliseconds: u32,
}

impl Limits {
    /// The limits in force.
    ///
    /// # Errors
    /// The file cannot be read or holds something else.
    pub fn read() -> Result<Self, Problem> {
        let file = top().join("tests/target/limits.toml");
        let text = fs::read_to_string(&file).map_err(|e| format!("{}: {e}", file.display()))?;
        toml::from_str(&text).map_err(|e| format!("{}: {e}", file.display()))
    }
}

/// What the images weigh.
#[derive(Clone, Copy, Debug)]
pub struct Weights {
    /// `Sequencer::step` alone.
    pub step: Weight,
    /// The whole of the controller's crate.
    pub core: Weight,
    /// The image that flies.
    pub image: Weight,
}

impl Weights {
    /// Builds the images and weighs them. What start-up weighs is taken off, the image
    /// that flies apart.
    ///
    /// # Errors
    /// One does not build: it can panic, for example.
    pub fn of_images(tools: &Tools) -> Result<Self, Problem> {
        let weigh = |image| Weight::of(&images::build(tools, image, &[])?);
        let bare = weigh(Image::Bare)?;
        Ok(Self {
            step: weigh(Image::Step)?.beyond(bare),
            core: weigh(Image::Whole)?.beyond(bare),
            image: weigh(Image::Flight)?,
        })
    }
}

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
    /// Flies all of `scenarios` in lock step.
    ///
    /// # Errors
    /// The first tick in which host and target differ.
    pub fn fly(
        name: &'static str,
        emulator: &mut Emulator,
        scenarios: impl IntoIterator<Item = Scenario>,
    ) -> Result<Self, Problem> {
        let mut group = Self::empty(name);
        for scenario in scenarios {
            let summary = lock_step(&scenario, scenario.seed, &mut *emulator)
                .map_err(|failure| format!("{}: {failure}\n{failure:#?}", scenario.title))?;
            println!("{}: {} ticks alike", scenario.title, summary.ticks);
            group.take_in(&scenario.title, summary.resets, &emulator.counts()?);
        }
        Ok(group)
    }

    fn empty(name: &'static str) -> Self {
        Self {
            name,
            flights: 0,
            resets: 0,
            counts: Counts::default(),
            longest_in: String::new(),
        }
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

/// Every shipped scenario, each to its end.
///
/// # Errors
/// One cannot be read, or host and target differ.
pub fn scenarios(emulator: &mut Emulator) -> Result<Group, Problem> {
    Group::fly("shipped scenarios", emulator, parsed(SHIPPED)?)
}

/// Every shipped lesson, each to its end, its pilot the one of its demonstration.
///
/// # Errors
/// As [`scenarios`].
pub fn lessons(emulator: &mut Emulator) -> Result<Group, Problem> {
    Group::fly("shipped lessons", emulator, parsed(LESSONS)?)
}

fn parsed(shipped: &[Shipped]) -> Result<Vec<Scenario>, Problem> {
    shipped
        .iter()
        .map(|shipped| Scenario::parse(&shipped.file(), shipped.text))
        .collect::<Result<_, _>>()
        .map_err(|problem| format!("{problem:?}"))
}

/// The missions of the fault matrix, which pass all of its moments, without faults.
///
/// # Errors
/// As [`scenarios`].
pub fn faultless(emulator: &mut Emulator) -> Result<Group, Problem> {
    let scenarios = MISSIONS
        .iter()
        .map(|mission| mission.scenario())
        .collect::<Result<Vec<_>, _>>()
        .map_err(|problem| format!("{problem:?}"))?;
    Group::fly(
        "missions of the fault matrix, faultless",
        emulator,
        scenarios,
    )
}

/// Cells of the fault matrix, spread evenly over all single faults at all moments; each
/// for as long as its mission.
///
/// # Errors
/// As [`scenarios`].
pub fn cells(emulator: &mut Emulator, count: usize) -> Result<Group, Problem> {
    let told = |problem: &dyn std::fmt::Debug| format!("{problem:?}");
    let order = Order {
        margins: false,
        ..Order::default()
    };
    let seed = order.seed;
    let plan: Plan<Sequencer> = Plan::new(order, missions().map_err(|problem| told(&problem))?);
    let scenarios = (0..count)
        .map(|number| plan.cell(number * plan.len() / count))
        .map(|cell| {
            let length = plan.bases()[cell.mission].length();
            let text = cell.scenario(MISSIONS[cell.mission].text, seed, length);
            Scenario::parse(&cell.to_string(), &text)
        })
        .collect::<Result<Vec<_>, _>>()
        .map_err(|problem| told(&problem))?;
    Group::fly("cells of the fault matrix", emulator, scenarios)
}

/// Random missions, each with one or two faults of the catalogue at a random moment.
///
/// # Errors
/// As [`scenarios`].
pub fn faulty(emulator: &mut Emulator, count: u64) -> Result<Group, Problem> {
    let plan = pilot::Plan {
        upsets: (1, 2),
        ending: Ending::Left,
    };
    let scenarios = (0..count).map(|seed| flown::scenario(&pilot::mission(seed, plan)));
    Group::fly("random missions with faults", emulator, scenarios)
}

/// Random readings, sound and unsound, of every age, and power cuts among them.
///
/// # Errors
/// As [`scenarios`].
pub fn random(emulator: &mut Emulator, ticks: u64) -> Result<Group, Problem> {
    const SEED: u64 = 1;
    let mut group = Group::empty("random readings");
    let count = usize::try_from(ticks / A_CUT_IN).map_err(|error| error.to_string())?;
    let cuts = random_cuts(SEED, ticks, count);
    let summary = random_ticks(SEED, ticks, &cuts, &mut *emulator)
        .map_err(|failure| format!("seed {SEED}: {failure}\n{failure:#?}"))?;
    group.take_in(&format!("seed {SEED}"), summary.resets, &emulator.counts()?);
    Ok(group)
}

/// All figures.
#[derive(Clone, Debug)]
pub struct Figures {
    /// How they were come by.
    pub said: Vec<String>,
    /// What the images weigh.
    pub weights: Weights,
    /// What was flown.
    pub groups: Vec<Group>,
}

impl Figures {
    /// Builds, weighs and flies everything.
    ///
    /// # Errors
    /// Something does not build, does not run, or differs from the host.
    pub fn take(tools: &Tools) -> Result<Self, Problem> {
        let weights = Weights::of_images(tools)?;
        let image = images::build(tools, Image::Flight, &[])?;
        let mut emulator = Emulator::start(tools, &image, Via::Files)?;
        let groups = vec![
            scenarios(&mut emulator)?,
            lessons(&mut emulator)?,
            faultless(&mut emulator)?,
            cells(&mut emulator, CELLS)?,
            faulty(&mut emulator, FAULTY)?,
            random(&mut emulator, RANDOM)?,
        ];
        Ok(Self {
            said: tools.said.clone(),
            weights,
            groups,
        })
    }

    /// All steps.
    #[must_use]
    pub fn counts(&self) -> Counts {
        let mut all = Counts::default();
        for group in &self.groups {
            all.add(&group.counts);
        }
        all
    }

    /// Every figure that is out of its limit.
    #[must_use]
    pub fn beyond(&self, limits: &Limits) -> Vec<String> {
        let counts = self.counts();
        let [core, image] = [self.weights.core, self.weights.image];
        [
            ("flash of firmware-core", core.flash, limits.core.flash),
            ("RAM of firmware-core", core.ram, limits.core.ram),
            ("flash of the image", image.flash, limits.image.flash),
            ("RAM of the image", image.ram, limits.image.ram),
            (
                "instructions of a step",
                counts.worst().into(),
                limits.step.instructions.into(),
            ),
            (
                "stack of a step",
                counts.stack_of_step.into(),
                limits.step.stack.into(),
            ),
        ]
        .into_iter()
        .filter(|(_, figure, limit)| figure >= limit)
        .map(|(what, figure, limit)| format!("{what}: {figure}, and the limit is {limit}"))
        .collect()
    }

    /// The part of `docs/target.md` that they make.
    #[must_use]
    pub fn page(&self, limits: &Limits) -> String {
        let counts = self.counts();
        let Weights { step, core, image } = self.weights;
        let mut page = String::new();
        for said in &self.said {
            // Where things lie is of no use to a reader elsewhere.
            let said = said.split(": /").next().unwrap_or(said);
            _ = writeln!(page, "- {said}");
        }
        let share = f64::from(counts.worst()) / f64::from(CLOCK / 100) * 100.0;
        _ = write!(
            page,
            "\n| figure | measured | limit |\n|---|---:|---:|\n\
             | `Sequencer::step` alone: flash, bytes | {} | |\n\
             | firmware-core, board binding and journal included: flash, bytes | {} | {} |\n\
             | the same: RAM without stack, bytes | {} | {} |\n\
             | the image that flies: flash, bytes | {} | {} |\n\
             | the same: RAM without stack, table of measured steps included, bytes | {} | {} |\n\
             | stack of the deepest step, bytes | {} | {} |\n\
             | stack of the image that flies, bytes | {} | |\n\
             | instructions of a step, median | {} | |\n\
             | instructions of the longest step | {} | {} |\n\
             | the longest step's share of a tick's {} cycles at {} MHz, were each instruction one cycle | {share:.1} % | |\n\n",
            step.flash,
            core.flash,
            limits.core.flash,
            core.ram,
            limits.core.ram,
            image.flash,
            limits.image.flash,
            image.ram,
            limits.image.ram,
            counts.stack_of_step,
            limits.step.stack,
            counts.stack,
            counts.median(),
            counts.worst(),
            limits.step.instructions,
            CLOCK / 100,
            CLOCK / 1_000_000,
        );
        page += "| flown in lock step | flights | power cuts | ticks | sampled alike | instructions, median | longest | in |\n\
                 |---|---:|---:|---:|---:|---:|---:|---|\n";
        for group in &self.groups {
            let of = &group.counts;
            _ = writeln!(
                page,
                "| {} | {} | {} | {} | {} | {} | {} | {} |",
                group.name,
                group.flights,
                group.resets,
                of.ticks,
                of.sampled,
                of.median(),
                of.worst(),
                group.longest_in,
            );
        }
        page
    }
}

const BEGIN: &str =
    "<!-- figures: made by `cargo run --release -p mastwright-tests --bin target -- figures` -->\n";
const END: &str = "<!-- end of figures -->\n";

/// Puts `figures` into the page at `file`, in place of those that stand there.
///
/// # Errors
/// The page cannot be read or written, or has no place for them.
pub fn renew(file: &Path, figures: &str) -> Result<(), Problem> {
    let told = |error: &dyn std::fmt::Display| format!("{}: {error}", file.display());
    let page = fs::read_to_string(file).map_err(|error| told(&error))?;
    let (before, rest) = page
        .split_once(BEGIN)
        .ok_or_else(|| told(&"no place for figures"))?;
    let (_, after) = rest
        .split_once(END)
        .ok_or_else(|| told(&"no end of figures"))?;
    let making = file.with_extension("making");
    fs::write(&making, format!("{before}{BEGIN}\n{figures}\n{END}{after}"))
        .and_then(|()| fs::rename(&making, file))
        .map_err(|error| told(&error))
}
