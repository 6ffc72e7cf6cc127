//! What the bus sensors say in one tick, and what that alone proves.

use crate::config::Config;
use crate::inputs::BusSensors;
use crate::interlock::{Condition, Conditions};
use crate::packs;
use crate::units::{Milliamps, Millivolts, Permille};

/// What the bus sensors say in one tick, as far as they are heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Reading {
    voltage: Option<Millivolts>,
    current: Option<Milliamps>,
    pub(super) main_closed: Option<bool>,
    pub(super) packs: packs::Shown,
}

impl Reading {
    /// What is heard of the sensors, beside what the packs show.
    pub(super) fn of(sensors: &BusSensors, packs: packs::Shown, config: &Config) -> Self {
        let limit = config.stale_after;
        Self {
            voltage: sensors.voltage.proven(limit),
            current: sensors.current.proven(limit),
            main_closed: sensors.main_feedback.proven(limit),
            packs,
        }
    }

    /// What it proves by itself, whatever the stage.
    pub(super) fn proves(&self, config: &Config) -> Conditions {
        let dead = self
            .voltage
            .is_some_and(|voltage| voltage < config.high_voltage);
        Condition::BusDead.when(dead)
            | Condition::MainOpen.when(self.main_closed == Some(false))
            | Condition::MainClosed.when(self.main_closed == Some(true))
            | Condition::Precharged.when(self.reaches(config.precharge_share))
            | Condition::InrushFaded.when(self.faded_to(config.inrush_max))
    }

    /// True when the current, either way, is heard to be no more than `limit`.
    pub(super) fn faded_to(&self, limit: Milliamps) -> bool {
        self.current
            .is_some_and(|current| current.magnitude() <= limit)
    }

    /// True when the packs are heard to give more than `limit`; what a braking motor
    /// gives back does not count.
    pub fn draws_more_than(&self, limit: Milliamps) -> bool {
        self.current.is_some_and(|current| current > limit)
    }

    /// True when the bus voltage is heard and reaches this share of pack voltage.
    pub(super) fn reaches(&self, share: Permille) -> bool {
        self.voltage
            .zip(self.packs.reference)
            .is_some_and(|(bus, pack)| bus >= pack.share(share))
    }

    /// True when the bus voltage is heard and falls short of this share of the voltage
    /// of every joined pack.
    pub(super) fn lags(&self, share: Permille) -> bool {
        self.voltage
            .zip(self.packs.joined)
            .is_some_and(|(bus, pack)| bus < pack.share(share))
    }

    /// True when the main contactor may be closed, or kept so: it shows that it is, or the
    /// bus that it was pre-charged.
    pub(super) fn charged(&self, config: &Config) -> bool {
        self.main_closed == Some(true) || self.reaches(config.precharge_share)
    }

    /// True when a pack is joined and the bus is proven live: by a voltage in range, or, while
    /// the voltage is not heard, by two other witnesses, the main contactor's auxiliary contact
    /// and a usable pack.
    pub(super) fn proves_live(&self, config: &Config) -> bool {
        if !self.packs.any_joined {
            return false;
        }
        match self.voltage {
            Some(voltage) => config.bus_min <= voltage && voltage <= config.bus_max,
            None => self.main_closed == Some(true) && self.packs.reference.is_some(),
        }
    }
}
