//! A random pilot who mostly does what makes sense, and sometimes does not.
//!
//! The pilot follows a rough belief of where the system stands, so that flights reach
//! every phase; what is done at each belief is drawn from a table of weights, and now
//! and then something that does not belong there.

use mastwright_sim::controls::Push;
use mastwright_sim::scenario::deed::Deed;

use crate::draw::Draw;
use crate::mission::{Ending, Mission, SECOND, Start, Step, Wait};
use crate::upsets::{self, Healing};

/// Most ticks of what a pilot does.
const LONGEST: u32 = 150 * SECOND;
/// Greatest airspeed with the mast out, m/s (V_PE of the demonstration aircraft).
const V_PE: u32 = 42;
/// Greatest airspeed while the mast moves, m/s: the controller's default of 30 less its
/// band and what the sensor may be off. A pilot who flies much faster with the mast part-way has the
/// air turn the blade in the bay, whatever the system does.
pub const MOVING: u32 = 27;

/// What kind of mission to draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Least and greatest number of faults.
    pub upsets: (u32, u32),
    /// How it ends.
    pub ending: Ending,
}

/// Where the pilot believes the system stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Belief {
    Stowed,
    Between,
    Out,
    Thrust,
}

/// A mission that follows from `seed`.
#[must_use]
pub fn mission(seed: u64, plan: Plan) -> Mission {
    let mut draw = Draw::new(seed);
    let start = start(&mut draw);
    let mut mission = Mission {
        seed: seed % 1_000_000,
        start,
        steps: Vec::new(),
        upsets: Vec::new(),
        ending: plan.ending,
    };
    if !start.airborne && start.airspeed == 0 && draw.chance(12) {
        maintain(&mut draw, &mut mission);
    } else {
        fly(&mut draw, &mut mission);
    }
    let healing = match plan.ending {
        Ending::Left => Healing::Maybe,
        Ending::Recovery => Healing::Surely,
    };
    for _ in 0..draw.between(plan.upsets.0, plan.upsets.1) {
        let upset = upsets::any(&mut draw, &mission, healing);
        mission.upsets.push(upset);
    }
    mission
}

/// A start that nature allows: a blade in the bay stands parked.
fn start(draw: &mut Draw) -> Start {
    let mast = match draw.below(10) {
        0..=3 => 0,
        4..=7 => 100,
        _ => draw.between(1, 99) as u8,
    };
    let airborne = draw.chance(50);
    let airspeed = match (airborne, draw.chance(70)) {
        (true, true) => 25,
        (true, false) if mast == 100 => draw.between(18, V_PE),
        (true, false) => draw.between(18, MOVING),
        (false, true) => 0,
        (false, false) => draw.below(15),
    };
    let clear = mast == 100;
    let usual = draw.chance(70);
    Start {
        mast,
        doors_open: mast > 0 || draw.chance(10),
        blade_angle: match clear {
            true => draw.below(360) as u16,
            false => draw.one(&[0, 1, 2, 358, 180, 181, 179]),
        },
        propeller: if clear && airborne && draw.chance(50) {
            draw.below(1500) as u16
        } else {
            0
        },
        airspeed: airspeed as u8,
        airborne,
        charge: if usual {
            [95; 2]
        } else {
            let one = draw.below(101) as u8;
            [
                one,
                if draw.chance(70) {
                    one
                } else {
                    draw.below(101) as u8
                },
            ]
        },
        warmer: if usual {
            0
        } else {
            draw.between(0, 40) as i8 - 15
        },
        heat: if usual {
            [0; 3]
        } else {
            [0, 1, 2].map(|part| draw.below([90, 60, 25][part]) as u8)
        },
    }
}

fn belief(start: &Start) -> Belief {
    match start.mast {
        0 => Belief::Stowed,
        100 => Belief::Out,
        _ => Belief::Between,
    }
}

/// Any flight or piece of one.
fn fly(draw: &mut Draw, mission: &mut Mission) {
    let mut belief = belief(&mission.start);
    let mut wait = Wait::Pause(match draw.below(4) {
        0 => draw.below(SECOND),
        _ => SECOND,
    });
    let phrases = draw.between(1, 9);
    for _ in 0..phrases {
        let deed = if draw.chance(15) {
            meddle(draw, mission.start.airborne)
        } else {
            sense(draw, belief)
        };
        mission.steps.push(Step { wait, deed });
        let expected = follow(&mut belief, &deed);
        wait = patience(draw, expected);
        if matches!(deed, Deed::Stop(true)) && draw.chance(85) {
            put_right(draw, mission, wait);
            wait = Wait::Pause(draw.below(2 * SECOND));
        }
        if mission.longest() > LONGEST {
            break;
        }
    }
}

/// After a stop: throttle closed and switch released, as the emergency drill says.
fn put_right(draw: &mut Draw, mission: &mut Mission, wait: Wait) {
    let mut deeds = [Deed::Throttle { to: 0.0, over: 0 }, Deed::Stop(false)];
    if draw.chance(20) {
        deeds.reverse();
    }
    mission.steps.push(Step {
        wait,
        deed: deeds[0],
    });
    mission.steps.push(Step {
        wait: Wait::Pause(draw.below(SECOND)),
        deed: deeds[1],
    });
}

/// A push of the selector: short, usual, or held as in Jog.
fn push(draw: &mut Draw, push: Push) -> Deed {
    let lasting = match draw.below(10) {
        0 => draw.between(1, 10),
        1 => draw.between(SECOND, 20 * SECOND),
        _ => 50,
    };
    Deed::Select {
        push,
        lasting: u64::from(lasting),
    }
}

