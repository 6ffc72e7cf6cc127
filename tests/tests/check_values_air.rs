//! Checks from outside: the atmosphere.

use mastwright_sim::plant::air::air;

/// ISA density over geopotential height. Source: ISO 2533 / ICAO Doc 7488 formulae;
/// crossed with the independent package `ambiance` on geometric heights.
#[test]
fn density_follows_the_standard_atmosphere() {
    for (height, density) in [
        (0.0, 1.225_000),
        (1_000.0, 1.111_642),
        (2_000.0, 1.006_490),
        (3_000.0, 0.909_122),
    ] {
        let found = air(height, 0.0).density;
        assert!((found - density).abs() < 1e-6, "{height} m: {found}");
    }
}

/// The same package's values over geometric height z, taken to geopotential height
/// r z/(r + z) with the earth radius 6 356 766 m of ISO 2533. Standing: crossed.
#[test]
fn density_over_geometric_height_agrees_with_an_independent_package() {
    const EARTH: f64 = 6_356_766.0;
    for (geometric, density) in [
        (0.0, 1.225_000),
        (1_000.0, 1.111_660),
        (2_000.0, 1.006_554),
        (3_000.0, 0.909_254),
    ] {
        let geopotential = EARTH * geometric / (EARTH + geometric);
        let found = air(geopotential, 0.0).density;
        assert!((found - density).abs() < 1.5e-6, "{geometric} m: {found}");
    }
}

/// Sea-level temperature 15 C and a fall of 6.5 K for each kilometre. Source: ISO 2533
/// / ICAO Doc 7488.
#[test]
fn temperature_falls_by_6_5_kelvin_for_each_kilometre() {
    assert!((air(0.0, 0.0).temperature - 15.0).abs() < 1e-9);
    assert!((air(2_000.0, 0.0).temperature - 2.0).abs() < 1e-9);
}
