//! A scenario that leads the full world along the way of a counterexample.
//!
//! The abstract world knows no time, so the scenario is steered by moments: what the
//! pilot does, and what breaks, comes when the controller's state and the mast are where
//! the story has them. Where the story needs a chance that no pilot and no fault can
//! bring about, the full world takes its own way, and is seen to.

use std::fmt::Write as _;

use mastwright_core::State;
use mastwright_core::outputs::Event;

use super::super::hands::{Air, Hands, Heat, Push};
use super::super::memory::Acknowledge;
use super::super::plant::{Doors, Mast, Place};
use super::super::space::World;
use super::super::trouble::Trouble;
use super::retrace::{How, Leg, Ticked};
use super::stand_in::stand_in;
use super::words;

/// A push that settles, s: longer than the debounce time.
const PUSH: f64 = 0.2;
/// A press that clears faults, s: longer than the time to clear.
const CLEAR: f64 = 4.0;
/// Far longer than any story.
const FOR_GOOD: f64 = 600.0;
/// Most actions and faults of a scenario.
const MOST: usize = 60;

/// A scenario as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Steered {
    /// The text.
    pub text: String,
    /// What of the story cannot be steered.
    pub left: Vec<String>,
}

/// How every scenario of a story begins.
pub const BEGINNING: &str = "title = \"A way to break ";

/// The scenario of a story: the check it breaks, the world it begins in, its steps.
#[must_use]
pub fn steer(id: &str, begin: &World, legs: &[Leg]) -> Steered {
    let mut helm = Helm::new(begin, legs);
    for (number, leg) in legs.iter().enumerate() {
        helm.follow(number, leg, &legs[number + 1..]);
    }
    let length = (60 + 20 * helm.actions).min(900);
    let mut text = format!(
        "{BEGINNING}{id}, found by exploration\"\n\
         briefing = \"Invented; made by mastwright explore from a story of {} steps.\"\n\
         length = {length}\n\n",
        legs.len(),
    );
    for note in &helm.left {
        let _ = writeln!(text, "# Not steered: {note}");
    }
    text.push_str(&start(begin, legs));
    text.push_str(&helm.tables);
    Steered {
        text,
        left: helm.left,
    }
}

fn start(begin: &World, legs: &[Leg]) -> String {
    let plant = &begin.plant;
    let mast = match plant.mast {
        Mast::Stowed => "\"stowed\"",
        Mast::Inside => "30",
        Mast::Brink => "61",
        Mast::Edge => "63.5",
        Mast::Clear => "80",
        Mast::Deployed => "99",
        Mast::Locked => "\"deployed\"",
    };
    let doors = match plant.doors {
        Doors::Shut => "\"shut\"",
        Doors::Ajar => "50",
        Doors::Agape => "98",
        Doors::Open => "\"open\"",
    };
    let mut text = format!("[start]\nmast = {mast}\ndoors = {doors}\n");
    match plant.place {
        Place::Window => {}
        Place::Near => text.push_str("blade_angle = 6.5\n"),
        Place::Away => text.push_str("blade_angle = 45\n"),
    }
    // Bench is for the ground; all else is flown.
    if !goes_to_bench(legs) {
        text.push_str("height = 400\nairspeed = 25\n");
    }
    text.push('\n');
    text
}

fn goes_to_bench(legs: &[Leg]) -> bool {
    legs.iter().any(|leg| leg.after == State::Bench)
}

/// Writes the tables of actions and faults.
struct Helm {
    tables: String,
    actions: usize,
    left: Vec<String>,
    hands: Hands,
    /// The last action of the steps before that is over after a while, from 1.
    before: Option<usize>,
    /// The same, this step included.
    latest: Option<usize>,
    flies: bool,
}

impl Helm {
    fn new(begin: &World, legs: &[Leg]) -> Self {
        let mut left = Vec::new();
        let volts = words::volts(begin.plant.volts);
        if begin.plant.volts != super::super::plant::Volts::Dead {
            left.push(format!("the bus is {volts} at the beginning"));
        }
        Self {
            tables: String::new(),
            actions: 0,
            left,
            hands: Hands::default(),
            before: None,
            latest: None,
            flies: !goes_to_bench(legs),
        }
    }

    fn follow(&mut self, number: usize, leg: &Leg, then: &[Leg]) {
        match &leg.how {
            How::Breaks(trouble) => self.fault(*trouble, leg, then),
            How::Wakes => {
                if !leg.from.troubles.has(Trouble::PowerCut) {
                    self.left.push(format!("step {}: the supply", number + 1));
                }
            }
            How::Rests(_) => {}
            How::Ticks(ticked) => self.hands(leg, ticked, then),
        }
    }

