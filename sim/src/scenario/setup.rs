//! Where a scenario starts: the state of the world before the first tick.
//!
//! `[start]` says it in the terms of the cockpit, `[plant]` changes the aircraft and its
//! day in the terms of the models.

use std::ops::Range;

use serde::Deserialize;
use serde::de::{Error, Visitor};
use toml::Spanned;

use super::problem::Complaint;
use crate::plant::setup::Setup;

/// An aircraft slower than this cannot start in the air, m/s.
const SLOWEST: f64 = 15.0;

/// `[start]` as written.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(super) struct RawStart {
    mast: Option<Spanned<End>>,
    doors: Option<Spanned<End>>,
    blade_angle: Option<Spanned<f64>>,
    shaft_rpm: Option<Spanned<f64>>,
    airspeed: Option<Spanned<f64>>,
    height: Option<Spanned<f64>>,
    on_ground: Option<Spanned<bool>>,
    charge: Option<Spanned<[f64; 2]>>,
    auxiliary_charge: Option<Spanned<f64>>,
    pack_temperature: Option<Spanned<f64>>,
    motor_temperature: Option<Spanned<f64>>,
    controller_temperature: Option<Spanned<f64>>,
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

impl RawStart {
    /// Sets how `setup` starts.
    pub(super) fn apply(&self, setup: &mut Setup) -> Result<(), Complaint> {
        let start = &mut setup.initial;
        start.mast = self.mast.as_ref().map_or(0.0, |mast| mast.get_ref().0);
        start.doors = self.check_doors(start.mast)?;
        start.height = within("height", &self.height, 0.0..6000.0, "m")?.unwrap_or(0.0);
        start.airspeed = within("airspeed", &self.airspeed, 0.0..80.0, "m/s")?.unwrap_or(0.0);
        start.on_ground = self.check_ground(start.height, start.airspeed)?;
        if let Some(angle) = within("blade_angle", &self.blade_angle, 0.0..360.0, "deg")? {
            start.blade_angle = angle;
        }
        if let Some(rpm) = within("shaft_rpm", &self.shaft_rpm, -3000.0..3000.0, "rpm")? {
            start.shaft_rpm = rpm;
        }
        if let Some(charge) = self.check_charge()? {
            start.charge = charge;
        }
        if let Some(percent) = within("auxiliary_charge", &self.auxiliary_charge, 0.0..100.0, "%")?
        {
            start.auxiliary_charge = percent / 100.0;
        }
        let warm = -50.0..150.0;
        start.pack_temperature = within(
            "pack_temperature",
            &self.pack_temperature,
            warm.clone(),
            "C",
        )?;
        start.motor_temperature = within(
            "motor_temperature",
            &self.motor_temperature,
            warm.clone(),
            "C",
        )?;
        start.controller_temperature = within(
            "controller_temperature",
            &self.controller_temperature,
            warm,
            "C",
        )?;
        Ok(())
    }

    fn check_doors(&self, mast: f64) -> Result<Option<f64>, Complaint> {
        match &self.doors {
            None => Ok(None),
            Some(doors) if mast > 0.0 && doors.get_ref().0 < 1.0 => Err(Complaint::new(
                doors.span(),
                "the mast would stand in doors that are not open",
                "doors not open",
                "leave `doors` out, or set `doors = \"open\"` or `mast = \"stowed\"`",
            )),
            Some(doors) => Ok(Some(doors.get_ref().0)),
        }
    }

    fn check_ground(&self, height: f64, airspeed: f64) -> Result<bool, Complaint> {
        let on_ground = self
            .on_ground
            .as_ref()
            .map_or(height == 0.0, |given| *given.get_ref());
        // Whichever key was given is the one to point at.
        let place = || {
            let given = self.on_ground.as_ref().map(Spanned::span);
            let height = self.height.as_ref().map(Spanned::span);
            given.or(height).unwrap_or_default()
        };
        if on_ground && height > 0.0 {
            return Err(Complaint::new(
                place(),
                "an aircraft on the ground has no height above the field",
                "on the ground, yet high",
                "set `height = 0` or `on_ground = false`",
            ));
        }
        if !on_ground && airspeed < SLOWEST {
            return Err(Complaint::new(
                place(),
                format!("an aircraft in the air at {airspeed} m/s would fall"),
                "in the air, yet too slow",
                format!("set `airspeed` to {SLOWEST} or more, or `on_ground = true`"),
            ));
        }
        Ok(on_ground)
    }

    fn check_charge(&self) -> Result<Option<[f64; 2]>, Complaint> {
        let Some(charge) = &self.charge else {
            return Ok(None);
        };
        if charge
            .get_ref()
            .iter()
            .all(|percent| (0.0..=100.0).contains(percent))
        {
            Ok(Some(charge.get_ref().map(|percent| percent / 100.0)))
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
pub(crate) fn within(
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
