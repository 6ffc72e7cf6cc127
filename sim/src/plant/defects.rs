//! What is broken or disturbed in the world itself, apart from sensors and actuators'
//! commands. The default is a sound aircraft in calm air.

use super::truth::PACKS;

/// Mechanical, electrical and outside troubles in force during one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Defects {
    /// The mast cannot pass this position, either way.
    pub mast_jam: Option<f64>,
    /// The mast spindle no longer holds: the mast drifts under its load.
    pub mast_free: bool,
    /// The doors cannot pass this opening, either way.
    pub door_jam: Option<f64>,
    /// The contacts of the main contactor stay together once they touch.
    pub main_welded: bool,
    /// The contacts of a pack's contactor stay together once they touch.
    pub pack_contactor_welded: [bool; PACKS],
    /// The pack's own disconnect has opened.
    pub pack_dropout: [bool; PACKS],
    /// Resistance that age has added to a pack, as a share of that of a new one.
    pub pack_aged: [f64; PACKS],
    /// Insulation resistance, ohm, in place of the healthy one.
    pub insulation_ohm: Option<f64>,
    /// The cooling fans do not turn.
    pub fans_failed: bool,
    /// The discharge path is interrupted.
    pub discharge_open: bool,
    /// The pre-charge path is interrupted.
    pub precharge_open: bool,
    /// Torque put on the blade from outside, by hand, N m; positive in the
    /// propulsive sense.
    pub blade_push: f64,
    /// Gust along the flight path, m/s; adds to the airspeed.
    pub gust: f64,
    /// Airspeed above what the pilot means to fly, m/s, in flight only.
    pub over_speed: f64,
    /// Friction that the propeller's bearing has gained, N m.
    pub shaft_drag: f64,
    /// The propeller detent is worn and holds a fifth of its torque.
    pub detent_worn: bool,
    /// Rise of the air in the bay above ambient, K, where the fire or leak is.
    pub extra_heat_bay: f64,
    /// Additional load on the auxiliary battery, A.
    pub aux_drain: f64,
    /// Temperature of the air around the parts, deg C, in place of that of the day; the
    /// density of the air stays that of the day.
    pub ambient: Option<f64>,
}
