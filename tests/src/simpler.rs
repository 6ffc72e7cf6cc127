//! Simpler missions: fewer faults, fewer steps, a plainer start, shorter times.

use mastwright_sim::scenario::deed::Deed;

use crate::mission::{Mission, Onset, SECOND, Start, Wait};

/// Missions a little simpler than this one, the boldest first.
#[must_use]
pub fn than(mission: &Mission) -> Vec<Mission> {
    let mut out = Vec::new();
    fewer(mission, &mut out);
    plainer(mission, &mut out);
    for index in 0..mission.upsets.len() {
        milder(mission, index, &mut out);
    }
    for index in 0..mission.steps.len() {
        shorter(mission, index, &mut out);
    }
    out.retain(|simpler| simpler != mission);
    out
}

fn with(mission: &Mission, change: impl FnOnce(&mut Mission)) -> Mission {
    let mut simpler = mission.clone();
    change(&mut simpler);
    simpler
}

fn fewer(mission: &Mission, out: &mut Vec<Mission>) {
    for index in 0..mission.upsets.len() {
        out.push(with(mission, |m| {
            m.upsets.remove(index);
        }));
    }
    let steps = mission.steps.len();
    if steps > 1 {
        out.push(with(mission, |m| m.steps.truncate(steps / 2)));
        out.push(with(mission, |m| {
            m.steps.drain(..steps / 2);
        }));
    }
    for index in (0..steps).rev() {
        out.push(with(mission, |m| {
            m.steps.remove(index);
        }));
        // The same without losing the time it took.
        if index + 1 < steps {
            out.push(with(mission, |m| {
                let gone = m.steps.remove(index);
                let next = &mut m.steps[index].wait;
                if let (Wait::Pause(before), Wait::Pause(after)) = (gone.wait, *next) {
                    *next = Wait::Pause(before + after + gone.deed.lasting() as u32);
                } else if matches!(gone.wait, Wait::Until(..)) {
                    *next = gone.wait;
                }
            }));
        }
    }
}

fn plainer(mission: &Mission, out: &mut Vec<Mission>) {
    let mut start = |change: &dyn Fn(&mut Start)| {
        out.push(with(mission, |m| change(&mut m.start)));
    };
    start(&|s| *s = Start::PLAIN);
    start(&|s| s.charge = Start::PLAIN.charge);
    start(&|s| s.heat = Start::PLAIN.heat);
    start(&|s| s.warmer = 0);
    start(&|s| s.propeller = 0);
    start(&|s| s.blade_angle = 0);
    start(&|s| s.airspeed = if s.airborne { 25 } else { 0 });
    start(&|s| {
        s.airborne = false;
        s.airspeed = 0;
    });
    start(&|s| s.doors_open = s.mast > 0);
    if mission.start.mast > 0 {
        start(&|s| s.mast = 100);
    }
    out.push(with(mission, |m| m.seed = 1));
}

fn milder(mission: &Mission, index: usize, out: &mut Vec<Mission>) {
    let upset = mission.upsets[index];
    let mut put = |change: &dyn Fn(&mut crate::mission::Upset)| {
        out.push(with(mission, |m| change(&mut m.upsets[index])));
    };
    put(&|u| u.strength = None);
    put(&|u| u.cycle = None);
    if let Some(duration) = upset.duration {
        put(&|u| u.duration = Some((duration / 2).max(1)));
    }
    match upset.onset {
        Onset::At(tick) => {
            put(&|u| u.onset = Onset::At(tick / 2));
            put(&|u| u.onset = Onset::At(tick / SECOND * SECOND));
            put(&|u| u.onset = Onset::At(tick.saturating_sub(SECOND)));
        }
        Onset::In(state, delay) => put(&|u| u.onset = Onset::In(state, delay / 2)),
        Onset::Mast { stowing, passes } => put(&|u| {
            u.onset = Onset::Mast {
                passes: (passes / 10 * 10).max(10),
                stowing,
            };
        }),
    }
}

fn shorter(mission: &Mission, index: usize, out: &mut Vec<Mission>) {
    let step = mission.steps[index];
    let mut put = |change: &dyn Fn(&mut crate::mission::Step)| {
        out.push(with(mission, |m| change(&mut m.steps[index])));
    };
    match step.wait {
        Wait::Pause(ticks) => {
            put(&|s| s.wait = Wait::Pause(0));
            put(&|s| s.wait = Wait::Pause(ticks / 2));
            put(&|s| s.wait = Wait::Pause(ticks / SECOND * SECOND));
        }
        Wait::Until(..) => put(&|s| s.wait = Wait::Pause(SECOND)),
    }
    match step.deed {
        Deed::Select { push, lasting } if lasting != 50 => put(&|s| {
            s.deed = Deed::Select { push, lasting: 50 };
        }),
        Deed::Throttle { to, over } => {
            put(&|s| s.deed = Deed::Throttle { to, over: 0 });
            if to > 0.0 {
                put(&|s| s.deed = Deed::Throttle { to: 1.0, over });
            }
        }
        Deed::Select { .. }
        | Deed::Stop(_)
        | Deed::Acknowledge(_)
        | Deed::BenchKey(_)
        | Deed::HeatTest(_)
        | Deed::AuxCharge(_)
        | Deed::Airspeed { .. }
        | Deed::Person(_)
        | Deed::PowerOn
        | Deed::PowerOff(_) => {}
    }
}

/// The simplest mission found, going downhill, of which `bad` is still true.
pub fn simplest(mission: &Mission, mut bad: impl FnMut(&Mission) -> bool) -> Mission {
    let mut best = mission.clone();
    while let Some(better) = than(&best).into_iter().find(&mut bad) {
        best = better;
    }
    best
}
