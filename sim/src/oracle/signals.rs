//! What the controller is told and must not take for a proof: SR-11.

use mastwright_core::outputs::{DoorDrive, MastDrive, Motor};
use mastwright_core::signal::Signal;
use mastwright_core::{Inputs, State};

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

/// True when a sample is heard and declares itself sound.
#[inline]
pub(super) fn sound<T: Copy>(signal: &Signal<T>) -> bool {
    signal.is_valid() & (signal.age().ticks() <= OLD)
}

/// Two sources of the blade angle contradict each other beyond this, 0.01 deg (15 deg):
/// more than any setting of the controller allows, and what they are off besides.
const ANGLES_APART: i32 = 1_500;
/// Half a turn, 0.01 deg: a two-blade propeller looks the same after it.
const HALF_TURN: i32 = 18_000;
/// Two throttle tracks contradict each other beyond this, permille: as above.
const TRACKS_APART: i16 = 250;
/// The angle sources are compared below this shaft speed, rpm; above it their age alone
/// sets them apart.
const SLOW: i16 = 5;

/// SR-11. Met while a signal is unheard for 150 ms, or contradicted by its twin, whether
/// or not something is driven: what is not driven then is the requirement kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct StaleProvesNothing {
    silent: [u32; SIGNALS],
    any: bool,
    main: bool,
    contradicted: Run,
}

impl Default for StaleProvesNothing {
    fn default() -> Self {
        Self {
            silent: [0; SIGNALS],
            any: false,
            main: false,
            contradicted: Run::NEVER,
        }
    }
}

/// True when the two blade angles, as told, contradict each other on a slow shaft.
#[inline]
fn angles_apart(inputs: &Inputs) -> bool {
    let shaft = &inputs.propeller;
    let (a, b) = (shaft.angle_a.raw().get(), shaft.angle_b.raw().get());
    let ahead = a.saturating_sub(b).rem_euclid(HALF_TURN);
    ahead.min(HALF_TURN - ahead) > ANGLES_APART
        && sound(&shaft.angle_a)
        && sound(&shaft.angle_b)
        && sound(&shaft.speed)
        && shaft.speed.raw().magnitude().get() <= SLOW
}

/// True when the two throttle tracks, as told, contradict each other.
fn tracks_apart(inputs: &Inputs) -> bool {
    let (a, b) = (&inputs.controls.throttle_a, &inputs.controls.throttle_b);
    sound(a) && sound(b) && a.raw().get().abs_diff(b.raw().get()) > TRACKS_APART.unsigned_abs()
}

/// True when the mast is driven in a way that needs the blade parked.
fn needs_parking(now: &Moment<'_>) -> bool {
    let lowered = matches!(now.frame.outputs.drives.mast, MastDrive::Retract(_));
    let inside = now.frame.truth.mast.position < now.limits.clearance_position;
    now.mast_driven && (lowered || inside) && now.state() != State::Bench
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
        let both_stops = self.unheard(&[STOP_A]) && self.unheard(&[STOP_B]);
        if now.mast_driven && self.unheard(&[POSITION, LEFT_OPEN, RIGHT_OPEN]) {
            return Some("the mast was driven with its position or the doors unheard");
        }
        if needs_parking(now) && self.unheard(&[ANGLE_A, ANGLE_B, SHAFT]) {
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
        let inputs = &now.frame.inputs;
        let (angles, tracks) = (angles_apart(inputs), tracks_apart(inputs));
        let driven = (needs_parking(now) && angles) || (now.thrust && tracks);
        if self.contradicted.feed(driven) > REACTION {
            return Finding::broken("something was driven on two sources that contradict");
        }
        if !self.listen(inputs) {
            return Finding::held_if(now.frame.powered && (angles || tracks));
        }
        match self.driven_blind(now, closes) {
            Some(what) => Finding::broken(what),
            None => Finding::held_if(now.frame.powered),
        }
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::outputs::Pace;
    use mastwright_core::signal::Age;
    use mastwright_core::units::{CentiDegrees, Permille, Rpm};

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{breaks, half_out, holds, locked, stowed, thrusting, with};

    const LATE: Age = Age::new(16);

    /// A frame in which something is driven, and how its controller goes deaf to what
    /// that needs.
    type Deafened<'a> = (&'a Frame, fn(&mut Inputs));

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
        let deaf: [Deafened<'_>; 8] = [
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

    #[test]
    fn sources_that_contradict_each_other_prove_nothing() {
        let lowering = with(&half_out(), |f| {
            f.outputs.drives.mast = MastDrive::Retract(Pace::Full);
        });
        let apart = |hundredths| {
            with(&lowering, |f| {
                f.inputs.propeller.angle_a = Signal::fresh(CentiDegrees::new(hundredths));
            })
        };
        for angle in [1_600, 9_000, 16_400, 19_600, 34_400] {
            assert!(holds("SR-11", &[(15, &apart(angle))]), "{angle}");
            assert!(breaks("SR-11", &[(16, &apart(angle))]), "{angle}");
        }
        for angle in [0, 1_400, 16_600, 19_400, 34_600] {
            assert!(!breaks("SR-11", &[(99, &apart(angle))]), "{angle}");
        }
        let resting = with(&apart(9_000), |f| f.outputs = Default::default());
        assert!(holds("SR-11", &[(99, &resting)]), "resisted");
        let thrust = |track| {
            with(&thrusting(locked()), |f| {
                f.inputs.controls.throttle_a = Signal::fresh(Permille::new(track));
            })
        };
        assert!(breaks("SR-11", &[(16, &thrust(300))]));
        assert!(!breaks("SR-11", &[(99, &thrust(200))]));
    }
}
