//! Trial.
use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::checks::CHECKS;
use mastwright_sim::explore::engine::*;
use mastwright_sim::explore::space::*;
use mastwright_sim::explore::trouble::*;
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let faults: usize = args[1].parse().unwrap();
    let among: Vec<Trouble> = if args.len() > 2 && args[2] != "all" {
        args[2]
            .split(',')
            .map(|n| Trouble::ALL.into_iter().find(|t| t.name() == n).unwrap())
            .collect()
    } else {
        Aircraft::<Sequencer>::bearable()
    };
    let max: u64 = args.get(3).map_or(30_000_000, |s| s.parse().unwrap());
    let space = Aircraft::<Sequencer>::new(&Config::default(), faults, among);
    let options = Options {
        limits: Limits {
            states: Some(max),
            depth: std::env::var("DEPTH").ok().map(|d| d.parse().unwrap()),
            ..Limits::default()
        },
        stop: Stop::Never,
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |p| {
        if p.expanded == 0 {
            eprintln!(
                "level {} frontier {} states {} trans {} rate {:.1}M",
                p.level,
                p.frontier,
                p.states,
                p.transitions,
                p.rate / 1e6
            )
        }
    })
    .unwrap();
    println!(
        "{:?} states {} depth {} trans {} steps {} cost {:?}",
        found.ended,
        found.states(),
        found.depth(),
        found.transitions,
        found.tally.steps,
        found.cost
    );
    for (i, c) in CHECKS.iter().enumerate() {
        println!(
            "{:6} tested {:>12} {:?}",
            c.id,
            found.tally.tested[i],
            found.broken.get(i as u32)
        );
    }
    println!("{:?}", found.tally.seen);
    if std::env::var("STAT").is_ok() {
        use std::collections::*;
        let reached = found.reached.as_ref().unwrap();
        let mut per: BTreeMap<String, [HashSet<u128>; 4]> = BTreeMap::new();
        let mut n: BTreeMap<String, usize> = BTreeMap::new();
        let mut bits: BTreeMap<String, [usize; 128]> = BTreeMap::new();
        for level in 0..found.levels.len() {
            for node in reached.level(level).flatten() {
                let (c, w) = space.open(&node);
                let k = format!("{:?}", c.state());
                let raw: u128 =
                    u128::from_le_bytes(node.to_bytes().as_ref()[..16].try_into().unwrap());
                let e = per.entry(k.clone()).or_default();
                e[0].insert(raw & ((1 << 86) - 1));
                e[1].insert((raw >> 86) & ((1 << 19) - 1));
                e[2].insert(u128::from(w.watch.pack()));
                *n.entry(k.clone()).or_default() += 1;
                let b = bits.entry(k).or_insert([0; 128]);
                for i in 0..128 {
                    if raw >> i & 1 == 1 {
                        b[i] += 1;
                    }
                }
            }
        }
        for (k, v) in &per {
            let m = n[k];
            let vary: Vec<usize> = (0..128)
                .filter(|&i| bits[k][i] > 0 && bits[k][i] < m)
                .collect();
            println!(
                "{k}: {m} memory {} plant {} watch {} varying bits {:?}",
                v[0].len(),
                v[1].len(),
                v[2].len(),
                vary
            );
        }
    }
    for (bit, _) in found.broken.iter().take(3) {
        let path = shortest(&space, &found, bit, 0).unwrap();
        println!("--- {}", CHECKS[bit as usize].id);
        for (a, b) in path.steps() {
            let mut done = false;
            let mut t = Default::default();
            let last = b == path.states.last().unwrap();
            space.each_move(a, &mut t, &mut |n, broken, m| {
                if n == *b && !done && (!last || broken & (1<<bit) != 0) { done = true;
                    let (c, w) = space.open(&n);
                    match m {
                        Move::Ticks(t) => println!("{:?} {:?} ran {:?} -> {:?} mast {:?} doors {:?} motor {:?} bus {:?} faults {:?}\n     {:?} {:?} {:?}", t.hands.selector, (t.hands.stop, t.hands.throttle, t.hands.acknowledge, t.hands.key, t.hands.air), t.ran_out, c.state(), t.outputs.drives.mast, t.outputs.drives.doors, (t.outputs.drives.motor, t.outputs.drives.motor_enable), (t.outputs.drives.bus.precharge, t.outputs.drives.bus.main), t.outputs.indications.faults, w.plant, t.sensed.inputs.mast.position.proven(mastwright_core::signal::Age::new(5)), w.watch),
                        Move::Breaks(t) => println!("BREAKS {t}"),
                        Move::Wakes => println!("WAKES"), Move::Rests(t) => println!("RESTS {t:?}"),
                    }
                }
            });
        }
    }
}
