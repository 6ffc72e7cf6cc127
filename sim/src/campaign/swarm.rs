//! Swarms: long random missions, each under its own random mixture of faults.
//!
//! Each run draws which kinds of faults are off altogether and weighs the others wildly
//! differently, since a mixture of everything seldom lets any one combination come
//! about. Its pilot is drawn the same way. Then every fault has ended, the pilot puts
//! the controls back, acknowledges and asks to stow, twice; and the aircraft must come
//! to rest: stowed, deployed, resting or in a declared safe halt.
//!
//! A run is a scenario made from one number, so the number and the build fly it again.
//! Several faults at once may do harm that no controller can prevent: harm is counted
//! and ranked, and only rest is demanded.

use std::fmt::Write;

use mastwright_core::Sequencer;

use super::record::{End, Ticks};
use super::run::{self, Watch};
use crate::faults::{Entry, Kind, catalogue};
use crate::flight::Flight;
use crate::oracle::Outcome;
use crate::rng::Rng;
use crate::scenario::Scenario;
use crate::world::World;

/// How long faults and pilot rage, s.
const STORM: u64 = 240;
/// From the end of the storm to the end of the run, s: two attempts to stow, each of
/// which must end within 60 s.
const CALM: u64 = 160;
/// Most faults of a run.
const FAULTS: u64 = 24;
/// Most actions of a run, those of the calm apart.
const ACTIONS: u64 = 50;
/// One kind in so many is off altogether.
const OFF: u64 = 2;
/// Weights of the others range over so many powers of two.
const SPREAD: u64 = 8;

/// What the pilot does, `N` standing for a number drawn between the two that follow.
const DEEDS: &[(&str, u64, u64)] = &[
    ("select deploy", 0, 0),
    ("select stow", 0, 0),
    ("select deploy for N s", 1, 12),
    ("select stow for N s", 1, 12),
    ("throttle to N % over 1 s", 0, 100),
    ("throttle to N % over 1 s", 0, 0),
    ("stop on", 0, 0),
    ("stop off", 0, 0),
    ("acknowledge for N s", 1, 4),
    ("aux charge on", 0, 0),
    ("aux charge off", 0, 0),
    ("bench key on", 0, 0),
    ("bench key off", 0, 0),
    ("heat test for N s", 1, 3),
    ("airspeed to N m/s over 5 s", 20, 45),
    ("power off for N s", 1, 3),
];

/// The pilot's part after the storm: seconds after its end, and what is done.
const CALMING: &[(u64, &str)] = &[
    (0, "throttle to 0 %"),
    (0, "stop off"),
    (0, "bench key off"),
    (0, "aux charge off"),
    (0, "power on"),
    (0, "airspeed to 27 m/s over 2 s"),
    (4, "acknowledge for 4 s"),
    (10, "select stow"),
    (80, "acknowledge for 4 s"),
    (86, "select stow"),
];

/// Draws with wildly different weights.
struct Weighed {
    sums: Vec<u64>,
}

impl Weighed {
    fn new(rng: &mut Rng, count: usize) -> Self {
        let mut sum = 0;
        let sums = (0..count).map(|_| {
            let off = rng.bits().is_multiple_of(OFF);
            sum += if off { 0 } else { 1 << (rng.bits() % SPREAD) };
            sum
        });
        Self {
            sums: sums.collect(),
        }
    }

    /// One of them; none when all are off.
    fn draw(&self, rng: &mut Rng) -> Option<usize> {
        let sum = self.sums.last().copied().filter(|sum| *sum > 0)?;
        let drawn = rng.bits() % sum;
        Some(self.sums.partition_point(|upto| *upto <= drawn))
    }
}

/// The scenario of run number `seed`, as the text of its file.
#[must_use]
pub fn text(seed: u64) -> String {
    let mut rng = Rng::new(Rng::new(seed).bits());
    let mut text = format!(
        "title = \"Swarm run {seed}\"\nbriefing = \"Invented: a random pilot under a random \
         mixture of faults, then calm.\"\nseed = {seed}\nlength = {}\n\n[start]\n",
        STORM + CALM
    );
    text += [
        "mast = \"stowed\"\n",
        "mast = \"stowed\"\nheight = 1500\nairspeed = 27\n",
        "mast = \"deployed\"\nheight = 1500\nairspeed = 27\n",
        "mast = 50\nheight = 1500\nairspeed = 27\n",
    ][(rng.bits() % 4) as usize];
    actions(&mut rng, &mut text);
    faults(&mut rng, &mut text);
    text
}

