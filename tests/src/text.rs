//! A mission as the text of a scenario, and a recovery as further steps.

use std::fmt::Write;

use mastwright_sim::controls::Push;
use mastwright_sim::scenario::deed::Deed;

use crate::mission::{Ending, Mission, Onset, SECOND, Start, Step, TAIL, TICK, Upset, Wait};

/// How long a stow may take before the pilot clears alerts and asks again: the bound on
/// a stop-and-stow (SR-07).
const STOW: u32 = 62 * SECOND;

fn seconds(ticks: u32) -> String {
    let text = format!("{:.2}", f64::from(ticks) * TICK);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A deed in the words of the scenario language.
#[must_use]
pub fn words(deed: &Deed) -> String {
    let lasting = |ticks: u64| seconds(ticks as u32);
    let switch = |on| if on { "on" } else { "off" };
    let over = |ticks: u64| match ticks {
        0 => String::new(),
        _ => format!(" over {} s", lasting(ticks)),
    };
    match *deed {
        Deed::Select { push, lasting: l } => {
            let push = match push {
                Push::Hold => "hold",
                Push::Deploy => "deploy",
                Push::Stow => "stow",
            };
            format!("select {push} for {} s", lasting(l))
        }
        Deed::Throttle { to, over: o } => {
            format!("throttle to {} %{}", (to * 100.0).round(), over(o))
        }
        Deed::Stop(on) => format!("stop {}", switch(on)),
        Deed::Acknowledge(l) => format!("acknowledge for {} s", lasting(l)),
        Deed::BenchKey(on) => format!("bench key {}", switch(on)),
        Deed::HeatTest(l) => format!("heat test for {} s", lasting(l)),
        Deed::AuxCharge(on) => format!("aux charge {}", switch(on)),
        Deed::Airspeed { to, over: o } => format!("airspeed to {to} m/s{}", over(o)),
        Deed::Person(near) => format!("person {}", if near { "near" } else { "clear" }),
        Deed::PowerOn => "power on".to_owned(),
        Deed::PowerOff(None) => "power off".to_owned(),
        Deed::PowerOff(Some(l)) => format!("power off for {} s", lasting(l)),
    }
}

/// What a pilot does when all is well again: hands put right, alerts cleared by a held
/// acknowledge, stow asked for; the last two again while it is not stowed.
fn recovery(mission: &Mission) -> Vec<Step> {
    let step = |wait, deed| Step { wait, deed };
    let now = Wait::Pause(0);
    let airspeed = if mission.start.airborne { 25.0 } else { 0.0 };
    let mut steps = vec![
        step(Wait::Pause(SECOND), Deed::PowerOn),
        step(now, Deed::Throttle { to: 0.0, over: 0 }),
        step(now, Deed::Stop(false)),
        step(now, Deed::BenchKey(false)),
        step(now, Deed::AuxCharge(false)),
        step(now, Deed::Person(false)),
        step(
            now,
            Deed::Airspeed {
                to: airspeed,
                over: 0,
            },
        ),
    ];
    for round in 0..3 {
        let before = match round {
            0 => Wait::Pause(5 * SECOND),
            _ => Wait::Until("Stowed", STOW),
        };
        steps.push(step(before, Deed::Acknowledge(250)));
        steps.push(step(
            Wait::Pause(SECOND),
            Deed::Select {
                push: Push::Stow,
                lasting: 50,
            },
        ));
    }
    steps
}

impl Mission {
    /// Its steps, with those of its ending.
    #[must_use]
    pub fn all_steps(&self) -> Vec<Step> {
        let mut steps = self.steps.clone();
        if self.ending == Ending::Recovery {
            steps.extend(recovery(self));
        }
        steps
    }

    /// Its length in ticks: as long as it can take, and the tail.
    #[must_use]
    pub fn length(&self) -> u32 {
        let steps = self.all_steps();
        let longest: u32 = steps
            .iter()
            .map(|step| step.wait.longest() + step.deed.lasting() as u32)
            .sum();
        longest + self.healed() + TAIL
    }

    /// The text of the scenario it is.
    #[must_use]
    pub fn scenario(&self, title: &str) -> String {
        let mut text = String::new();
        // Writing to a string cannot fail.
        let _ = self.write(&mut text, title);
        text
    }

    fn write(&self, out: &mut String, title: &str) -> std::fmt::Result {
        writeln!(out, "title = \"{title}\"")?;
        writeln!(
            out,
            "briefing = \"Drawn at random and made as simple as it can be; invented data.\""
        )?;
        writeln!(out, "seed = {}", self.seed)?;
        writeln!(out, "length = {}", seconds(self.length()))?;
        write_start(out, &self.start)?;
        for (index, step) in self.all_steps().iter().enumerate() {
            let recovers = index == self.steps.len();
            self.write_step(out, index, step, recovers)?;
        }
        for upset in &self.upsets {
            write_upset(out, upset)?;
        }
        Ok(())
    }

    /// The recovery begins once all has healed.
    fn write_step(
        &self,
        out: &mut String,
        index: usize,
        step: &Step,
        recovers: bool,
    ) -> std::fmt::Result {
        writeln!(out, "\n[[action]]")?;
        let longest = step.wait.longest();
        if index == 0 && step.deed == Deed::Person(true) {
            writeln!(out, "when = \"state is Bench\"")?;
        } else if index == 0 {
            let start = if recovers { self.healed() } else { 0 };
            match step.wait {
                Wait::Pause(_) => writeln!(out, "at = {}", seconds(start + longest))?,
                Wait::Until(state, _) => writeln!(
                    out,
                    "when = \"state is {state} or time >= {} s\"",
                    seconds(longest)
                )?,
            }
        } else {
            let mut done = format!("action {index} is done");
            if step.deed == Deed::Person(true) {
                // Nobody steps near before Bench is shown, however long it takes.
                done.push_str(" and state is Bench");
            }
            if recovers {
                let _ = write!(done, " and time >= {} s", seconds(self.healed()));
            }
            match step.wait {
                Wait::Pause(0) => writeln!(out, "when = \"{done}\"")?,
                Wait::Pause(ticks) => {
                    writeln!(out, "when = \"{done}\"\nafter = {}", seconds(ticks))?;
                }
                Wait::Until(state, ticks) => writeln!(
                    out,
                    "when = \"{done} and state is {state} or action {index} is done for {} s\"",
                    seconds(ticks)
                )?,
            }
        }
        writeln!(out, "do = \"{}\"", words(&step.deed))
    }
}

fn write_start(out: &mut String, start: &Start) -> std::fmt::Result {
    writeln!(out, "\n[start]\nmast = {}", start.mast)?;
    if start.mast == 0 && start.doors_open {
        writeln!(out, "doors = \"open\"")?;
    }
    if start.blade_angle != 0 {
        writeln!(out, "blade_angle = {}", start.blade_angle)?;
    }
    if start.propeller != 0 {
        writeln!(out, "shaft_rpm = {}", start.propeller)?;
    }
    if start.airspeed != 0 {
        writeln!(out, "airspeed = {}", start.airspeed)?;
    }
    if start.airborne {
        writeln!(out, "height = 800\non_ground = false")?;
    }
    if start.charge != [95; 2] {
        writeln!(out, "charge = {:?}", start.charge)?;
    }
    // 800 m up the standard atmosphere is 5 K colder than on the ground.
    let air = i32::from(start.warmer) + if start.airborne { 10 } else { 15 };
    for (name, heat) in ["motor", "controller", "pack"].iter().zip(start.heat) {
        if heat != 0 {
            writeln!(out, "{name}_temperature = {}", air + i32::from(heat))?;
        }
    }
    if start.warmer != 0 {
        writeln!(out, "\n[plant.air]\noffset = {}", start.warmer)?;
    }
    Ok(())
}

fn write_upset(out: &mut String, upset: &Upset) -> std::fmt::Result {
    writeln!(out, "\n[[fault]]")?;
    match upset.onset {
        Onset::At(tick) => writeln!(out, "at = {}", seconds(tick))?,
        Onset::In(state, 0) => writeln!(out, "when = \"state is {state}\"")?,
        Onset::In(state, delay) => writeln!(
            out,
            "when = \"state is {state}\"\nafter = {}",
            seconds(delay)
        )?,
        Onset::Mast { passes, stowing } => {
            let regime = if stowing { "stowing" } else { "deploying" };
            writeln!(out, "when = \"mast passes {passes} % while {regime}\"")?;
        }
    }
    writeln!(out, "target = \"{}\"", upset.target)?;
    writeln!(out, "kind = \"{}\"", upset.kind)?;
    if let Some(strength) = upset.strength {
        writeln!(out, "strength = {strength}")?;
    }
    if let Some(duration) = upset.duration {
        writeln!(out, "duration = {}", seconds(duration))?;
    }
    if let Some(cycle) = upset.cycle {
        writeln!(out, "cycle = {}", seconds(cycle))?;
    }
    Ok(())
}
