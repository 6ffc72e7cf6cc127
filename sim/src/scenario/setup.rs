//! Where a scenario starts: the state of the world before the first tick.

use std::ops::Range;

use serde::Deserialize;
use serde::de::{Error, Visitor};
use toml::Spanned;

use super::problem::Complaint;

/// The state of the world before the first tick. The controller always starts as it
/// does at power-up.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// Mast travel, 0 stowed to 1 deployed; deployed starts locked.
    pub mast: f64,
    /// Door opening, 0 shut to 1 open.
    pub doors: f64,
    /// Blade angle off the mast, deg, 0 to 360.
    pub blade_angle: f64,
    /// Shaft speed, rpm.
    pub propeller: f64,
    /// Airspeed, m/s.
    pub airspeed: f64,
    /// Height above the field, m.
    pub height: f64,
    /// The aircraft stands or rolls on the ground.
    pub on_ground: bool,
    /// Mass of the aircraft, kg; none: the model's own.
    pub mass: Option<f64>,
    /// Elevation of the field above sea level, m.
    pub elevation: f64,
    /// Air temperature above the standard atmosphere, K.
    pub warmer: f64,
    /// Charge of each pack, 0 to 1.
    pub charge: [f64; 2],
    /// Temperature of the packs, C; none: that of the air.
    pub pack_temperature: Option<f64>,
    /// Temperature of the motor windings, C; none: that of the air.
    pub motor_temperature: Option<f64>,
    /// Temperature of the motor controller, C; none: that of the air.
    pub controller_temperature: Option<f64>,
    /// Voltage of the auxiliary battery at rest, V; none: the model's own.
    pub auxiliary: Option<f64>,
}

/// `[start]` as written.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(super) struct RawSetup {
    mast: Option<Spanned<End>>,
    doors: Option<Spanned<End>>,
    blade_angle: Option<Spanned<f64>>,
    propeller: Option<Spanned<f64>>,
    airspeed: Option<Spanned<f64>>,
    height: Option<Spanned<f64>>,
    on_ground: Option<Spanned<bool>>,
    mass: Option<Spanned<f64>>,
    elevation: Option<Spanned<f64>>,
    warmer: Option<Spanned<f64>>,
    charge: Option<Spanned<[f64; 2]>>,
    pack_temperature: Option<Spanned<f64>>,
    motor_temperature: Option<Spanned<f64>>,
    controller_temperature: Option<Spanned<f64>>,
    auxiliary: Option<Spanned<f64>>,
}

/// A travel in percent, or the name of one of its ends; 0 to 1 inside.
#[derive(Clone, Copy, Debug)]
struct End(f64);

impl<'de> Deserialize<'de> for End {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Ends;
        impl Visitor<'_> for Ends {
            type Value = End;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a percentage from 0 to 100, or stowed, deployed, shut, open")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<End, E> {
                match text {
                    "stowed" | "shut" => Ok(End(0.0)),
                    "deployed" | "open" => Ok(End(1.0)),
                    _ => Err(E::invalid_value(serde::de::Unexpected::Str(text), &self)),
                }
            }

            fn visit_f64<E: Error>(self, percent: f64) -> Result<End, E> {
                if (0.0..=100.0).contains(&percent) {
                    Ok(End(percent / 100.0))
                } else {
                    Err(E::invalid_value(
                        serde::de::Unexpected::Float(percent),
                        &self,
                    ))
                }
            }

            fn visit_i64<E: Error>(self, percent: i64) -> Result<End, E> {
                match i16::try_from(percent) {
                    Ok(percent) => self.visit_f64(f64::from(percent)),
                    Err(_) => Err(E::invalid_value(
                        serde::de::Unexpected::Signed(percent),
                        &self,
                    )),
                }
            }
        }
        deserializer.deserialize_any(Ends)
    }
}

