//! The air: International Standard Atmosphere, with a temperature offset for the day.
//!
//! Source: ISO 2533 / ICAO Doc 7488 formulae, troposphere, over geopotential height.
//! The model takes height above sea level as geopotential; below 3 km the difference
//! from geometric height is under 2 m.

use serde::{Deserialize, Serialize};

/// Sea-level temperature, K. Source: ISO 2533.
const T0: f64 = 288.15;
/// Sea-level pressure, Pa. Source: ISO 2533.
const P0: f64 = 101_325.0;
/// Temperature gradient of the troposphere, K/m. Source: ISO 2533.
const LAPSE: f64 = 0.0065;
/// Specific gas constant of air, J/(kg K). Source: ISO 2533.
const R_AIR: f64 = 287.052_87;
/// Standard acceleration of free fall, m/s². Source: ISO 2533.
pub const G0: f64 = 9.806_65;
/// Zero Celsius, K.
const ZERO_CELSIUS: f64 = 273.15;
/// Top of the troposphere, m geopotential. Source: ISO 2533.
const TROPOPAUSE: f64 = 11_000.0;

/// The day's air.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AirSetup {
    /// Departure from the standard temperature, K.
    pub offset: f64,
    /// Height of the field above sea level, m.
    pub field_elevation: f64,
}

impl Default for AirSetup {
    /// A day 5 K warmer than standard, at a field 150 m above the sea (invented).
    fn default() -> Self {
        Self {
            offset: 5.0,
            field_elevation: 150.0,
        }
    }
}

/// Air at one height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Density, kg/m³.
    pub density: f64,
    /// Temperature, deg C.
    pub temperature: f64,
}

/// The air at `geopotential` m above sea level, on a day `offset` K off standard.
///
/// Pressure keeps the standard profile; the offset acts on density through
/// temperature alone. Heights are held to the troposphere, 0 to 11 km, and to 500 m
/// below the sea.
#[must_use]
pub fn air(geopotential: f64, offset: f64) -> Air {
    let height = geopotential.clamp(-500.0, TROPOPAUSE);
    let standard = T0 - LAPSE * height;
    let pressure = P0 * (standard / T0).powf(G0 / (R_AIR * LAPSE));
    let temperature = standard + offset;
    Air {
        density: pressure / (R_AIR * temperature),
        temperature: temperature - ZERO_CELSIUS,
    }
}

impl AirSetup {
    /// The air at a height above the field, m.
    #[must_use]
    pub fn above_field(&self, height: f64) -> Air {
        air(self.field_elevation + height, self.offset)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warm_day_is_thinner_by_the_ratio_of_temperatures() {
        let (standard, warm) = (air(0.0, 0.0), air(0.0, 20.0));
        assert!((warm.density / standard.density - T0 / (T0 + 20.0)).abs() < 1e-12);
        assert!((warm.temperature - 35.0).abs() < 1e-9);
    }
}
