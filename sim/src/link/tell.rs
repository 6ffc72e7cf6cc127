//! Telling a difference: where, from which readings, and both answers side by side.

use std::fmt::Debug;
use std::io::{self, Write};

use enumset::{EnumSet, EnumSetType};
use mastwright_core::{Inputs, Outputs};
use serde_json::Value;

use super::mirror::Difference;
use crate::frame::TICK;

/// Writes what is to be known about a difference. Readings are those that changed in
/// this tick, or with `full` every one.
///
/// # Errors
/// When `out` cannot be written.
pub fn difference(out: &mut dyn Write, difference: &Difference, full: bool) -> io::Result<()> {
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let seconds = difference.tick as f64 * TICK;
    writeln!(
        out,
        "First difference: tick {} ({seconds:.2} s), frame {}",
        difference.tick, difference.frame
    )?;
    readings(out, difference.before.as_ref(), &difference.inputs, full)?;
    let (host, target) = (&difference.host, &difference.target);
    answers(out, ["host", "target"], &host.outputs, &target.outputs)?;
    let same = if host.state == target.state {
        " (equal)"
    } else {
        ""
    };
    writeln!(
        out,
        "  {:<22} {:<34} {:08x}{same}",
        "state of controller",
        format!("{:08x}", host.state),
        target.state
    )
}

/// Writes the readings of a tick: those that are not as in the tick before, or with
/// `full` every one.
///
/// # Errors
/// When `out` cannot be written.
pub fn readings(
    out: &mut dyn Write,
    before: Option<&Inputs>,
    inputs: &Inputs,
    full: bool,
) -> io::Result<()> {
    let now = leaves(inputs);
    let known = before.is_some();
    let before = before.map(leaves).unwrap_or_default();
    let changed = |index: usize| before.get(index).is_none_or(|old| old != &now[index]);
    let shown: Vec<usize> = (0..now.len())
        .filter(|index| full || changed(*index))
        .collect();
    let what = match (full, known) {
        (true, _) | (false, false) => "every reading",
        (false, true) => "readings that changed in this tick",
    };
    writeln!(out, "  {what}: {} of {}", shown.len(), now.len())?;
    for index in shown {
        let (name, value) = &now[index];
        match before.get(index) {
            Some((_, old)) if old != value => {
                writeln!(out, "    {name:<28} {value:<16} before: {old}")?;
            }
            Some(_) | None => writeln!(out, "    {name:<28} {value}")?,
        }
    }
    Ok(())
}

/// Readings that are unlike in two ticks: the name, what the first says and the second.
#[must_use]
pub fn readings_apart(first: &Inputs, second: &Inputs) -> Vec<(String, String, String)> {
    if first == second {
        return Vec::new();
    }
    let pairs = leaves(first).into_iter().zip(leaves(second));
    pairs
        .filter(|((_, first), (_, second))| first != second)
        .map(|((name, first), (_, second))| (name, first, second))
        .collect()
}

/// Writes what two answers say otherwise, under the names of those who gave them.
///
/// # Errors
/// When `out` cannot be written.
pub fn answers(
    out: &mut dyn Write,
    [one, other]: [&str; 2],
    first: &Outputs,
    second: &Outputs,
) -> io::Result<()> {
    writeln!(out, "  {:<22} {one:<34} {other}", "answer")?;
    for (name, first, second) in differing(first, second) {
        writeln!(out, "  {name:<22} {first:<34} {second}")?;
    }
    Ok(())
}

/// What two answers say otherwise, by name: what the first says and what the second.
#[must_use]
pub fn differing(first: &Outputs, second: &Outputs) -> Vec<(&'static str, String, String)> {
    let mut rows = all(first, second);
    rows.retain(|(_, first, second)| first != second);
    rows
}

/// Every reading, by name, in words.
fn leaves(inputs: &Inputs) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let value = serde_json::to_value(inputs).unwrap_or(Value::Null);
    descend(String::new(), &value, &mut found);
    found
}

fn descend(name: String, value: &Value, found: &mut Vec<(String, String)>) {
    let below = |part: &str| {
        if name.is_empty() {
            part.to_owned()
        } else {
            format!("{name}.{part}")
        }
    };
    match value {
        Value::Object(fields) => {
            if let (Some(reading), Some(age)) = (fields.get("value"), fields.get("age")) {
                found.push((name, signal(reading, age)));
                return;
            }
            for (part, value) in fields {
                descend(below(part), value, found);
            }
        }
        Value::Array(parts) => {
            for (index, value) in parts.iter().enumerate() {
                descend(below(&(index + 1).to_string()), value, found);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {
            found.push((name, value.to_string()));
        }
    }
}

/// A reading with what there is to doubt about it.
fn signal(reading: &Value, age: &Value) -> String {
    match age.as_u64() {
        Some(0) => reading.to_string(),
        Some(255) => format!("{reading} unsound"),
        Some(ticks) => format!("{reading} aged {ticks}"),
        None => format!("{reading} aged {age}"),
    }
}

/// Everything two answers say, by name.
fn all(host: &Outputs, target: &Outputs) -> Vec<(&'static str, String, String)> {
    macro_rules! rows {
        ($($name:literal: $($field:ident).+),+ $(,)?) => {
            vec![$((
                $name,
                format!("{:?}", host.$($field).+),
                format!("{:?}", target.$($field).+),
            )),+]
        };
    }
    let mut rows = rows! {
        "motor": drives.motor,
        "motor enable": drives.motor_enable,
        "mast": drives.mast,
        "doors": drives.doors,
        "mast power": drives.mast_power,
        "door power": drives.door_power,
        "bus": drives.bus,
        "fans": drives.fans,
        "auxiliary charger": drives.aux_charger,
        "state": indications.state,
        "mode": indications.mode,
        "mast locked": indications.mast_locked,
        "stowed": indications.stowed,
        "parked": indications.parked,
        "armed": indications.armed,
        "bus dead": indications.bus_dead,
        "denials": denials,
        "events": events,
        "events lost": events_lost,
    };
    let sets = (&host.indications, &target.indications);
    rows.extend([
        apart("faults", sets.0.faults, sets.1.faults),
        apart("sounding", sets.0.sounding, sets.1.sounding),
        apart("proven", host.proven, target.proven),
    ]);
    rows
}

/// Of two sets, what only one of them has.
fn apart<T: EnumSetType + Debug>(
    name: &'static str,
    host: EnumSet<T>,
    target: EnumSet<T>,
) -> (&'static str, String, String) {
    let words = |only: EnumSet<T>| {
        let words: Vec<String> = only.iter().map(|one| format!("{one:?}")).collect();
        if words.is_empty() {
            "nothing more".to_owned()
        } else {
            words.join(", ")
        }
    };
    (name, words(host - target), words(target - host))
}
