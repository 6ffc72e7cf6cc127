//! `mastwright explore`: every state that the controller can come to.

use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
use clap::builder::PossibleValuesParser;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use mastwright_core::{Config, Sequencer};
use miette::{IntoDiagnostic, miette};
use serde::Serialize;

use super::matrix::{INTERRUPTED, on_interrupt};
use super::record;
use super::{BROKEN, GOOD};
use crate::explore::checks::CHECKS;
use crate::explore::engine::{
    Ended, Found, Limits, Options, Progress, Save, Stop, Store, explore, shortest,
};
use crate::explore::report::answers::Answers;
use crate::explore::report::flown::{self, Flown};
use crate::explore::report::retrace::{Leg, retrace};
use crate::explore::report::steer::{self, steer};
use crate::explore::report::story::Story;
use crate::explore::report::summary::{Scope, Summary, grouped};
use crate::explore::space::{Aircraft, World};
use crate::explore::trouble::{ACCEPTED, Trouble};
use crate::keep::Kind;
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::scenario::Scenario;
use crate::trace::Header;

/// A way to break something, as a scenario.
const WAY: Kind = Kind {
    name: "scenario of an exploration",
    beginning: steer::BEGINNING,
};

/// What `mastwright explore` is asked for.
#[derive(Debug, Args)]
pub struct Explore {
    /// How many things may be broken, each from any step on.
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=2))]
    faults: u8,
    /// Of the faults, only these.
    #[arg(long, value_name = "TROUBLE", num_args = 1.., value_parser = troubles())]
    only: Vec<String>,
    /// These too, which no controller can bear, and which are left out otherwise:
    /// `blade-turned`.
    #[arg(long, value_name = "TROUBLE", num_args = 1.., conflicts_with = "only",
        value_parser = accepted(), hide_possible_values = true)]
    with: Vec<String>,
    /// Only these requirements and hazards count.
    #[arg(long, value_name = "ID", num_args = 1.., value_parser = ids())]
    check: Vec<String>,
    /// Explore on after a breach.
    #[arg(long)]
    keep_going: bool,
    /// How many threads work; one for each core unless given.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep only a hash of each state: less memory, a small chance to miss states, and
    /// no stories.
    #[arg(long)]
    compact: bool,
    /// End before there are more states than this.
    #[arg(long, value_name = "N")]
    max_states: Option<u64>,
    /// End at this many steps from the beginning.
    #[arg(long, value_name = "N")]
    depth: Option<u32>,
    /// Keep every complete level in this file, to go on from.
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
    /// Go on from the file after an interruption.
    #[arg(long, requires = "save")]
    resume: bool,
    /// Write each counterexample to this folder as a scenario, and fly it.
    #[arg(long, value_name = "FOLDER", conflicts_with = "compact")]
    write: Option<PathBuf>,
    /// Print one JSON document instead of text.
    #[arg(long)]
    json: bool,
}

/// All that is told.
#[derive(Debug, Serialize)]
struct Told {
    #[serde(flatten)]
    summary: Summary,
    stories: Vec<Retold>,
    caution: &'static str,
}

