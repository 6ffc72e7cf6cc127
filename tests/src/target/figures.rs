//! The figures of the target, and the limits they are held against.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use mastwright_sim::link::Via;
use serde::Deserialize;

use super::counts::Counts;
use super::emulator::Emulator;
use super::flights::{self, CELLS, FAULTY, Group, RANDOM};
use super::frames::frame;
use super::images::{self, Image, top};
use super::tools::{Problem, Tools};
use super::weight::Weight;

/// The processor's clock for the share of a tick, Hz: that of the emulated board.
pub const CLOCK: u32 = 25_000_000;
/// Part of the symbol of the function around the measured step, which the compiler takes
/// in: `apart` of `tests/target/src/meter.rs`.
pub const STEP: &str = "5meter5apart";

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

/// All figures.
#[derive(Clone, Debug)]
pub struct Figures {
    /// How they were come by.
    pub said: Vec<String>,
    /// What the images weigh.
    pub weights: Weights,
    /// Frame of the step in the image that flies, bytes, if the compiler tells it.
    pub frame: Option<u64>,
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
        let processors = std::thread::available_parallelism().map_or(1, usize::from);
        let boards = (0..processors).map(|_| Emulator::start(tools, &image, Via::Files));
        let mut boards = boards.collect::<Result<Vec<_>, _>>()?;
        let groups = vec![
            flights::scenarios(&mut boards)?,
            flights::lessons(&mut boards)?,
            flights::faultless(&mut boards)?,
            flights::cells(&mut boards, CELLS)?,
            flights::faulty(&mut boards, FAULTY)?,
            flights::random(&mut boards, RANDOM)?,
        ];
        Ok(Self {
            said: tools.said.clone(),
            weights,
            frame: frame(&image, STEP)?,
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
             | frame of the step itself, its callees apart, as the compiler tells it, bytes | {} | |\n\
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
            self.frame
                .map_or_else(|| "not told".to_owned(), |frame| frame.to_string()),
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
