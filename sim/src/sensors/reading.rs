//! From a number to a reading: rounded, held to the sensor's range, fresh or ageing.

use core::f64::consts::TAU;

use mastwright_core::signal::Signal;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

/// Rounds half away from zero; a number that is none reads as zero.
#[inline]
fn round(value: f64) -> i32 {
    (value + 0.5_f64.copysign(value)) as i32
}

/// Rounds into a 16-bit range.
#[inline]
fn round_within(value: f64, low: i16, high: i16) -> i16 {
    round(value).clamp(i32::from(low), i32::from(high)) as i16
}

/// A share, 0 to 1000 permille.
#[must_use]
pub fn permille(value: f64) -> Signal<Permille> {
    Signal::fresh(Permille::new(round_within(value, 0, 1_000)))
}

/// A shaft speed, -5000 to 5000 rpm.
#[must_use]
pub fn rpm(value: f64) -> Signal<Rpm> {
    Signal::fresh(Rpm::new(round_within(value, -5_000, 5_000)))
}

/// A voltage, 0 to 600 000 mV.
#[must_use]
pub fn millivolts(value: f64) -> Signal<Millivolts> {
    Signal::fresh(Millivolts::new(round(value).clamp(0, 600_000)))
}

/// A current, -2 000 000 to 2 000 000 mA.
#[must_use]
pub fn milliamps(value: f64) -> Signal<Milliamps> {
    Signal::fresh(Milliamps::new(round(value).clamp(-2_000_000, 2_000_000)))
}

/// A resistance, 0 to 65 535 kohm.
#[must_use]
pub fn kiloohms(value: f64) -> Signal<KiloOhms> {
    Signal::fresh(KiloOhms::new(round(value).clamp(0, 65_535) as u16))
}

/// A temperature, -1000 to 3000 (0.1 C).
#[must_use]
pub fn decicelsius(value: f64) -> Signal<DeciCelsius> {
    Signal::fresh(DeciCelsius::new(round_within(value, -1_000, 3_000)))
}

/// An airspeed, 0 to 1000 (0.1 m/s).
#[must_use]
pub fn decimetres_per_second(value: f64) -> Signal<DeciMetresPerSecond> {
    Signal::fresh(DeciMetresPerSecond::new(round_within(value, 0, 1_000)))
}

/// A shaft angle within one turn either side of [0, 2 pi), rad; reads 0 to 35 999.
#[must_use]
pub fn angle(radians: f64) -> Signal<CentiDegrees> {
    let turned = round(radians * (36_000.0 / TAU));
    let wrapped = if turned < 0 {
        turned + 36_000
    } else if turned >= 36_000 {
        turned - 36_000
    } else {
        turned
    };
    Signal::fresh(CentiDegrees::new(wrapped))
}

/// Renews a reading when it is due, and otherwise lets it grow one tick older.
#[inline]
pub fn renew<T: Copy>(slot: &mut Signal<T>, due: bool, read: impl FnOnce() -> Signal<T>) {
    *slot = if due { read() } else { slot.older() };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_round_and_stay_in_range() {
        assert_eq!(permille(999.6).raw(), Permille::new(1_000));
        assert_eq!(permille(-3.0).raw(), Permille::new(0));
        assert_eq!(rpm(-0.4).raw(), Rpm::new(0));
        assert_eq!(millivolts(f64::NAN).raw(), Millivolts::new(0));
        assert_eq!(kiloohms(1e9).raw(), KiloOhms::new(65_535));
    }

    #[test]
    fn angles_wrap_at_a_full_turn() {
        assert_eq!(angle(TAU - 1e-9).raw(), CentiDegrees::new(0));
        assert_eq!(angle(-0.01).raw(), CentiDegrees::new(35_943));
        assert_eq!(angle(TAU / 2.0).raw(), CentiDegrees::new(18_000));
    }
}