    fn hands(&mut self, leg: &Leg, ticked: &Ticked, then: &[Leg]) {
        let (was, now) = (self.hands, ticked.hands);
        self.hands = now;
        self.before = self.latest;
        // A push that goes on gives an intention only where the story has it let go and
        // pushed anew.
        let intends = |event: &Event| matches!(event, Event::Intended(_));
        let anew = now.selector != Push::Hold && ticked.outputs.events.iter().any(intends);
        if was.selector != now.selector || anew {
            self.select(leg, now.selector, then);
        }
        if was.stop != now.stop {
            self.action(leg, if now.stop { "stop on" } else { "stop off" });
        }
        if was.throttle != now.throttle {
            let to = if now.throttle { 60 } else { 0 };
            self.action(leg, &format!("throttle to {to} %"));
        }
        if was.key != now.key {
            let to = if now.key { "on" } else { "off" };
            self.action(leg, &format!("bench key {to}"));
        }
        if was.acknowledge != now.acknowledge {
            match now.acknowledge {
                Acknowledge::Up => {}
                Acknowledge::Pressed | Acknowledge::Down if leg.before == State::Waking => {
                    self.action(leg, "acknowledge for 1 s");
                }
                Acknowledge::Pressed | Acknowledge::Down => {
                    self.action(leg, &format!("acknowledge for {PUSH} s"))
                }
                Acknowledge::Held => self.action(leg, &format!("acknowledge for {CLEAR} s")),
            }
        }
        if was.air != now.air && self.flies {
            let to = match now.air {
                Air::Calm | Air::Within => 25,
                Air::Fast => 45,
            };
            self.action(leg, &format!("airspeed to {to} m/s"));
        }
        if leg.before == State::Stowed && now.aux && !was.aux {
            self.action(leg, "aux charge on");
        }
        if now.heat != Heat::Cool && was.heat != now.heat {
            self.left
                .push(format!("the motor is {}", words::heat(now.heat)));
        }
    }

    /// Pushes the selector: for as long as the story does where it is held to move the
    /// mast, else just long enough.
    fn select(&mut self, leg: &Leg, push: Push, then: &[Leg]) {
        let by_hand = matches!(leg.before, State::Jog | State::Bench);
        let stays = next_hands(then).is_some_and(|next| next.selector == push);
        let lasting = if by_hand && stays { FOR_GOOD } else { PUSH };
        match push {
            Push::Hold => self.action(leg, "select hold"),
            Push::Deploy => self.action(leg, &format!("select deploy for {lasting} s")),
            Push::Stow => self.action(leg, &format!("select stow for {lasting} s")),
        }
    }

    fn action(&mut self, leg: &Leg, what: &str) {
        if self.actions >= MOST {
            return;
        }
        let when = self.moment(leg);
        self.actions += 1;
        if !what.contains(&format!("for {FOR_GOOD} s")) {
            self.latest = Some(self.actions);
        }
        let _ = write!(
            self.tables,
            "[[action]]\nwhen = \"{when}\"\ndo = \"{what}\"\n\n"
        );
    }

    /// When a step comes: in this state, the mast being where it is, after what came
    /// before.
    fn moment(&self, leg: &Leg) -> String {
        let mut when = format!("state is {}", leg.before.name());
        if let State::Halted(halt) = leg.before {
            when = format!("{when} and halt is {halt:?}");
        }
        when.push_str(match leg.from.plant.mast {
            Mast::Stowed => "",
            Mast::Inside => " and mast > 2 % and mast < 60 %",
            Mast::Brink => " and mast > 60 % and mast < 62.5 %",
            Mast::Edge => " and mast > 62.5 % and mast < 65 %",
            Mast::Clear => " and mast > 65 % and mast < 98 %",
            Mast::Deployed | Mast::Locked => " and mast > 98 %",
        });
        if let Some(before) = self.before {
            let _ = write!(when, " and action {before} is done");
        }
        when
    }

    fn fault(&mut self, trouble: Trouble, leg: &Leg, then: &[Leg]) {
        let lie = then.iter().find_map(|leg| lie(trouble, leg));
        let Some(fault) = stand_in(trouble, lie.as_ref()) else {
            self.left.push(format!("{trouble} stands for no fault"));
            return;
        };
        let when = self.moment(leg);
        let _ = write!(
            self.tables,
            "[[fault]]\nwhen = \"{when}\"\ntarget = \"{}\"\nkind = \"{}\"\n",
            fault.target, fault.kind
        );
        if let Some(strength) = fault.strength {
            let _ = writeln!(self.tables, "strength = {strength:?}");
        }
        self.tables.push('\n');
    }
}

/// What the sensor that `trouble` breaks says in a step, if it is not so.
fn lie(trouble: Trouble, leg: &Leg) -> Option<mastwright_core::Inputs> {
    let How::Ticks(ticked) = &leg.how else {
        return None;
    };
    let truth = leg.truth(ticked);
    let lies = words::said(trouble, &ticked.sensed.inputs) != words::said(trouble, &truth.inputs);
    lies.then_some(ticked.sensed.inputs)
}

fn next_hands(legs: &[Leg]) -> Option<Hands> {
    legs.iter().find_map(|leg| match &leg.how {
        How::Ticks(ticked) => Some(ticked.hands),
        How::Breaks(_) | How::Wakes | How::Rests(_) => None,
    })
}