fn actions(rng: &mut Rng, text: &mut String) {
    let weighed = Weighed::new(rng, DEEDS.len());
    for _ in 0..rng.bits() % ACTIONS {
        let at = rng.bits() % (STORM * 100);
        if let Some(deed) = weighed.draw(rng) {
            let (words, least, most) = DEEDS[deed];
            let number = least + rng.bits() % (most - least + 1);
            let words = words.replace('N', &number.to_string());
            push(text, "action", at, &format!("do = \"{words}\"\n"));
        }
    }
    for (after, words) in CALMING {
        push(
            text,
            "action",
            (STORM + after) * 100,
            &format!("do = \"{words}\"\n"),
        );
    }
}

fn faults(rng: &mut Rng, text: &mut String) {
    let entries: Vec<Entry> = catalogue().collect();
    let kinds = Weighed::new(rng, Kind::ALL.len());
    for _ in 0..1 + rng.bits() % FAULTS {
        let at = rng.bits() % ((STORM - 30) * 100);
        let Some(kind) = kinds.draw(rng) else {
            continue;
        };
        let of_kind = entries.iter().filter(|entry| entry.kind == Kind::ALL[kind]);
        let of_kind: Vec<&Entry> = of_kind.collect();
        let entry = of_kind[(rng.bits() % of_kind.len() as u64) as usize];
        let mut body = format!("target = \"{}\"\nkind = \"{}\"\n", entry.target, entry.kind);
        if entry.kind == Kind::BitFlip {
            let _ = writeln!(body, "strength = {}", rng.bits() % (1 << 20));
        }
        if entry.lasts {
            // Mostly short, seldom long, never beyond the storm.
            let long = 1 << (rng.bits() % 12);
            let lasts = (50 + rng.bits() % (2 * long)).min(STORM * 100 - at);
            let _ = writeln!(body, "duration = {}", Ticks(lasts));
        }
        push(text, "fault", at, &body);
    }
}

fn push(text: &mut String, table: &str, at: u64, body: &str) {
    let _ = write!(text, "\n[[{table}]]\nat = {}\n{body}", Ticks(at));
}

/// What came of one run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Its number.
    pub seed: u64,
    /// Hazards that came about, under however many faults.
    pub hazards: Vec<&'static str>,
    /// Requirements broken.
    pub requirements: Vec<&'static str>,
    /// How it ended.
    pub end: End,
    /// State of the controller at the end.
    pub state: String,
}

impl Run {
    /// The aircraft came to rest once the faults had ended.
    #[must_use]
    pub fn converged(&self) -> bool {
        self.end != End::Moving && self.end != End::Unpowered
    }
}

/// Flies run number `seed`.
#[must_use]
pub fn fly(seed: u64) -> Run {
    let scenario = Scenario::parse("swarm.toml", &text(seed)).expect("a swarm run is in order");
    let mut flight = crate::join::Judged::new(World::<Sequencer>::new(&scenario, seed));
    let mut watch = Watch::default();
    for _ in 0..scenario.ticks {
        flight.step();
        watch.see(flight.frame(), flight.oracle().emergency());
    }
    let verdict = flight.oracle().finish();
    let broken = |lines: &[crate::oracle::Judgement]| {
        let broken = lines
            .iter()
            .filter(|line| Outcome::is_broken(&line.outcome));
        broken.map(|line| line.id).collect()
    };
    Run {
        seed,
        hazards: broken(&verdict.hazards),
        requirements: broken(&verdict.requirements),
        end: watch.end(flight.frame()),
        state: run::final_state(flight.frame()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_run_is_a_scenario_in_order_and_comes_again_by_its_number() {
        for seed in 0..200 {
            let text = text(seed);
            assert_eq!(text, super::text(seed));
            if let Err(problem) = Scenario::parse("swarm.toml", &text) {
                panic!("{:?}\n{text}", miette::Report::new(problem));
            }
        }
    }

    #[test]
    fn every_fault_of_a_run_has_ended_before_the_calm() {
        for seed in 0..50 {
            let scenario = Scenario::parse("swarm.toml", &text(seed)).expect("in order");
            for fault in &scenario.faults {
                let crate::scenario::Start::At(at) = fault.cue.start else {
                    panic!("a swarm's faults begin at times");
                };
                let lasts = crate::scenario::ticks(fault.duration.unwrap_or(0.01));
                assert!(at + lasts <= STORM * 100, "{}", fault.words());
            }
        }
    }
}
