//! What the controller is told and must act on: SR-12, SR-16.

use mastwright_core::signal::Signal;
use mastwright_core::{Fault, Inputs};

use super::Rule;
use super::limits::REACTION;
use super::moment::{Moment, Run};
use super::signals::sound;
use super::verdict::Finding;

/// A switch contradicts the position sensor beyond this distance from its end, permille:
/// more than any setting of the controller allows the two to differ.
const APART: i16 = 160;

/// True when the mast's switches, as told, contradict each other or the position.
#[inline]
fn contradictory(inputs: &Inputs) -> bool {
    let told = |signal: &Signal<bool>| sound(signal) && signal.raw();
    let mast = &inputs.mast;
    let (stowed, deployed) = (told(&mast.stowed_switch), told(&mast.deployed_switch));
    let locked = told(&mast.lock_switch);
    if !stowed && !deployed && !locked {
        return false;
    }
    let position = mast.position.raw().get();
    let heard = sound(&mast.position);
    (stowed && deployed)
        || (heard && stowed && position > APART)
        || (heard && (deployed || locked) && position < 1000 - APART)
}

/// SR-12. Met while the mast's sensors, as told, contradict each other.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contradiction {
    lasting: Run,
}

impl Default for Contradiction {
    fn default() -> Self {
        Self {
            lasting: Run::NEVER,
        }
    }
}

impl Rule for Contradiction {
    const ID: &'static str = "SR-12";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let met = now.awake() && contradictory(&now.frame.inputs);
        if self.lasting.feed(met) <= REACTION {
            return Finding::held_if(met);
        }
        if now.mast_driven {
            return Finding::broken("the mast was driven on contradictory sensors");
        }
        let faults = now.frame.outputs.indications.faults;
        if faults.is_disjoint(Fault::MastContradiction | Fault::MastSensorLost) {
            return Finding::broken("contradictory mast sensors latched no fault");
        }
        Finding::Held
    }
}

/// SR-16, the part a run can show. Met in a tick whose predecessor missed its deadline.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct LateIsSafe;

impl Rule for LateIsSafe {
    const ID: &'static str = "SR-16";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        if !now.frame.inputs.missed_deadline || !now.frame.powered {
            return Finding::Idle;
        }
        if now.mast_driven || now.doors_driven || now.torque || now.thrust {
            return Finding::broken("something was driven after a missed deadline");
        }
        Finding::Held
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::outputs::{DoorDrive, MastDrive, Motor, Pace};
    use mastwright_core::units::Permille;

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, half_out, holds, judge, locked, thrusting, told, with};
    use crate::oracle::verdict::Outcome;

    /// After waking, sensors that contradict each other, as told.
    fn contradict(change: fn(&mut Inputs)) -> Frame {
        with(&half_out(), |f| change(&mut f.inputs))
    }

    #[test]
    fn contradictory_mast_sensors_must_halt_the_mast_and_latch_a_fault() {
        let calm = half_out();
        let ways: [fn(&mut Inputs); 3] = [
            |i| {
                *i = told(0);
                i.mast.deployed_switch = Signal::fresh(true);
            },
            |i| i.mast.stowed_switch = Signal::fresh(true),
            |i| i.mast.deployed_switch = Signal::fresh(true),
        ];
        for way in ways {
            let silent = contradict(way);
            let latched = with(&silent, |f| {
                f.outputs.indications.faults = Fault::MastContradiction.into();
            });
            let driven = with(&latched, |f| {
                f.outputs.drives.mast = MastDrive::Extend(Pace::Full);
            });
            assert!(holds(
                "SR-12",
                &[(200, &calm), (15, &silent), (9, &latched)]
            ));
            assert!(breaks("SR-12", &[(200, &calm), (16, &silent)]));
            assert!(breaks("SR-12", &[(200, &calm), (16, &driven)]));
        }
    }

    #[test]
    fn sensors_that_agree_do_not_contradict() {
        for position in [0, 10, 500, 990, 1000] {
            let agreeing = with(&half_out(), |f| f.inputs = told(position));
            assert_eq!(
                judge("SR-12", &[(300, &agreeing)]),
                Outcome::NotExercised,
                "{position}"
            );
        }
    }

    #[test]
    fn a_missed_deadline_leaves_nothing_driven() {
        let late = |frame: &Frame| with(frame, |f| f.inputs.missed_deadline = true);
        assert!(holds("SR-16", &[(1, &late(&locked()))]));
        assert!(breaks("SR-16", &[(1, &late(&thrusting(locked())))]));
        let mast = with(&half_out(), |f| {
            f.outputs.drives.mast = MastDrive::Extend(Pace::Full);
        });
        let doors = with(&half_out(), |f| f.outputs.drives.doors = DoorDrive::Open);
        let brake = with(&locked(), |f| {
            f.outputs.drives.motor = Motor::Brake(Permille::FULL);
            f.outputs.drives.motor_enable = true;
        });
        for driven in [mast, doors, brake] {
            assert!(breaks("SR-16", &[(1, &late(&driven))]));
        }
    }
}
