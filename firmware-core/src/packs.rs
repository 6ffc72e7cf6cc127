//! Two packs and the auxiliary battery: which may serve, and which are joined.
//!
//! Responsibilities:
//! 1. Prove each pack usable from a voltage within its limits and a charge that is not
//!    proven empty. A pack that is not heard is not usable.
//! 2. Choose which packs are joined when the bus is next made live: both when they
//!    are balanced, otherwise the fuller one alone. A pack that fails in use is let go;
//!    none joins a live bus.
//! 3. Say when charge reaches the reserve, and when the auxiliary battery wants charge.

use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::{Inputs, PACKS, PackSensors};
use crate::interlock::{Condition, Conditions};
use crate::timer::Sustained;
use crate::units::{Millivolts, Permille};

/// What must be remembered of the packs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Packs {
    joined: [bool; PACKS],
    unusable: [Sustained; PACKS],
    aux_wants_charge: bool,
    aux_low: Sustained,
}

/// What the packs show in one tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Shown {
    /// Packs that may be joined now.
    pub candidates: [bool; PACKS],
    /// A pack is joined.
    pub any_joined: bool,
    /// The greatest voltage of a usable pack.
    pub reference: Option<Millivolts>,
    /// The least voltage of a usable pack that is joined.
    pub joined: Option<Millivolts>,
}

impl Packs {
    /// Reads the sensors for one tick; adds what they prove and the faults they show.
    pub fn observe(
        &mut self,
        inputs: &Inputs,
        aux_requested: bool,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> Shown {
        let [first, second] = &inputs.packs;
        let usable = [
            usable_voltage(first, config),
            usable_voltage(second, config),
        ];
        let [one, two] = usable;
        if one.is_some() {
            *proven |= Condition::Pack1Usable;
        }
        if two.is_some() {
            *proven |= Condition::Pack2Usable;
        }
        let [unusable_one, unusable_two] = &mut self.unusable;
        let [joined_one, joined_two] = &mut self.joined;
        let after = config.fault_after.ticks();
        if unusable_one.feed(one.is_none(), after) {
            *active |= Fault::Pack1Unusable;
            *joined_one = false;
        }
        if unusable_two.feed(two.is_none(), after) {
            *active |= Fault::Pack2Unusable;
            *joined_two = false;
        }
        self.observe_charge(inputs, aux_requested, config, proven, active);

        let candidates = match (one, two) {
            (Some(a), Some(b)) if !a.within(b, config.pack_unbalance) => {
                // Joined packs show one voltage; only packs at rest can be unbalanced.
                if !self.any_joined() {
                    *active |= Fault::PacksUnbalanced;
                }
                [a > b, b >= a]
            }
            (a, b) => [a.is_some(), b.is_some()],
        };
        let [joined_one, joined_two] = self.joined;
        let joined = [one.filter(|_| joined_one), two.filter(|_| joined_two)];
        Shown {
            candidates,
            any_joined: self.any_joined(),
            reference: one.max(two),
            joined: joined.into_iter().flatten().min(),
        }
    }

    /// Joins these packs to the common node, or none.
    pub const fn join(&mut self, packs: [bool; PACKS]) {
        self.joined = packs;
    }

    /// Which packs are joined.
    #[must_use]
    pub const fn joined(&self) -> [bool; PACKS] {
        self.joined
    }

    /// True while at least one pack is joined.
    #[must_use]
    fn any_joined(&self) -> bool {
        self.joined.contains(&true)
    }

    /// Share of rated thrust the joined packs can feed.
    #[must_use]
    pub fn thrust_limit(&self, config: &Config) -> Permille {
        if self.joined.contains(&false) {
            config.one_pack_limit
        } else {
            Permille::FULL
        }
    }

    fn observe_charge(
        &mut self,
        inputs: &Inputs,
        aux_requested: bool,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
        let limit = config.stale_after;
        if inputs.packs.iter().any(|pack| {
            pack.charge
                .proves(limit, |charge| charge < config.charge_reserve)
        }) {
            *active |= Fault::ChargeLow;
        }
        let auxiliary = inputs.auxiliary.proven(limit);
        let low = auxiliary.is_some_and(|voltage| voltage < config.aux_low);
        if self.aux_low.feed(low, config.fault_after.ticks()) {
            *active |= Fault::AuxiliaryLow;
        }
        self.aux_wants_charge = match auxiliary {
            Some(voltage) if voltage <= config.aux_resume => true,
            Some(voltage) if voltage >= config.aux_full => false,
            Some(_) => self.aux_wants_charge,
            None => false,
        };
        if aux_requested && self.aux_wants_charge {
            *proven |= Condition::AuxWanted;
        }
    }
}

#[cfg(feature = "walk")]
impl Packs {
    pub(crate) fn walk(&mut self, visitor: &mut impl crate::walk::Visitor, config: &Config) {
        use crate::walk::{Flag, Timer};
        let [one, two] = &mut self.joined;
        visitor.flag(Flag::Pack1Joined, one);
        visitor.flag(Flag::Pack2Joined, two);
        let after = config.fault_after.ticks();
        let [one, two] = &mut self.unusable;
        visitor.sustained(Timer::Pack1Unusable, one, after);
        visitor.sustained(Timer::Pack2Unusable, two, after);
        visitor.hysteresis(&mut self.aux_wants_charge);
    }
}

/// The pack's voltage if the pack may serve.
fn usable_voltage(pack: &PackSensors, config: &Config) -> Option<Millivolts> {
    let empty = pack
        .charge
        .proves(config.stale_after, |charge| charge <= config.charge_empty);
    pack.voltage
        .proven(config.stale_after)
        .filter(|&voltage| config.pack_min <= voltage && voltage <= config.pack_max && !empty)
}

#[cfg(test)]
mod tests;
