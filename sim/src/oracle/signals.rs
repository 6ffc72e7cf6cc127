//! What the controller was told, and what it must not make of it: SR-11, SR-12, SR-16.
//! The only rules that look at the inputs: these requirements speak about them.

use mastwright_core::outputs::{DoorDrive, MastDrive, Motor};
use mastwright_core::signal::Signal;
use mastwright_core::{Fault, Inputs, State};

use super::Rule;
use super::limits::REACTION;
use super::moment::{Moment, Run};
use super::verdict::Finding;

/// A sample older than this is not heard, ticks: 150 ms.
const OLD: u8 = 15;

/// Why a signal is not heard now.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Hearing {
    Sound,
    Invalid,
    Old,
}

#[inline]
fn hearing<T: Copy>(signal: &Signal<T>) -> Hearing {
    match (signal.is_valid(), signal.age().ticks() > OLD) {
        (true, false) => Hearing::Sound,
        (true, true) => Hearing::Old,
        (false, _) => Hearing::Invalid,
    }
}

// The signals that prove something, by their place in the table of silences.
const POSITION: usize = 0;
const STOWED_SWITCH: usize = 1;
const LOCK: usize = 2;
const LEFT_OPEN: usize = 3;
const RIGHT_OPEN: usize = 4;
const ANGLE_A: usize = 5;
const ANGLE_B: usize = 6;
const SHAFT: usize = 7;
const THROTTLE_A: usize = 8;
const THROTTLE_B: usize = 9;
const STOP_A: usize = 10;
const STOP_B: usize = 11;
const VOLTAGE: usize = 12;
const INSULATION: usize = 13;
const SIGNALS: usize = 14;

/// Applies `$judge` to each signal of the table, in its order.
macro_rules! each_signal {
    ($inputs:expr, $judge:ident) => {
        [
            $judge(&$inputs.mast.position),
            $judge(&$inputs.mast.stowed_switch),
            $judge(&$inputs.mast.lock_switch),
            $judge(&$inputs.doors.left_open),
            $judge(&$inputs.doors.right_open),
            $judge(&$inputs.propeller.angle_a),
            $judge(&$inputs.propeller.angle_b),
            $judge(&$inputs.propeller.speed),
            $judge(&$inputs.controls.throttle_a),
            $judge(&$inputs.controls.throttle_b),
            $judge(&$inputs.controls.stop_a),
            $judge(&$inputs.controls.stop_b),
            $judge(&$inputs.bus.voltage),
            $judge(&$inputs.bus.insulation),
        ]
    };
}

#[inline]
fn sound<T: Copy>(signal: &Signal<T>) -> bool {
    signal.is_valid() & (signal.age().ticks() <= OLD)
}

/// SR-11. Met while something is driven that needs a signal nobody has heard for 150 ms
/// or, to count as exercised, while any such signal is unheard and nothing is driven on it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct StaleProvesNothing {
    silent: [u32; SIGNALS],
    any: bool,
    main: bool,
}

impl StaleProvesNothing {
    /// Counts for how long each signal has been unheard; true if any has been too long.
    #[inline]
    fn listen(&mut self, inputs: &Inputs) -> bool {
        let all = each_signal!(inputs, sound)
            .into_iter()
            .fold(true, |a, b| a & b);
        if all && !self.any {
            return false;
        }
        self.any = !all;
        let mut too_long = false;
        for (silent, hearing) in self.silent.iter_mut().zip(each_signal!(inputs, hearing)) {
            *silent = match hearing {
                Hearing::Sound => 0,
                Hearing::Invalid => silent.saturating_add(1),
                Hearing::Old => silent.saturating_add(1).max(REACTION + 1),
            };
            too_long |= *silent > REACTION;
        }
        too_long
    }

    fn unheard(&self, signals: &[usize]) -> bool {
        signals.iter().any(|&s| self.silent[s] > REACTION)
    }