/// A counterexample, and what the full world made of it.
#[derive(Debug, Serialize)]
struct Retold {
    #[serde(flatten)]
    story: Story,
    not_steered: Vec<String>,
    scenario: Option<PathBuf>,
    full_world: Option<Flown>,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When a file or an argument cannot be used.
pub fn run(wanted: &Explore, out: &mut dyn Write) -> miette::Result<u8> {
    let among = wanted.among();
    let mask = wanted.mask();
    let space = Aircraft::<Sequencer>::new(&Config::default(), wanted.faults.into(), among.clone());
    let stop = on_interrupt();
    let options = Options {
        threads: wanted.threads.unwrap_or_default().into(),
        store: if wanted.compact {
            Store::Compact { bits: 64, seed: 0 }
        } else {
            Store::Exact
        },
        stop: if wanted.keep_going {
            Stop::Never
        } else {
            Stop::Any(mask)
        },
        limits: Limits {
            states: wanted.max_states,
            depth: wanted.depth,
            bytes: None,
        },
        save: match &wanted.save {
            Some(path) => Some(Save {
                path: path.clone(),
                fingerprint: wanted.fingerprint(&among)?,
                resume: wanted.resume && path.exists(),
            }),
            None => None,
        },
        interrupt: Some(&*stop),
    };
    let bar = bar();
    let found = explore(&space, &options, &mut |progress| show(&bar, progress));
    let found = found.into_diagnostic()?;
    let answers = Answers::of(&space, &found, options.threads, |what| {
        bar.set_message(what)
    });
    let summary = Summary::of(&found, answers, wanted.scope());
    let code = match (found.ended, summary.is_good()) {
        (Ended::Interrupted, _) => INTERRUPTED,
        (_, true) => GOOD,
        (_, false) => BROKEN,
    };
    let stories = wanted.stories(&space, &found, mask, &bar)?;
    bar.finish_and_clear();
    wanted.tell(summary, stories, out)?;
    Ok(code)
}

impl Explore {
    /// The faults that may strike.
    fn among(&self) -> Vec<Trouble> {
        let named = |names: &[String]| {
            let all = Trouble::ALL.into_iter();
            let named = all.filter(|trouble| names.iter().any(|name| name == trouble.name()));
            named.collect::<Vec<_>>()
        };
        if self.only.is_empty() {
            let mut among = Trouble::bearable();
            among.extend(named(&self.with));
            among
        } else {
            named(&self.only)
        }
    }

    /// The bits of the checks that count.
    fn mask(&self) -> u64 {
        let counts = |id: &str| self.check.is_empty() || self.check.iter().any(|w| w == id);
        let counting = CHECKS.iter().enumerate();
        let counting = counting.filter(|(_, check)| counts(check.id));
        counting.fold(0, |bits, (bit, _)| bits | 1 << bit)
    }

    fn scope(&self) -> Scope {
        let names = |wanted: &[String]| {
            let all = Trouble::ALL.iter().map(|trouble| trouble.name());
            all.filter(|name| wanted.iter().any(|w| w == name))
                .collect()
        };
        Scope {
            faults: self.faults.into(),
            only: names(&self.only),
            with: names(&self.with),
            checks: CHECKS
                .iter()
                .map(|check| check.id)
                .filter(|id| self.check.iter().any(|wanted| wanted == id))
                .collect(),
        }
    }

    /// What a file of levels is of: this very program, its limits, what may break.
    fn fingerprint(&self, among: &[Trouble]) -> miette::Result<String> {
        let program = std::env::current_exe()
            .and_then(fs::read)
            .into_diagnostic()?;
        let build = crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(&program);
        let names: Vec<&str> = among.iter().map(|trouble| trouble.name()).collect();
        let config = format!("{:?}", Config::default());
        let config = crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(config.as_bytes());
        Ok(format!(
            "build={}-{build:016x} config={config:016x} faults={} among={}",
            env!("CARGO_PKG_VERSION"),
            self.faults,
            names.join(",")
        ))
    }

    /// The story of each broken check that counts.
    fn stories(
        &self,
        space: &Aircraft<Sequencer>,
        found: &Found<Aircraft<Sequencer>>,
        mask: u64,
        bar: &ProgressBar,
    ) -> miette::Result<Vec<Retold>> {
        let broken = found.broken.iter().map(|(bit, _)| bit);
        let broken: Vec<u32> = broken.filter(|bit| mask & 1 << bit != 0).collect();
        let threads = self.threads.unwrap_or_default().into();
        let mut stories = Vec::new();
        for (nth, &bit) in broken.iter().enumerate() {
            let (id, of) = (CHECKS[bit as usize].id, broken.len());
            bar.set_message(format!("looks for the story of {id}, {} of {of}", nth + 1));
            let Some(path) = shortest(space, found, bit, threads) else {
                continue;
            };
            let Some((begin, legs)) = retrace(space, &path, bit) else {
                continue;
            };
            stories.push(self.retell(bit, &begin, &legs)?);
        }
        Ok(stories)
    }