fn throttle(draw: &mut Draw, to: u32) -> Deed {
    Deed::Throttle {
        to: f64::from(to) / 100.0,
        over: draw.one(&[0, 50, 200]),
    }
}

fn acknowledge(draw: &mut Draw) -> Deed {
    Deed::Acknowledge(draw.one(&[10, 50, 250]))
}

/// What makes sense where the pilot believes to be.
fn sense(draw: &mut Draw, belief: Belief) -> Deed {
    use Push::{Deploy, Stow};
    let any = draw.between(4, 100);
    match belief {
        Belief::Stowed => match draw.below(10) {
            0..=7 => push(draw, Deploy),
            8 => Deed::AuxCharge(draw.chance(70)),
            _ => Deed::HeatTest(100),
        },
        Belief::Between => match draw.below(10) {
            0..=4 => push(draw, Stow),
            5 | 6 => push(draw, Deploy),
            7 => Deed::Stop(true),
            8 => acknowledge(draw),
            _ => throttle(draw, any),
        },
        Belief::Out => match draw.below(10) {
            0..=5 => throttle(draw, any),
            6 | 7 => push(draw, Stow),
            8 => push(draw, Deploy),
            _ => Deed::Stop(true),
        },
        Belief::Thrust => match draw.below(10) {
            0..=2 => throttle(draw, 0),
            3 => throttle(draw, any),
            4..=6 => Deed::Stop(true),
            _ => push(draw, Stow),
        },
    }
}

/// Anything at all.
fn meddle(draw: &mut Draw, airborne: bool) -> Deed {
    match draw.below(13) {
        0 | 1 => push(draw, Push::Deploy),
        2 | 3 => push(draw, Push::Stow),
        4 | 5 => {
            let to = draw.below(101);
            throttle(draw, to)
        }
        6 => Deed::Stop(draw.chance(60)),
        7 => acknowledge(draw),
        8 => Deed::AuxCharge(draw.chance(70)),
        9 => Deed::BenchKey(draw.chance(70)),
        10 => Deed::HeatTest(u64::from(draw.between(1, 300))),
        11 => Deed::Airspeed {
            to: f64::from(if airborne {
                draw.between(18, MOVING)
            } else {
                draw.below(18)
            }),
            over: draw.one(&[0, 500]),
        },
        _ => Deed::PowerOff(Some(draw.one(&[1, 5, 20, 100, 500]))),
    }
}

/// What the pilot believes after a deed, and the state it is expected to lead to.
fn follow(belief: &mut Belief, deed: &Deed) -> Option<&'static str> {
    match *deed {
        Deed::Select { push, .. } => match push {
            Push::Deploy => {
                *belief = Belief::Out;
                Some("Armed")
            }
            Push::Stow => {
                *belief = Belief::Stowed;
                Some("Stowed")
            }
            Push::Hold => None,
        },
        Deed::Throttle { to, .. } if *belief == Belief::Out && to > 0.0 => {
            *belief = Belief::Thrust;
            Some("Thrust")
        }
        Deed::Throttle { to, .. } if *belief == Belief::Thrust && to <= 0.0 => {
            *belief = Belief::Out;
            Some("Armed")
        }
        Deed::Stop(true) => {
            *belief = Belief::Stowed;
            Some("Stowed")
        }
        Deed::PowerOff(_) => {
            *belief = match *belief {
                Belief::Stowed => Belief::Stowed,
                Belief::Between | Belief::Out | Belief::Thrust => Belief::Between,
            };
            Some("Resting")
        }
        Deed::Throttle { .. }
        | Deed::Stop(false)
        | Deed::Acknowledge(_)
        | Deed::BenchKey(_)
        | Deed::HeatTest(_)
        | Deed::AuxCharge(_)
        | Deed::Airspeed { .. }
        | Deed::Person(_)
        | Deed::PowerOn => None,
    }
}

/// How long the pilot waits: for what is expected, or not that long.
fn patience(draw: &mut Draw, expected: Option<&'static str>) -> Wait {
    match (expected, draw.below(10)) {
        (Some(state), 0..=5) => Wait::Until(state, 45 * SECOND),
        (_, 6) => Wait::Pause(draw.below(20)),
        (_, 7) => Wait::Pause(draw.below(3 * SECOND)),
        (_, 8) => Wait::Pause(draw.below(20 * SECOND)),
        (Some(_) | None, _) => Wait::Pause(draw.between(SECOND, 8 * SECOND)),
    }
}

/// On the ground, key and acknowledge through power-up; a person near; the mast moved
/// by the held selector after restraint is confirmed.
fn maintain(draw: &mut Draw, mission: &mut Mission) {
    let mut add = |wait, deed| mission.steps.push(Step { wait, deed });
    let now = Wait::Pause(0);
    add(now, Deed::BenchKey(true));
    add(now, Deed::PowerOff(Some(20)));
    add(now, Deed::Acknowledge(120));
    add(Wait::Pause(0), Deed::Person(true));
    for _ in 0..draw.between(1, 4) {
        if draw.chance(80) {
            add(Wait::Pause(draw.between(30, 300)), Deed::Acknowledge(50));
        }
        let way = draw.one(&[Push::Deploy, Push::Stow]);
        let lasting = draw.one(&[20, 300, 3000]);
        add(
            Wait::Pause(draw.between(30, 300)),
            Deed::Select { push: way, lasting },
        );
    }
    add(Wait::Pause(2 * SECOND), Deed::Person(false));
    add(Wait::Pause(SECOND), Deed::BenchKey(false));
}
