//! `mastwright matrix`: every fault at every moment.

mod page;
mod swarm;

use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use clap::{Args, Subcommand};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use mastwright_core::Sequencer;
use miette::{IntoDiagnostic, miette};
use rayon::prelude::*;

use super::record;
use super::{BROKEN, GOOD};
use crate::campaign;
use crate::campaign::accepted::ACCEPTED;
use crate::campaign::base::Base;
use crate::campaign::cell::Cell;
use crate::campaign::mission::MISSIONS;
use crate::campaign::page::Heading;
use crate::campaign::plan::{self, INSTANTS, Order, Plan, Sweep};
use crate::campaign::store::{self, Shard, Store};
use crate::campaign::summary::{self, Faultless, Summary};
use crate::flight::Flight;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::Paint;
use crate::report::{self, CAUTION, text};
use crate::scenario::Scenario;
use crate::trace::Header;
use page::Seen;

/// Exit code after an interruption, as shells give it.
pub const INTERRUPTED: u8 = 130;
/// Cells flown between two writes: a fraction of a second.
const BATCH: usize = 256;

/// What `mastwright matrix` is asked for.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Matrix {
    #[command(subcommand)]
    then: Option<Then>,
    #[command(flatten)]
    wanted: Wanted,
}

#[derive(Debug, Subcommand)]
enum Then {
    /// Join the shards of one matrix into the table an unsplit run writes.
    Merge {
        /// Every shard, in any order.
        #[arg(required = true)]
        shards: Vec<PathBuf>,
        /// Write the table to this file.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Make a page of a table: one HTML file that needs nothing else.
    Page {
        /// The table, as --out or `matrix merge` wrote it.
        table: PathBuf,
        /// Write the page to this file.
        #[arg(short, long, value_name = "FILE.html")]
        out: PathBuf,
    },
}

#[derive(Debug, Args)]
struct Wanted {
    /// Only cells whose name or state at the onset contains this, such as `mast-jam`,
    /// `StowMast` or `stop-in-flight@`.
    #[arg(long, value_name = "TEXT")]
    only: Option<String>,
    /// Seed of everything random.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Moments in each state of the controller.
    #[arg(long, value_name = "N", default_value_t = INSTANTS, value_parser = clap::value_parser!(u64).range(1..=100))]
    instants: u64,
    /// Fly every strength and duration of a fault at every moment, not at one moment of
    /// each state.
    #[arg(long)]
    all_variants: bool,
    /// Do not measure how long the controller could have waited.
    #[arg(long)]
    no_margins: bool,
    /// Every two faults together at least once, at moments drawn by the seed.
    #[arg(long, group = "sweep")]
    pairs: bool,
    /// So many threes of faults, drawn by the seed.
    #[arg(long, value_name = "N", group = "sweep")]
    triples: Option<u64>,
    /// So many long random missions under random mixtures of faults, from run number S
    /// (the seed) on; each must come to rest once its faults have ended.
    #[arg(long, value_name = "N", group = "sweep", conflicts_with_all = ["only", "out"])]
    swarm: Option<u64>,
    /// Write the table to this file as CSV; docs/fault-matrix.md names its columns.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Write the result to this file as an HTML page that needs nothing else.
    #[arg(long, value_name = "FILE.html", conflicts_with_all = ["swarm", "cell"])]
    page: Option<PathBuf>,
    /// Continue the table in FILE after an interruption.
    #[arg(long, requires = "out")]
    resume: bool,
    /// Fly part K of N only; `mastwright matrix merge` joins the parts.
    #[arg(long, value_name = "K/N", requires = "out")]
    shard: Option<Shard>,
    /// Fly this one cell and tell what happens.
    #[arg(long, value_name = "CELL", group = "sweep", conflicts_with_all = ["only", "out"])]
    cell: Option<String>,
    /// With --cell: record its flight in this file, a trace.
    #[arg(
        long,
        value_name = "FILE",
        requires = "cell",
        conflicts_with = "scenario"
    )]
    record: Option<PathBuf>,
    /// Print the cell, or the swarm's run number S, as a scenario for `mastwright run`.
    #[arg(long)]
    scenario: bool,
}

/// Runs the command; the exit code.
///
/// # Errors
/// When a file or an argument cannot be used.
pub fn matrix(command: &Matrix, out: &mut dyn Write) -> miette::Result<u8> {
    match &command.then {
        Some(Then::Merge { shards, out: to }) => {
            let mut summary = Summary::default();
            store::merge(shards, to.as_deref(), |record| summary.see(&record)).into_diagnostic()?;
            conclude(&summary, &Faultless::default(), 1, false, out)
        }
        Some(Then::Page { table, out: to }) => page::of_table(table, to, out).map(|()| GOOD),
        None => fly(&command.wanted, out),
    }
}