    fn retell(&self, bit: u32, begin: &World, legs: &[Leg]) -> miette::Result<Retold> {
        let story = Story::of(bit, begin, legs);
        let steered = steer(story.id, begin, legs);
        let mut retold = Retold {
            not_steered: steered.left,
            scenario: None,
            full_world: None,
            story,
        };
        if let Some(folder) = &self.write {
            let name = format!("{}.toml", retold.story.id.to_lowercase());
            let path = folder.join(&name);
            write(&path, &steered.text)?;
            let scenario = Scenario::parse(&name, &steered.text)?;
            let trace = path.with_extension("mwt");
            let flight = crate::join::take_off(&scenario, scenario.seed);
            let mut flight = record::begin(flight, Some(&trace), || {
                Header::new(&scenario, scenario.seed, "a story of the exploration")
            })?;
            retold.full_world = Some(flown::fly_in(retold.story.id, &scenario, &mut flight));
            record::end(flight, false, &mut std::io::sink())?;
            retold.scenario = Some(path);
        }
        Ok(retold)
    }

    fn tell(
        &self,
        summary: Summary,
        stories: Vec<Retold>,
        out: &mut dyn Write,
    ) -> miette::Result<()> {
        if self.json {
            let told = Told {
                summary,
                stories,
                caution: CAUTION,
            };
            serde_json::to_writer_pretty(&mut *out, &told).into_diagnostic()?;
            return writeln!(out).into_diagnostic();
        }
        let broken = summary.checks.iter().any(|row| row.broken.is_some());
        let note = self.note(&summary, broken);
        print(&summary, &stories, note.as_deref(), out).into_diagnostic()
    }

    /// What the reader may want to do next.
    fn note(&self, summary: &Summary, broken: bool) -> Option<String> {
        if broken && self.compact {
            return Some("Without --compact, the same command tells the stories.".to_owned());
        }
        let save = self.save.as_ref().filter(|_| !summary.whole)?;
        Some(format!(
            "{} holds every complete level; the same command with --resume goes on.",
            save.display()
        ))
    }
}

fn print(
    summary: &Summary,
    stories: &[Retold],
    note: Option<&str>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let paint = Paint::of_stdout();
    summary.print(out, paint)?;
    for retold in stories {
        writeln!(out)?;
        retold.story.print(out, paint)?;
        for left in &retold.not_steered {
            for line in wrap(&format!("not steered: {left}"), COLUMNS - 6) {
                writeln!(out, "      {line}")?;
            }
        }
        if let (Some(path), Some(flown)) = (&retold.scenario, &retold.full_world) {
            writeln!(out, "      {}", path.display())?;
            for line in wrap(&flown.to_string(), COLUMNS - 6) {
                writeln!(out, "      {line}")?;
            }
        }
    }
    writeln!(out)?;
    for line in note
        .into_iter()
        .chain([CAUTION])
        .flat_map(|text| wrap(text, COLUMNS))
    {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

fn troubles() -> PossibleValuesParser {
    Trouble::ALL.map(Trouble::name).into()
}

fn accepted() -> PossibleValuesParser {
    PossibleValuesParser::new(ACCEPTED.iter().map(|accepted| accepted.trouble.name()))
}

fn ids() -> PossibleValuesParser {
    PossibleValuesParser::new(CHECKS.iter().map(|check| check.id))
}

/// Keeps a way in the folder, which is made if it is not there.
fn write(path: &Path, text: &str) -> miette::Result<()> {
    let help = "give --write a folder that can be written, without files of yours in the way";
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)
            .map_err(|error| miette!(help = help, "{}: {error}", folder.display()))?;
    }
    WAY.write(path, text)
        .map_err(|error| miette!(help = help, "{error}"))
}

fn bar() -> ProgressBar {
    let target = if io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let style = ProgressStyle::with_template("{spinner} {elapsed} {wide_msg}")
        .unwrap_or_else(|_| ProgressStyle::default_spinner());
    let bar = ProgressBar::with_draw_target(None, target).with_style(style);
    bar.enable_steady_tick(Duration::from_millis(500));
    bar
}

fn show(bar: &ProgressBar, progress: &Progress) {
    bar.set_message(format!(
        "step {}: {} of {} states; {} in all, {:.1} M transitions/s",
        progress.level,
        grouped(progress.expanded),
        grouped(progress.frontier),
        grouped(progress.states),
        progress.rate / 1e6,
    ));
}
