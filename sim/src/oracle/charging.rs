//! Charging the auxiliary battery: SR-19.

use super::Rule;
use super::limits::{Limits, REACTION};
use super::moment::{Moment, Run};
use super::verdict::Finding;
use crate::plant::truth::PackTruth;

/// Range of a healthy pack's terminal voltage, V: wide enough for any charge and load.
const PACK_VOLTAGE: core::ops::RangeInclusive<f64> = 250.0..=480.0;

fn healthy(pack: &PackTruth, limits: &Limits) -> bool {
    pack.connected && PACK_VOLTAGE.contains(&pack.voltage) && pack.temperature <= limits.pack.damage
}

/// SR-19. Met while the auxiliary charger is on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Charging {
    unfit: Run,
}

impl Default for Charging {
    fn default() -> Self {
        Self {
            unfit: Run::FOREVER,
        }
    }
}

impl Rule for Charging {
    const ID: &'static str = "SR-19";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let (truth, limits) = (&now.frame.truth, now.limits);
        let fit = truth.bus.voltage >= limits.bus_live
            && truth.bus.main_closed
            && truth.bus.insulation >= limits.insulation
            && truth.packs.iter().any(|pack| healthy(pack, limits));
        let unfit = self.unfit.feed(!fit);
        if !now.frame.outputs.drives.aux_charger {
            return Finding::Idle;
        }
        if now.thrust {
            return Finding::broken("the auxiliary battery was charged under thrust");
        }
        if unfit > REACTION {
            return Finding::measured(
                "the auxiliary battery was charged from an unfit bus",
                truth.bus.voltage,
                "V",
            );
        }
        Finding::Held
    }
}

#[cfg(test)]
mod tests {
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, holds, locked, thrusting, with};

    #[test]
    fn charging_needs_propulsion_off_and_a_fit_bus() {
        let charge = |frame: &Frame| with(frame, |f| f.outputs.drives.aux_charger = true);
        let fit = locked();
        assert!(holds("SR-19", &[(100, &charge(&fit))]));
        assert!(breaks(
            "SR-19",
            &[(9, &fit), (1, &charge(&thrusting(fit.clone())))]
        ));
        let dead = with(&fit, |f| f.truth.bus.voltage = 100.0);
        let leaking = with(&fit, |f| f.truth.bus.insulation = 50e3);
        let packless = with(&fit, |f| f.truth.packs[0].connected = false);
        let open = with(&fit, |f| f.truth.bus.main_closed = false);
        for unfit in [dead, leaking, packless, open] {
            let unfit = charge(&unfit);
            assert!(holds("SR-19", &[(1, &charge(&fit)), (15, &unfit)]));
            assert!(breaks("SR-19", &[(1, &charge(&fit)), (16, &unfit)]));
        }
    }
}