fn fly(wanted: &Wanted, out: &mut dyn Write) -> miette::Result<u8> {
    match (&wanted.cell, wanted.swarm) {
        (Some(name), _) => one_cell(name, wanted, out),
        (None, Some(_)) if wanted.scenario => {
            let text = campaign::swarm::text(wanted.seed);
            out.write_all(text.as_bytes()).into_diagnostic()?;
            Ok(GOOD)
        }
        (None, Some(runs)) => {
            let good = swarm::swarm(wanted.seed, runs, out).into_diagnostic()?;
            Ok(if good { GOOD } else { BROKEN })
        }
        (None, None) if wanted.scenario => Err(miette!(
            help = "give --cell CELL, or --swarm 1 --seed S",
            "--scenario needs to know what to print"
        )),
        (None, None) => sweep(wanted, out),
    }
}

impl Wanted {
    fn order(&self) -> Order {
        Order {
            sweep: match (self.pairs, self.triples) {
                (true, _) => Sweep::Pairs,
                (false, Some(count)) => Sweep::Triples(count),
                (false, None) => Sweep::Singles,
            },
            seed: self.seed,
            instants: self.instants,
            all_variants: self.all_variants,
            only: self.only.clone(),
            margins: !self.no_margins,
        }
    }
}

fn sweep(wanted: &Wanted, out: &mut dyn Write) -> miette::Result<u8> {
    let plan = Plan::<Sequencer>::new(wanted.order(), plan::missions()?);
    if plan.is_empty() {
        return Err(miette!(
            help = "give a part of a cell's name, such as `mast-jam`, or of a state's, such as \
                    `StowMast`; `mastwright list faults` shows the faults",
            "no cell contains `{}`",
            wanted.only.as_deref().unwrap_or_default()
        ));
    }
    let shard = wanted.shard.unwrap_or(Shard::WHOLE);
    let mut seen = Seen::new(wanted.page.as_deref())?;
    let (mut store, done) = open(wanted, &plan, shard, &mut seen)?;
    let cells = shard.len(plan.len());
    let stop = on_interrupt();
    let bar = bar(cells, done);
    let mut next = done;
    while next < cells && !stop.load(Ordering::Relaxed) {
        let batch = next..(next + BATCH).min(cells);
        let records: Vec<_> = batch
            .clone()
            .into_par_iter()
            .map(|index| {
                let record = plan.fly(shard.cell(index));
                bar.inc(1);
                record
            })
            .collect();
        if let Some(store) = &mut store {
            store.append(&records).into_diagnostic()?;
        }
        records.iter().for_each(|record| seen.see(record));
        next = batch.end;
    }
    bar.finish_and_clear();
    if next < cells {
        writeln!(out, "interrupted after {next} of {cells} cells").into_diagnostic()?;
        if let Some(file) = &wanted.out {
            writeln!(
                out,
                "{} holds them; the same command with --resume goes on",
                file.display()
            )
            .into_diagnostic()?;
        }
        return Ok(INTERRUPTED);
    }
    let whole =
        wanted.only.is_none() && shard == Shard::WHOLE && wanted.order().sweep == Sweep::Singles;
    let faultless = faultless(plan.bases());
    let heading = Heading::new(&format!(
        "shard={}/{} {}",
        shard.part,
        shard.of,
        plan.heading()
    ));
    seen.write(&heading, &faultless, wanted.page.as_deref())?;
    conclude(&seen.summary, &faultless, wanted.seed, whole, out)
}

/// The table, if one is to be written, and how many of its cells are there.
fn open(
    wanted: &Wanted,
    plan: &Plan<Sequencer>,
    shard: Shard,
    seen: &mut Seen,
) -> miette::Result<(Option<Store>, usize)> {
    let Some(path) = &wanted.out else {
        return Ok((None, 0));
    };
    let heading = plan.heading();
    if wanted.resume && path.exists() {
        let (store, done) =
            Store::resume(path, &heading, shard, |record| seen.see(&record)).into_diagnostic()?;
        return Ok((Some(store), done));
    }
    let store = Store::create(path, &heading, shard).into_diagnostic()?;
    Ok((Some(store), 0))
}

/// A flag that an interruption sets: what is under way is finished or dropped as a whole.
pub(super) fn on_interrupt() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&stop);
    // Without a handler an interruption ends the process at once, and the table still
    // holds everything before.
    let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
    stop
}

