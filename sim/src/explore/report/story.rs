//! A counterexample as a story: of each step, only what changed.

use std::io::{self, Write};

use mastwright_core::State;
use mastwright_core::outputs::{Drives, Event};
use serde::Serialize;

use super::super::checks::{CHECKS, Check};
use super::super::hands::Hands;
use super::super::space::World;
use super::retrace::{How, Leg, Ticked};
use super::words;
use crate::report::layout::{COLUMNS, wrap};
use crate::report::paint::{Paint, Tone};

/// The story of one broken check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Story {
    /// Its id.
    pub id: &'static str,
    /// What ought to hold.
    pub what: &'static str,
    /// Where it begins.
    pub begins: String,
    /// What changed in each step.
    pub steps: Vec<Vec<Line>>,
}

/// One line of a step: who, and what.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Line {
    /// Who did it, or where it happened.
    pub who: &'static str,
    /// What changed.
    pub what: String,
}

impl Story {
    /// The story of the check of a number.
    #[must_use]
    pub fn of(check: u32, begin: &World, legs: &[Leg]) -> Self {
        let Check { id, what, .. } = CHECKS[check as usize];
        let mut teller = Teller {
            hands: Hands::default(),
            drives: words::drives(&Drives::default()),
        };
        Self {
            id,
            what,
            begins: beginning(begin),
            steps: legs.iter().map(|leg| teller.step(leg)).collect(),
        }
    }

    /// Prints it, at most 80 columns wide.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn print(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        let title = format!("{} in {} steps", self.id, self.steps.len());
        writeln!(out, "{}", paint.tint(Tone::Strong, &title))?;
        hang(out, "      begins      ", &self.begins)?;
        for (number, lines) in self.steps.iter().enumerate() {
            let mut label = format!("{:>4}. ", number + 1);
            for line in lines {
                hang(out, &format!("{label}{:<12}", line.who), &line.what)?;
                label = " ".repeat(label.len());
            }
            if lines.is_empty() {
                writeln!(out, "{label}time passes")?;
            }
        }
        let breach = format!("{} is broken: {}", self.id, self.what);
        for line in wrap(&breach, COLUMNS - 6) {
            writeln!(out, "      {}", paint.tint(Tone::Warning, &line))?;
        }
        Ok(())
    }
}

/// Writes `text` behind `label`, further lines below its beginning.
fn hang(out: &mut dyn Write, label: &str, text: &str) -> io::Result<()> {
    let mut label = label.to_owned();
    for line in wrap(text, COLUMNS - label.len()) {
        writeln!(out, "{label}{line}")?;
        label = " ".repeat(label.len());
    }
    Ok(())
}

fn beginning(world: &World) -> String {
    format!("the controller wakes; {}", words::stands(&world.plant))
}

/// What was told last.
struct Teller {
    hands: Hands,
    drives: [(&'static str, &'static str); 7],
}

impl Teller {
    fn step(&mut self, leg: &Leg) -> Vec<Line> {
        let mut lines = Vec::new();
        let mut tell = |who, what: Vec<String>| {
            if !what.is_empty() {
                let what = what.join("; ");
                lines.push(Line { who, what });
            }
        };
        match &leg.how {
            How::Breaks(trouble) => tell("breaks", vec![trouble.to_string()]),
            How::Wakes => {
                self.drives = words::drives(&Drives::default());
                tell(
                    "supply",
                    vec!["lost for a while; the controller wakes".into()],
                );
            }
            How::Rests(timer) => {
                tell("time", vec![format!("{} is over", words::timer(*timer))]);
            }
            How::Ticks(ticked) => {
                tell("outside", self.outside(leg, ticked));
                tell("told", told(leg, ticked));
                let over = ticked.ran_out.iter();
                let over = over.map(|timer| format!("{} is over", words::timer(timer)));
                tell("time", over.collect());
                tell("controller", self.controller(leg, ticked));
            }
        }
        tell("plant", plant(leg));
        lines
    }

