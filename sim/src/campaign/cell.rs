//! A cell: one mission and the faults that begin in it, and its name.

use std::fmt;
use std::str::FromStr;

use super::mission::MISSIONS;
use super::record::Ticks;
use crate::faults::{Fault, Kind, Target};

/// A fault with the tick in which it begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ordered {
    /// When it begins.
    pub tick: u64,
    /// What fails.
    pub fault: Fault,
}

/// One mission with its faults, in the order they begin. Its name says everything:
/// `MISSION@TICK/TARGET/KIND[=STRENGTH][+SECONDS]`, and a comma with
/// `TICK/TARGET/KIND...` for each further fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// The mission, by its index.
    pub mission: usize,
    /// The faults.
    pub faults: Vec<Ordered>,
}

impl Cell {
    /// A cell with one fault.
    #[must_use]
    pub fn single(mission: usize, tick: u64, fault: Fault) -> Self {
        Self {
            mission,
            faults: vec![Ordered { tick, fault }],
        }
    }

    /// The cell as a scenario file: the text of its mission, `length` ticks long and
    /// with `seed`, and its faults.
    #[must_use]
    pub fn scenario(&self, mission: &str, seed: u64, length: u64) -> String {
        let mut text = String::new();
        for line in mission.lines() {
            if line.starts_with("length = ") {
                text += &format!("seed = {seed}\nlength = {}\n", Ticks(length));
            } else {
                text += line;
                text.push('\n');
            }
        }
        for Ordered { tick, fault } in &self.faults {
            text += &format!(
                "\n[[fault]]\nat = {}\ntarget = \"{}\"\nkind = \"{}\"\n",
                Ticks(*tick),
                fault.target(),
                fault.kind()
            );
            if let Some(strength) = fault.strength() {
                text += &format!("strength = {strength:?}\n");
            }
            if let Some(seconds) = fault.duration() {
                text += &format!("duration = {seconds:?}\n");
            }
        }
        text
    }

    /// The tick in which the first fault begins.
    #[must_use]
    pub fn onset(&self) -> u64 {
        self.faults.first().map_or(0, |first| first.tick)
    }
}

impl fmt::Display for Cell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(MISSIONS[self.mission].name)?;
        for (index, Ordered { tick, fault }) in self.faults.iter().enumerate() {
            let sign = if index == 0 { '@' } else { ',' };
            write!(f, "{sign}{tick}/{}/{}", fault.target(), fault.kind())?;
            let default = fault.entry().strength.map(|scale| scale.default);
            if let Some(strength) = fault.strength().filter(|given| Some(*given) != default) {
                write!(f, "={strength}")?;
            }
            if let Some(seconds) = fault.duration() {
                write!(f, "+{seconds}")?;
            }
        }
        Ok(())
    }
}

/// A name that is no cell's.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no cell: {why}")]
pub struct NoCell {
    given: String,
    why: String,
}

impl FromStr for Cell {
    type Err = NoCell;

    fn from_str(name: &str) -> Result<Self, NoCell> {
        read(name).map_err(|why| NoCell {
            given: name.to_owned(),
            why,
        })
    }
}

fn read(name: &str) -> Result<Cell, String> {
    let (mission, faults) = name
        .split_once('@')
        .ok_or("it has no `@` between its mission and its faults")?;
    let mission = MISSIONS
        .iter()
        .position(|known| known.name == mission)
        .ok_or_else(|| {
            let names: Vec<&str> = MISSIONS.iter().map(|known| known.name).collect();
            format!(
                "no mission is called `{mission}`: there are {}",
                names.join(", ")
            )
        })?;
    let faults: Vec<Ordered> = faults.split(',').map(ordered).collect::<Result<_, _>>()?;
    if faults.windows(2).any(|two| two[1].tick < two[0].tick) {
        return Err("its faults must stand in the order they begin".to_owned());
    }
    Ok(Cell { mission, faults })
}

fn ordered(text: &str) -> Result<Ordered, String> {
    let mut parts = text.splitn(3, '/');
    let (Some(tick), Some(target), Some(how)) = (parts.next(), parts.next(), parts.next()) else {
        return Err(format!("`{text}` is not TICK/TARGET/KIND"));
    };
    let tick = tick
        .parse()
        .map_err(|_| format!("`{tick}` is not a whole number of ticks"))?;
    let target = Target::from_str(target).map_err(|unknown| unknown.to_string())?;
    let (how, duration) = split(how, '+')?;
    let (kind, strength) = split(how, '=')?;
    let kind = Kind::from_str(kind).map_err(|unknown| unknown.to_string())?;
    let fault =
        Fault::new(target, kind, strength, duration).map_err(|refusal| refusal.to_string())?;
    Ok(Ordered { tick, fault })
}

/// What stands before `sign`, and the number after it, if there is one.
fn split(text: &str, sign: char) -> Result<(&str, Option<f64>), String> {
    match text.split_once(sign) {
        None => Ok((text, None)),
        Some((before, number)) => number
            .parse()
            .map(|number| (before, Some(number)))
            .map_err(|_| format!("`{number}` after `{sign}` is not a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::campaign::variant;

    #[test]
    fn every_variant_of_every_fault_is_found_again_by_its_name() {
        for (tick, variant) in (0..).zip(variant::variants()) {
            let cell = Cell::single(1, tick, variant.fault);
            assert_eq!(cell.to_string().parse(), Ok(cell));
        }
    }

    #[test]
    fn a_pair_is_found_again_by_its_name() {
        let name = "stop-in-flight@900/actuator.motor/dead,1000/mechanics.gust/acts=-12+1";
        assert_eq!(name.parse::<Cell>().unwrap().to_string(), name);
    }

    #[test]
    fn what_is_wrong_with_a_name_is_said() {
        for (name, why) in [
            ("nowhere@1/link/dropout", "no mission is called `nowhere`"),
            ("ground-cycle/1/link", "no `@`"),
            ("ground-cycle@x/link/dropout", "not a whole number"),
            ("ground-cycle@1/link", "not TICK/TARGET/KIND"),
            ("ground-cycle@1/link/dead", "cannot be `dead`"),
            ("ground-cycle@1/link/dropout+soon", "not a number"),
            ("ground-cycle@9/link/dropout,8/power/reset", "in the order"),
        ] {
            let error = name.parse::<Cell>().unwrap_err().to_string();
            assert!(error.contains(why), "{error}");
        }
    }
}