fn bar(cells: usize, done: usize) -> ProgressBar {
    let target = if io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} cells, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::with_draw_target(Some(cells as u64), target).with_style(style);
    bar.set_position(done as u64);
    bar.enable_steady_tick(Duration::from_millis(500));
    bar
}

fn faultless(bases: &[Base<Sequencer>]) -> Faultless {
    let spurious = bases.iter().filter_map(|base| {
        if base.spurious.is_empty() && base.broken.is_empty() {
            return None;
        }
        let alerts: Vec<String> = base.spurious.iter().map(|f| format!("{f:?}")).collect();
        Some(format!(
            "{}: alerts [{}], broken [{}]",
            base.scenario.name,
            alerts.join(" "),
            base.broken.join(" ")
        ))
    });
    Faultless {
        missions: bases.len(),
        spurious: spurious.collect(),
    }
}

/// Prints the summary; the exit code. `whole`: every single fault was flown, so that an
/// accepted harm that did not come is no longer needed.
fn conclude(
    summary: &Summary,
    faultless: &Faultless,
    seed: u64,
    whole: bool,
    out: &mut dyn Write,
) -> miette::Result<u8> {
    let replay = if seed == 1 {
        "mastwright matrix --cell".to_owned()
    } else {
        format!("mastwright matrix --seed {seed} --cell")
    };
    summary::print(out, summary, faultless, &replay).into_diagnostic()?;
    let mut good = summary.unaccepted == 0 && faultless.spurious.is_empty();
    if whole {
        for (index, accepted) in ACCEPTED.iter().enumerate() {
            if summary.accepted.get(index).is_none_or(|cells| *cells == 0) {
                good = false;
                writeln!(
                    out,
                    "No longer needed: the accepted harm {} by {} {}",
                    accepted.hazard, accepted.target, accepted.kind
                )
                .into_diagnostic()?;
            }
        }
    }
    writeln!(out).into_diagnostic()?;
    for line in wrap(CAUTION, COLUMNS) {
        writeln!(out, "{line}").into_diagnostic()?;
    }
    Ok(if good { GOOD } else { BROKEN })
}

fn one_cell(name: &str, wanted: &Wanted, out: &mut dyn Write) -> miette::Result<u8> {
    let cell: Cell = name.parse().map_err(|error| {
        miette!(
            help = "copy a cell's name from the table or the summary of `mastwright matrix`",
            "{error}"
        )
    })?;
    let mission = MISSIONS[cell.mission];
    let scenario = mission.scenario()?;
    if cell
        .faults
        .iter()
        .any(|ordered| ordered.tick >= scenario.ticks)
    {
        return Err(miette!(
            help = format!("give ticks of 10 ms below {}", scenario.ticks),
            "`{name}` begins after the mission has ended"
        ));
    }
    let base = Base::<Sequencer>::fly(scenario, wanted.seed);
    let flown = plan::fly_alone(&base, &cell);
    let text = cell.scenario(mission.text, wanted.seed, flown.length);
    if wanted.scenario {
        out.write_all(text.as_bytes()).into_diagnostic()?;
        return Ok(GOOD);
    }
    let scenario = Scenario::parse(&format!("{}.toml", mission.name), &text)?;
    let flight = crate::join::take_off(&scenario, wanted.seed);
    let mut flight = record::begin(flight, wanted.record.as_deref(), || {
        let by = format!("the controller of the program, as matrix cell {name}");
        Header::new(&scenario, wanted.seed, &by)
    })?;
    let good = tell(name, &scenario, wanted.seed, &mut flight, out).into_diagnostic()?;
    record::end(flight, true, out)?;
    writeln!(out, "\nThis cell").into_diagnostic()?;
    for (column, value) in store::fields(&flown.record) {
        writeln!(out, "  {column:<18} {value}").into_diagnostic()?;
    }
    Ok(if good { GOOD } else { BROKEN })
}

/// Flies a cell's scenario, tells what happens and the verdict; true when nothing broke.
fn tell(
    name: &str,
    scenario: &Scenario,
    seed: u64,
    flight: &mut impl Flight,
    out: &mut dyn Write,
) -> io::Result<bool> {
    let paint = Paint::of_stdout();
    text::heading(out, scenario, seed, paint)?;
    let replay = format!("mastwright matrix --seed {seed} --cell {name}");
    let mut written = Ok(());
    let report = report::fly(scenario, seed, &replay, flight, |entry| {
        if written.is_ok() {
            written = text::entry(out, entry, paint);
        }
    });
    written?;
    text::conclusion(out, &report, paint)?;
    Ok(report.good)
}
