//! Numbers as the screen and reports write them: short, without a negative zero, whatever they are.

use mastwright_core::units::{DeciCelsius, Millivolts};

/// A number with so many decimals; one that is no number, or absurd, as dashes.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() || value.abs() >= 1e6 {
        return "---".to_owned();
    }
    let scale = [1.0, 10.0, 100.0].get(decimals).copied().unwrap_or(1000.0);
    // Adding zero takes the sign off a rounded -0.
    let rounded = (value * scale).round() / scale + 0.0;
    format!("{rounded:.decimals$}")
}

/// A share of one in percent.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{} %", number(share * 100.0, 0))
}

/// Shaft speed in rpm from rad/s.
#[must_use]
pub fn rpm(speed: f64) -> f64 {
    speed * 60.0 / core::f64::consts::TAU
}

/// A voltage in whole volts.
#[must_use]
pub fn volts(voltage: Millivolts) -> String {
    format!("{} V", number(f64::from(voltage.get()) / 1000.0, 0))
}

/// A temperature in whole degrees.
#[must_use]
pub fn celsius(temperature: DeciCelsius) -> String {
    format!("{} °C", number(f64::from(temperature.get()) / 10.0, 0))
}

/// So many of them: `1 fault`, `2 faults`.
#[must_use]
pub fn counted(count: u64, one: &str) -> String {
    let end = if count == 1 { "" } else { "s" };
    format!("{count} {one}{end}")
}

/// A finite number within a range; what is no number becomes the lower end.
#[must_use]
pub fn within(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() {
        low
    } else {
        value.clamp(low, high)
    }
}

/// Cells, out of `cells`, that stand for a share of the whole.
#[must_use]
pub fn cells(share: f64, cells: u16) -> u16 {
    let share = within(share, 0.0, 1.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 0 and `cells`"
    )]
    let count = (share * f64::from(cells)).round() as u16;
    count
}

/// Minutes, seconds and hundredths of a tick.
#[must_use]
pub fn clock(tick: u64) -> String {
    let (seconds, hundredths) = (tick / 100, tick % 100);
    format!("{}:{:02}.{hundredths:02}", seconds / 60, seconds % 60)
}

/// The end of a scale: the next 1, 2 or 5 times a power of ten.
#[must_use]
pub fn round_up(value: f64) -> f64 {
    let mut step = 1.0;
    loop {
        for times in [1.0, 2.0, 5.0] {
            if step * times >= value || step > 1e12 {
                return step * times;
            }
        }
        step *= 10.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_short_whatever_it_is() {
        assert_eq!(number(-0.001, 0), "0");
        assert_eq!(number(12.34, 1), "12.3");
        assert_eq!(number(f64::NAN, 1), "---");
        assert_eq!(number(f64::MAX, 0), "---");
    }

    #[test]
    fn one_of_them_is_not_told_as_many() {
        let told = [0, 1, 2].map(|count| counted(count, "fault"));
        assert_eq!(told, ["0 faults", "1 fault", "2 faults"]);
    }

    #[test]
    fn a_share_is_no_more_cells_than_there_are() {
        assert_eq!(cells(0.5, 10), 5);
        assert_eq!(cells(f64::INFINITY, 10), 10);
        assert_eq!(cells(f64::NAN, 10), 0);
    }

    #[test]
    fn a_scale_ends_at_a_round_number_not_below_its_greatest_value() {
        assert_eq!(
            [0.4, 1.0, 3.0, 51.0, 1999.0].map(round_up),
            [1.0, 1.0, 5.0, 100.0, 2000.0]
        );
    }

    #[test]
    fn a_tick_is_a_time() {
        assert_eq!(clock(6_543), "1:05.43");
    }
}
