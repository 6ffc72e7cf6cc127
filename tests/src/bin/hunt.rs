//! Flies missions for as long as asked and shows every distinct way in which something
//! broke, each made as simple as it can be.
//!
//! `cargo run --release -p mastwright-tests --bin hunt -- PLAN MISSIONS FOLDER`, where
//! PLAN is `calm`, `single`, `double`, `recovery` or `recovery-calm`. Findings are
//! distinct by what broke and what failed; each is written to FOLDER as a scenario.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use mastwright_tests::flown::{self, Flown};
use mastwright_tests::mission::{Ending, Mission};
use mastwright_tests::pilot::{self, Plan};
use mastwright_tests::prove::{keep, seed};
use mastwright_tests::simpler;

type Findings = BTreeMap<String, (u64, Mission)>;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [plan, missions, folder] = args.as_slice() else {
        panic!("give a plan, a number of missions and a folder");
    };
    let missions: u64 = missions.parse().expect("the number of missions");
    let (upsets, ending) = match plan.as_str() {
        "calm" => ((0, 0), Ending::Left),
        "single" => ((1, 1), Ending::Left),
        "double" => ((2, 2), Ending::Left),
        "recovery" => ((0, 2), Ending::Recovery),
        "recovery-calm" => ((0, 0), Ending::Recovery),
        other => panic!("{other} is no plan"),
    };
    let plan = Plan { upsets, ending };
    std::panic::set_hook(Box::new(|_| {}));
    let findings = Mutex::new(Findings::new());
    let ends = Mutex::new(BTreeMap::<String, u64>::new());
    let next = AtomicU64::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| work(plan, missions, &next, &findings, &ends));
        }
    });
    for (end, count) in ends.into_inner().expect("no thread panics") {
        println!("end {end}: {count}");
    }
    report(
        plan,
        findings.into_inner().expect("no thread panics"),
        Path::new(folder),
    );
}

fn work(
    plan: Plan,
    missions: u64,
    next: &AtomicU64,
    findings: &Mutex<Findings>,
    ends: &Mutex<BTreeMap<String, u64>>,
) {
    loop {
        let number = next.fetch_add(1, Ordering::Relaxed);
        if number >= missions {
            return;
        }
        let mut draw = mastwright_sim::rng::Rng::new(seed() ^ number.rotate_left(20));
        let mission = pilot::mission(draw.bits(), plan);
        let (faults, end) = faults_of(plan, &mission);
        *ends
            .lock()
            .expect("no thread panics")
            .entry(end)
            .or_default() += 1;
        let mut findings = findings.lock().expect("no thread panics");
        for key in faults {
            let first = findings
                .entry(format!("{key} | {}", cause(&mission)))
                .or_insert_with(|| (0, mission.clone()));
            first.0 += 1;
        }
    }
}

fn cause(mission: &Mission) -> String {
    let upsets: Vec<String> = mission
        .upsets
        .iter()
        .map(|upset| format!("{} {}", upset.target, upset.kind))
        .collect();
    if upsets.is_empty() {
        "no fault".to_owned()
    } else {
        upsets.join(" + ")
    }
}

/// What is wrong with a mission, each in few words, and how it ended.
fn faults_of(plan: Plan, mission: &Mission) -> (Vec<String>, String) {
    let Ok(flown) = catch_unwind(AssertUnwindSafe(|| flown::fly(mission))) else {
        return (vec!["panic".to_owned()], "panic".to_owned());
    };
    let mut faults: Vec<String> = flown.verdict.broken().map(short).collect();
    if plan.ending == Ending::Recovery {
        faults.extend(flown.recovered().err());
        if let Some(halt) = flown.last.outputs.indications.state.halt() {
            faults.push(format!("end Halted({halt:?})"));
        }
    }
    if plan.upsets.1 == 0 {
        faults.extend(
            flown
                .latched
                .iter()
                .map(|fault| format!("latched {fault:?}")),
        );
    }
    (faults, end(&flown))
}

fn short(line: &mastwright_sim::oracle::Judgement) -> String {
    match line.outcome {
        mastwright_sim::oracle::Outcome::Broken { first, .. } => {
            format!("{}: {}", line.id, first.what)
        }
        mastwright_sim::oracle::Outcome::Held { .. }
        | mastwright_sim::oracle::Outcome::NotExercised
        | mastwright_sim::oracle::Outcome::ByTest { .. } => line.id.to_owned(),
    }
}

fn end(flown: &Flown) -> String {
    format!("{:?}", flown.last.outputs.indications.state)
}

fn report(plan: Plan, findings: Findings, folder: &Path) {
    let simple = simplified(plan, findings.into_iter().collect());
    println!("{} distinct findings", simple.len());
    for (key, (count, mission)) in simple {
        let name: String = key
            .chars()
            .map(|c| {
                if c.is_ascii_alphanumeric() {
                    c.to_ascii_lowercase()
                } else {
                    '-'
                }
            })
            .collect();
        let name = name.replace("--", "-").replace("--", "-");
        let path = keep(folder, &name, &mission);
        println!("{count:6}  {key}\n        {}", path.display());
    }
}

/// Each finding made simple, and named anew by what is left in it: what breaks without
/// any fault is no finding about one.
fn simplified(plan: Plan, rows: Vec<(String, (u64, Mission))>) -> Findings {
    let out = Mutex::new(Findings::new());
    let next = AtomicU64::new(0);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed) as usize;
                    let Some((key, (count, mission))) = rows.get(index) else {
                        return;
                    };
                    let what = key.split(" | ").next().unwrap_or(key);
                    let bad = |m: &Mission| faults_of(plan, m).0.iter().any(|f| f == what);
                    let simple = simpler::simplest(mission, bad);
                    let key = format!("{what} | {}", cause(&simple));
                    let mut out = out.lock().expect("no thread panics");
                    out.entry(key).or_insert((0, simple)).0 += count;
                }
            });
        }
    });
    out.into_inner().expect("no thread panics")
}