impl RawSetup {
    pub(super) fn check(&self) -> Result<Setup, Complaint> {
        let mast = self.mast.as_ref().map_or(0.0, |mast| mast.get_ref().0);
        let doors = self.check_doors(mast)?;
        let height = within("height", &self.height, 0.0..6000.0, "m")?.unwrap_or(0.0);
        let airspeed = within("airspeed", &self.airspeed, 0.0..80.0, "m/s")?.unwrap_or(0.0);
        let degrees = -60.0..160.0;
        Ok(Setup {
            mast,
            doors,
            blade_angle: within("blade_angle", &self.blade_angle, 0.0..360.0, "deg")?
                .unwrap_or(0.0),
            propeller: within("propeller", &self.propeller, -3000.0..3000.0, "rpm")?.unwrap_or(0.0),
            airspeed,
            height,
            on_ground: self.check_ground(height, airspeed)?,
            mass: within("mass", &self.mass, 250.0..850.0, "kg")?,
            elevation: within("elevation", &self.elevation, -400.0..4000.0, "m")?.unwrap_or(0.0),
            warmer: within("warmer", &self.warmer, -60.0..45.0, "K")?.unwrap_or(0.0),
            charge: self.check_charge()?,
            pack_temperature: within(
                "pack_temperature",
                &self.pack_temperature,
                degrees.clone(),
                "C",
            )?,
            motor_temperature: within(
                "motor_temperature",
                &self.motor_temperature,
                degrees.clone(),
                "C",
            )?,
            controller_temperature: within(
                "controller_temperature",
                &self.controller_temperature,
                degrees,
                "C",
            )?,
            auxiliary: within("auxiliary", &self.auxiliary, 6.0..15.0, "V")?,
        })
    }

    fn check_doors(&self, mast: f64) -> Result<f64, Complaint> {
        match &self.doors {
            None => Ok(if mast > 0.0 { 1.0 } else { 0.0 }),
            Some(doors) if mast > 0.0 && doors.get_ref().0 < 1.0 => Err(Complaint::new(
                doors.span(),
                "the mast would stand in doors that are not open",
                "doors not open",
                "leave `doors` out, or set `doors = \"open\"` or `mast = \"stowed\"`",
            )),
            Some(doors) => Ok(doors.get_ref().0),
        }
    }

    fn check_ground(&self, height: f64, airspeed: f64) -> Result<bool, Complaint> {
        match &self.on_ground {
            None => Ok(height == 0.0),
            Some(ground) if *ground.get_ref() && height > 0.0 => Err(Complaint::new(
                ground.span(),
                "an aircraft on the ground has no height above the field",
                "on the ground, yet high",
                "set `height = 0` or `on_ground = false`",
            )),
            Some(ground) if !*ground.get_ref() && airspeed < 15.0 => Err(Complaint::new(
                ground.span(),
                format!("an aircraft in the air at {airspeed} m/s would fall"),
                "in the air, yet too slow",
                "set `airspeed` to 15 or more, or `on_ground = true`",
            )),
            Some(ground) => Ok(*ground.get_ref()),
        }
    }

    fn check_charge(&self) -> Result<[f64; 2], Complaint> {
        let Some(charge) = &self.charge else {
            return Ok([0.95; 2]);
        };
        if charge
            .get_ref()
            .iter()
            .all(|percent| (0.0..=100.0).contains(percent))
        {
            Ok(charge.get_ref().map(|percent| percent / 100.0))
        } else {
            Err(Complaint::new(
                charge.span(),
                "the charge of a pack lies from 0 to 100 %",
                "out of range",
                "give both in percent, such as `charge = [95, 95]`",
            ))
        }
    }
}

/// The value of a field, if it is given and lies in `range` (ends included).
pub(super) fn within(
    name: &str,
    field: &Option<Spanned<f64>>,
    range: Range<f64>,
    unit: &str,
) -> Result<Option<f64>, Complaint> {
    let Some(field) = field else {
        return Ok(None);
    };
    let value = *field.get_ref();
    if value >= range.start && value <= range.end {
        return Ok(Some(value));
    }
    Err(Complaint::new(
        field.span(),
        format!("`{name}` is {value} {unit}"),
        "out of range",
        format!("give a value from {} to {} {unit}", range.start, range.end),
    ))
}