    /// What is driven on a signal nobody has heard.
    fn driven_blind(&self, now: &Moment<'_>, closes: bool) -> Option<&'static str> {
        let drives = &now.frame.outputs.drives;
        let needs_parking = matches!(drives.mast, MastDrive::Retract(_))
            || (now.mast_driven && now.frame.truth.mast.position < now.limits.clearance_position);
        let bench = now.state() == State::Bench;
        let both_stops = self.unheard(&[STOP_A]) && self.unheard(&[STOP_B]);
        if now.mast_driven && self.unheard(&[POSITION, LEFT_OPEN, RIGHT_OPEN]) {
            return Some("the mast was driven with its position or the doors unheard");
        }
        if needs_parking && !bench && self.unheard(&[ANGLE_A, ANGLE_B, SHAFT]) {
            return Some("the mast was driven with the blade unheard");
        }
        if now.thrust && (both_stops || self.unheard(&[LOCK, THROTTLE_A, THROTTLE_B])) {
            return Some("thrust was commanded with lock, throttle or stop switch unheard");
        }
        if matches!(drives.doors, DoorDrive::Close) && self.unheard(&[POSITION, STOWED_SWITCH]) {
            return Some("the doors were closed with the mast unheard");
        }
        if matches!(drives.motor, Motor::Creep(_)) && self.unheard(&[ANGLE_A, ANGLE_B]) {
            return Some("the blade was turned with its angle unheard");
        }
        if closes && self.unheard(&[VOLTAGE, INSULATION]) {
            return Some("the main contactor was closed with bus or insulation unheard");
        }
        None
    }
}

impl Rule for StaleProvesNothing {
    const ID: &'static str = "SR-11";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let main = now.frame.outputs.drives.bus.main;
        let closes = main && !self.main;
        self.main = main;
        if !self.listen(&now.frame.inputs) {
            return Finding::Idle;
        }
        match self.driven_blind(now, closes) {
            Some(what) => Finding::broken(what),
            None => Finding::held_if(now.frame.powered),
        }
    }
}

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
    use mastwright_core::outputs::Pace;
    use mastwright_core::signal::Age;
    use mastwright_core::units::{Permille, Rpm};

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{
        breaks, half_out, holds, judge, locked, stowed, thrusting, told, with,
    };
    use crate::oracle::verdict::Outcome;

    const LATE: Age = Age::new(16);

    #[test]
    fn nothing_is_driven_on_an_unheard_signal_it_needs() {
        let lowering = with(&half_out(), |f| {
            f.outputs.drives.mast = MastDrive::Retract(Pace::Full);
        });
        let closing = with(&stowed(), |f| f.outputs.drives.doors = DoorDrive::Close);
        let creeping = with(&locked(), |f| {
            f.outputs.drives.motor = Motor::Creep(Rpm::new(15));
            f.outputs.drives.motor_enable = true;
        });
        let thrust = thrusting(locked());
        let deaf: [(&Frame, fn(&mut Inputs)); 8] = [
            (&lowering, |i| {
                i.mast.position = Signal::aged(Permille::ZERO, LATE)
            }),
            (&lowering, |i| i.doors.left_open = Signal::aged(true, LATE)),
            (&lowering, |i| {
                i.propeller.angle_b = Signal::aged(i.propeller.angle_b.raw(), LATE);
            }),
            (&thrust, |i| i.mast.lock_switch = Signal::aged(true, LATE)),
            (&thrust, |i| {
                i.controls.throttle_a = Signal::aged(Permille::FULL, LATE);
            }),
            (&thrust, |i| {
                i.controls.stop_a = Signal::aged(false, LATE);
                i.controls.stop_b = Signal::aged(false, LATE);
            }),
            (&closing, |i| {
                i.mast.stowed_switch = Signal::aged(true, LATE)
            }),
            (&creeping, |i| {
                i.propeller.angle_a = Signal::aged(i.propeller.angle_a.raw(), LATE);
            }),
        ];
        for (index, (driven, deafen)) in deaf.into_iter().enumerate() {
            let silent = with(driven, |f| deafen(&mut f.inputs));
            assert!(breaks("SR-11", &[(9, driven), (1, &silent)]), "{index}");
            let resting = with(&silent, |f| f.outputs = Default::default());
            assert!(holds("SR-11", &[(9, driven), (99, &resting)]), "{index}");
        }
    }

    #[test]
    fn an_invalid_signal_counts_as_unheard_after_the_reaction_time() {
        let thrust = thrusting(locked());
        let invalid = with(&thrust, |f| {
            f.inputs.mast.lock_switch = Signal::fresh(true).invalidated();
        });
        assert!(!breaks("SR-11", &[(9, &thrust), (15, &invalid)]));
        assert!(breaks("SR-11", &[(9, &thrust), (16, &invalid)]));
    }

    #[test]
    fn the_main_contactor_does_not_close_on_unheard_insulation() {
        let deaf = with(&stowed(), |f| {
            f.inputs.bus.insulation = f.inputs.bus.insulation.invalidated();
        });
        let closes = with(&deaf, |f| f.outputs.drives.bus.main = true);
        assert!(breaks("SR-11", &[(99, &deaf), (1, &closes)]));
        assert!(
            holds("SR-11", &[(9, &closes), (99, &closes)]),
            "closed before"
        );
    }

    #[test]
    fn one_stop_contact_heard_is_enough() {
        let thrust = with(&thrusting(locked()), |f| {
            f.inputs.controls.stop_a = Signal::aged(false, LATE);
        });
        assert!(holds("SR-11", &[(99, &thrust)]));
    }

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
