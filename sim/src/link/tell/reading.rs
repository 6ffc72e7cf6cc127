//! Readings by name, in words with their units.

use mastwright_core::Inputs;
use mastwright_core::signal::Age;
use mastwright_core::units::TICK_MS;

use crate::frame::Frame;
use crate::trace::Tick;
use crate::trace::export::{Signal, Value, signals};

/// Every reading, by its name in an export, in words.
pub(super) fn leaves(inputs: &Inputs) -> Vec<(String, String)> {
    let tick = Tick {
        frame: Frame {
            inputs: *inputs,
            ..Frame::default()
        },
        ..Tick::default()
    };
    let signals = signals();
    let readings: Vec<&Signal> = signals
        .iter()
        .filter(|signal| signal.is_under("inputs"))
        .collect();
    // Behind each reading stands its age, but for the one that has none.
    let mut found = Vec::new();
    for (index, signal) in readings.iter().enumerate() {
        let age = readings.get(index + 1).map(|next| next.read(&tick));
        match (signal.read(&tick), age) {
            (Value::Whole(_), _) => {}
            (value, Some(Value::Whole(age))) => {
                found.push((
                    signal.name().to_owned(),
                    doubted(&words(signal, &value), age),
                ));
            }
            (value, Some(Value::Flag(_) | Value::Real(_) | Value::Text(_)) | None) => {
                found.push((signal.name().to_owned(), words(signal, &value)));
            }
        }
    }
    found
}

fn words(signal: &Signal, value: &Value) -> String {
    let number = match value {
        Value::Flag(flag) => flag.to_string(),
        Value::Real(number) => number.to_string(),
        Value::Whole(number) => number.map_or_else(String::new, |number| number.to_string()),
        Value::Text(text) => text.to_string(),
    };
    match signal.unit() {
        Some(unit) => format!("{number} {}", unit.symbol()),
        None => number,
    }
}

/// A reading with what there is to doubt about it; without an age it is unsound.
fn doubted(words: &str, age: Option<u32>) -> String {
    let oldest = u32::from(Age::OLDEST.ticks()) * u32::from(TICK_MS);
    match age {
        Some(0) => words.to_owned(),
        Some(age) if age == oldest => format!("{words}, over {age} ms old"),
        Some(age) => format!("{words}, {age} ms old"),
        None => format!("{words}, unsound"),
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::signal::Signal as Reading;
    use mastwright_core::units::{CentiDegrees, Millivolts};

    use super::*;

    #[test]
    fn a_reading_is_told_with_its_unit_and_what_there_is_to_doubt() {
        let mut inputs = Inputs::default();
        inputs.bus.voltage = Reading::fresh(Millivolts::new(445_449));
        inputs.propeller.angle_a = Reading::aged(CentiDegrees::new(-1234), Age::new(12));
        inputs.missed_deadline = true;
        let told = leaves(&inputs);
        let of = |name: &str| {
            let found = told.iter().find(|(known, _)| known == name);
            found.map(|(_, words)| words.as_str())
        };
        assert_eq!(told.len(), 40);
        assert_eq!(of("inputs.bus.voltage_V"), Some("445.449 V"));
        assert_eq!(
            of("inputs.propeller.angle_a_deg"),
            Some("-12.34 deg, 120 ms old")
        );
        assert_eq!(of("inputs.missed_deadline"), Some("true"));
        let silent = "0 m/s, unsound";
        assert_eq!(of("inputs.airspeed_m_s"), Some(silent));
    }
}