    /// What came from outside, where it is not as it was.
    fn outside(&mut self, leg: &Leg, ticked: &Ticked) -> Vec<String> {
        let (was, now) = (self.hands, ticked.hands);
        self.hands = now;
        let mut all = Vec::new();
        let mut changed = |changed: bool, what: &str, how: &str| {
            if changed {
                all.push(format!("{what} {how}"));
            }
        };
        changed(
            was.selector != now.selector,
            "selector",
            words::push(now.selector),
        );
        let thrown = if now.stop { "thrown" } else { "released" };
        changed(was.stop != now.stop, "stop switch", thrown);
        let open = if now.throttle { "open" } else { "closed" };
        changed(was.throttle != now.throttle, "throttle", open);
        let pressed = words::acknowledge(now.acknowledge);
        changed(was.acknowledge != now.acknowledge, "acknowledge", pressed);
        let key = if now.key { "on" } else { "off" };
        changed(was.key != now.key, "bench key", key);
        let asked = leg.before == State::Stowed && now.aux;
        changed(asked, "charging", "asked for");
        changed(was.air != now.air, "air", words::air(now.air));
        changed(was.heat != now.heat, "motor", words::heat(now.heat));
        all
    }

    /// What the controller did that it did not do before.
    fn controller(&mut self, leg: &Leg, ticked: &Ticked) -> Vec<String> {
        let mut all = Vec::new();
        if leg.before != leg.after {
            let name = leg.after.name();
            let why = if let State::Halted(halt) = leg.after {
                format!(" ({})", halt.words())
            } else {
                String::new()
            };
            all.push(format!("{} -> {name}{why}", leg.before.name()));
        }
        for event in &ticked.outputs.events {
            match event {
                Event::Latched(fault) => all.push(format!("latches {fault:?}")),
                Event::Cleared(fault) => all.push(format!("clears {fault:?}")),
                Event::RestraintConfirmed => all.push("takes restraint for confirmed".into()),
                Event::RestraintEnded => all.push("ends the confirmation".into()),
                Event::Went { .. }
                | Event::Intended(_)
                | Event::Ignored(_)
                | Event::Bus(_)
                | Event::Acknowledged => {}
            }
        }
        let drives = words::drives(&ticked.outputs.drives);
        for (was, now) in self.drives.iter().zip(&drives) {
            if was != now {
                all.push(format!("{} {}", now.0, now.1));
            }
        }
        self.drives = drives;
        all
    }
}

/// What the controller was told that is not so, or that is chosen in this step.
fn told(leg: &Leg, ticked: &Ticked) -> Vec<String> {
    let truth = leg.truth(ticked);
    let mut all = Vec::new();
    for trouble in leg.from.troubles.both() {
        let said = words::said(trouble, &ticked.sensed.inputs);
        if said != words::said(trouble, &truth.inputs) {
            all.extend(said.map(|said| format!("{trouble} says {said}")));
        }
    }
    if ticked.sensed.inputs.missed_deadline {
        all.push("the tick came late".into());
    }
    if ticked.sensed.selector != ticked.hands.selector.selector() {
        all.push(format!(
            "the selector counts as {:?}",
            ticked.sensed.selector
        ));
    }
    if ticked.sensed.strange {
        all.push("the mast's motion is judged, and is not as it is driven".into());
    }
    if ticked.sensed.strayed_from.is_some() {
        all.push("the doors are found elsewhere than they were left".into());
    }
    all
}

/// What changed in the plant.
fn plant(leg: &Leg) -> Vec<String> {
    let (was, now) = (&leg.from.plant, &leg.to.plant);
    let mut all = Vec::new();
    let mut changed = |changed: bool, what: &str, how: &str| {
        if changed {
            all.push(format!("{what} {how}"));
        }
    };
    changed(was.mast != now.mast, "mast", words::mast(now.mast));
    changed(was.doors != now.doors, "doors", words::doors(now.doors));
    let stored = was.mast.in_bay() || now.mast.in_bay();
    changed(
        stored && was.place != now.place,
        "blade",
        words::place(now.place),
    );
    changed(
        stored && was.pace != now.pace,
        "blade",
        words::pace(now.pace),
    );
    changed(was.volts != now.volts, "bus", words::volts(now.volts));
    let touch = if now.main { "touch" } else { "part" };
    changed(was.main != now.main, "main contacts", touch);
    if let How::Ticks(ticked) = &leg.how {
        let chosen = !was.mast.in_bay() && ticked.plant.place != was.place;
        changed(chosen, "blade found", words::place(ticked.plant.place));
    }
    all
}
