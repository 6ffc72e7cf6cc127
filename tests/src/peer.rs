//! A cross-check of the exploration by an independent engine: the mast-and-propeller core
//! of the abstract world, written by hand in `tests/promela/mast.pml`, searched by SPIN,
//! and the same questions put to the exploration of the real controller.
//!
//! Source: SPIN, Debian package `spin` 6.5.2 (run here).

pub mod ours;
pub mod spin;

use mastwright_sim::explore::trouble::Trouble;

use crate::wrong::of_the_peer::{BEHIND_COASTING, ON_THE_MAST, ONE_ANGLE, PARKED};

/// One question, put to both.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// Its name.
    pub name: &'static str,
    /// What is broken, if anything.
    pub trouble: Option<Trouble>,
    /// The switches of the Promela model.
    pub switches: &'static [&'static str],
    /// Whether a controller such as this ought to hold.
    pub holds: bool,
    /// The exploration of it.
    pub ours: fn(&Case, u64) -> ours::Explored,
}

/// The checks that both judge: of the blade, of the doors and of the drives' reversal.
pub const CHECKS: [&str; 5] = ["SR-02", "SR-03", "SR-09", "HZ-1", "HZ-3"];

/// Every question.
pub const CASES: [Case; 7] = [
    Case {
        name: "sound",
        trouble: None,
        switches: &[],
        holds: true,
        ours: ours::sound,
    },
    Case {
        name: "sound, one angle lies",
        trouble: Some(Trouble::AngleA),
        switches: &["LYING_ANGLE"],
        holds: true,
        ours: ours::sound,
    },
    Case {
        name: "believes-parked",
        trouble: None,
        switches: &["BELIEVES_PARKED"],
        holds: false,
        ours: ours::wrong::<PARKED>,
    },
    Case {
        name: "trusts-one-angle",
        trouble: None,
        switches: &["TRUSTS_ONE_ANGLE"],
        holds: true,
        ours: ours::wrong::<ONE_ANGLE>,
    },
    Case {
        name: "trusts-one-angle, which lies",
        trouble: Some(Trouble::AngleA),
        switches: &["TRUSTS_ONE_ANGLE", "LYING_ANGLE"],
        holds: false,
        ours: ours::wrong::<ONE_ANGLE>,
    },
    Case {
        name: "closes-on-mast",
        trouble: None,
        switches: &["CLOSES_ON_MAST"],
        holds: false,
        ours: ours::wrong::<ON_THE_MAST>,
    },
    Case {
        name: "closes-behind-coasting",
        trouble: None,
        switches: &["CLOSES_BEHIND_COASTING"],
        holds: false,
        ours: ours::wrong::<BEHIND_COASTING>,
    },
];
