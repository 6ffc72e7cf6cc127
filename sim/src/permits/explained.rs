//! What looks redundant in a permission and is kept, each with its reason.

use enumset::enum_set;
use mastwright_core::interlock::{Condition, Conditions, Permission, Reason};

/// Conditions that alone decide nothing in any row that can come about.
#[derive(Clone, Copy, Debug)]
pub struct Kept {
    /// In this permission.
    pub permission: Permission,
    /// These.
    pub conditions: Conditions,
    /// Why they are kept.
    pub why: &'static str,
}

/// Every such condition.
pub const KEPT: &[Kept] = &[
    Kept {
        permission: Permission::CloseDoors,
        conditions: enum_set!(Condition::MastConsistent),
        why: "A mast proven stowed has sensors that agree. Kept for its reason: the denial \
              says that sensors contradict each other or are not heard, not only that the \
              mast is not proven stowed.",
    },
    Kept {
        permission: Permission::TurnBlade,
        conditions: enum_set!(Condition::BladeKnown),
        why: HEARD,
    },
    Kept {
        permission: Permission::HoldBlade,
        conditions: enum_set!(Condition::BladeKnown),
        why: HEARD,
    },
    Kept {
        permission: Permission::CloseMain,
        conditions: PACKS,
        why: MEASURED,
    },
    Kept {
        permission: Permission::AuxCharge,
        conditions: PACKS,
        why: MEASURED,
    },
];

const HEARD: &str = "Sources that agree and a shaft proven slow are heard. Kept for its \
                     reason: the denial says that a reading is not heard, not only that \
                     sources disagree or the shaft is fast.";
const PACKS: Conditions = enum_set!(Condition::Pack1Usable | Condition::Pack2Usable);
const MEASURED: &str = "A bus proven pre-charged is so against a usable pack. Kept for its \
                        reason: the denial says that no pack is usable, not only that the \
                        bus is not pre-charged.";

/// A reason that several clauses of one permission give.
#[derive(Clone, Copy, Debug)]
pub struct Shared {
    /// In this permission.
    pub permission: Permission,
    /// This one.
    pub reason: Reason,
    /// Why one reason serves.
    pub why: &'static str,
}

/// Every such reason.
pub const SHARED: &[Shared] = &[
    Shared {
        permission: Permission::CloseDoors,
        reason: Reason::DeadTime,
        why: "The doors' own dead time, and that of the mast they must not meet: both are \
              waited for, and both are over in a moment.",
    },
    Shared {
        permission: Permission::AuxCharge,
        reason: Reason::BusNotLive,
        why: "A bus is live through its main contactor: the voltage and the contactor's \
          auxiliary contact are two witnesses of one fact.",
    },
];

/// Why this condition is kept in this permission, if it is explained.
#[must_use]
pub fn kept(permission: Permission, condition: Condition) -> Option<&'static str> {
    KEPT.iter()
        .find(|kept| kept.permission == permission && kept.conditions.contains(condition))
        .map(|kept| kept.why)
}

/// Why this reason may stand for several clauses of this permission, if it is explained.
#[must_use]
pub fn shared(permission: Permission, reason: Reason) -> Option<&'static str> {
    SHARED
        .iter()
        .find(|shared| shared.permission == permission && shared.reason == reason)
        .map(|shared| shared.why)
}
