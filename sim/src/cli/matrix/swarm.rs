//! `mastwright matrix --swarm`: long random missions under random mixtures of faults.

use std::collections::BTreeMap;
use std::io::{self, Write};

use rayon::prelude::*;

use super::{BATCH, bar};
use crate::campaign::swarm::{self, Run};
use crate::report::CAUTION;
use crate::report::layout::{COLUMNS, wrap};

/// Most runs named of one kind.
const NAMED: usize = 5;

/// Runs counted as they come.
#[derive(Default)]
struct Tally {
    runs: u64,
    ends: BTreeMap<&'static str, u64>,
    restless: Vec<Run>,
    harm: BTreeMap<String, (u64, Vec<u64>)>,
    broken: BTreeMap<String, (u64, Vec<u64>)>,
}

impl Tally {
    fn see(&mut self, run: &Run) {
        self.runs += 1;
        *self.ends.entry(run.end.name()).or_default() += 1;
        if !run.converged() {
            self.restless.push(run.clone());
        }
        let add = |groups: &mut BTreeMap<String, (u64, Vec<u64>)>, ids: &[&str]| {
            if ids.is_empty() {
                return;
            }
            let (count, named) = groups.entry(ids.join(" ")).or_default();
            *count += 1;
            if named.len() < NAMED {
                named.push(run.seed);
            }
        };
        add(&mut self.harm, &run.hazards);
        if run.hazards.is_empty() {
            add(&mut self.broken, &run.requirements);
        }
    }
}

/// Flies runs `seed` to `seed + runs`; true when every one came to rest.
pub(super) fn swarm(seed: u64, runs: u64, out: &mut dyn Write) -> io::Result<bool> {
    let bar = bar(usize::try_from(runs).unwrap_or(usize::MAX), 0);
    let mut tally = Tally::default();
    let mut next = 0;
    while next < runs {
        let batch = next..(next + BATCH as u64).min(runs);
        let flown: Vec<Run> = batch
            .clone()
            .into_par_iter()
            .map(|number| {
                let run = swarm::fly(seed.wrapping_add(number));
                bar.inc(1);
                run
            })
            .collect();
        flown.iter().for_each(|run| tally.see(run));
        next = batch.end;
    }
    bar.finish_and_clear();
    print(&tally, out)?;
    Ok(tally.restless.is_empty())
}

fn print(tally: &Tally, out: &mut dyn Write) -> io::Result<()> {
    let ends = tally.ends.iter().map(|(end, runs)| format!("{end} {runs}"));
    let ends: Vec<String> = ends.collect();
    writeln!(out, "{} swarm runs end {}", tally.runs, ends.join(", "))?;
    for (title, groups) in [
        (
            "Harm under several faults at once, commonest first",
            &tally.harm,
        ),
        ("Requirements broken without harm", &tally.broken),
    ] {
        let mut groups: Vec<_> = groups.iter().collect();
        groups.sort_by_key(|(_, (count, _))| std::cmp::Reverse(*count));
        writeln!(out, "\n{title}")?;
        for (ids, (count, seeds)) in groups {
            let seeds: Vec<String> = seeds.iter().map(u64::to_string).collect();
            writeln!(out, "  {count:>6}  {ids}  (runs {})", seeds.join(", "))?;
        }
    }
    writeln!(
        out,
        "\nNot at rest after the faults ended: {}",
        tally.restless.len()
    )?;
    for run in &tally.restless {
        writeln!(
            out,
            "  run {} ends {}, {}",
            run.seed,
            run.end.name(),
            run.state
        )?;
    }
    writeln!(
        out,
        "\nRun S again: mastwright matrix --swarm 1 --seed S --scenario > S.toml,\n\
         then mastwright run S.toml"
    )?;
    writeln!(out)?;
    wrap(CAUTION, COLUMNS)
        .iter()
        .try_for_each(|line| writeln!(out, "{line}"))
}
