//! What the readings of one tick cannot prove together, or not without one another.
//!
//! A truth table treats conditions as free. Some are not: a blade that is proven parked
//! is in its place. Each coupling follows from how the controller's modules prove their
//! conditions, with any accepted settings; `tests/tests/permits.rs` holds them against what
//! the real controller proves under random inputs and in flown missions.

use enumset::enum_set;
use mastwright_core::interlock::{Condition, Conditions};

/// Where all of one set are proven, one of another is.
#[derive(Clone, Copy, Debug)]
pub struct Coupling {
    /// When all of these are proven (always, if there are none) ...
    pub if_all: Conditions,
    /// ... at least one of these is. None: the first cannot all be proven at once.
    pub then_any: Conditions,
    /// Why.
    pub why: &'static str,
}

macro_rules! coupling {
    ($($given:ident)&* => $($then:ident)|*, $why:expr) => {
        Coupling {
            if_all: enum_set!($(Condition::$given)|*),
            then_any: enum_set!($(Condition::$then)|*),
            why: $why,
        }
    };
}

/// A motor that propels was permitted to in the same tick, which needs what `Propel` needs.
const PROPELS: &str = "a motor told to propel was permitted to in the same tick";

/// Every coupling between conditions of one permission.
pub const COUPLINGS: &[Coupling] = &[
    coupling!(Parked => BladeInPlace, "a parked blade is in its park window by both sources"),
    coupling!(BladeAgrees & ShaftSlow => BladeKnown, "sources that agree are both heard, and the speed of a shaft seen slow is"),
    coupling!(BladeNearPark & ShaftSlow => BladeKnown, "both sources are heard to see the blade there, and the speed of a shaft seen slow is"),
    coupling!(MastStowed => MastConsistent, "contradicting mast sensors prove no place"),
    coupling!(MastClear => MastConsistent, "contradicting mast sensors prove no place"),
    coupling!(Precharged => Pack1Usable | Pack2Usable, "pre-charge is measured against the voltage of a usable pack"),
    coupling!(Restrained & NotBench => , "restraint is confirmed in Bench alone"),
    coupling!(=> TorqueOff | MastClear, PROPELS),
    coupling!(=> TorqueOff | MastConsistent, PROPELS),
    coupling!(=> TorqueOff | OnTime, PROPELS),
    coupling!(=> TorqueOff | BusLive, PROPELS),
    coupling!(=> TorqueOff | Pack1Usable | Pack2Usable, PROPELS),
    coupling!(=> TorqueOff | NotBench, "no state of Bench asks for thrust"),
];

impl Coupling {
    /// The conditions it is about.
    #[must_use]
    pub fn concerns(&self) -> Conditions {
        self.if_all | self.then_any
    }

    /// True unless `proven` is what it rules out.
    #[must_use]
    pub fn allows(&self, proven: Conditions) -> bool {
        !proven.is_superset(self.if_all) || !proven.is_disjoint(self.then_any)
    }
}

/// True unless a coupling among the conditions `concerned` rules out that just `proven`
/// of them are.
#[must_use]
pub fn possible(proven: Conditions, concerned: Conditions) -> bool {
    COUPLINGS
        .iter()
        .filter(|coupling| coupling.concerns().is_subset(concerned))
        .all(|coupling| coupling.allows(proven))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::permits::{all, rows::Rows};

    #[test]
    fn a_coupling_rules_out_just_what_it_says() {
        let concerned = Condition::Parked | Condition::BladeInPlace;
        assert!(!possible(Condition::Parked.into(), concerned));
        assert!(possible(Condition::BladeInPlace.into(), concerned));
        assert!(possible(concerned, concerned));
        // Whoever does not look at the place cannot tell.
        let parked = Conditions::only(Condition::Parked);
        assert!(possible(parked, parked));
    }

    #[test]
    fn every_coupling_concerns_a_permission() {
        for coupling in COUPLINGS {
            let concerned = all().any(|permission| {
                let rows = Rows::of(permission.clauses());
                coupling.concerns().is_subset(rows.concerned())
            });
            assert!(concerned, "{coupling:?}");
        }
    }
}
