//! Emergencies and interruptions: HZ-8, SR-05, SR-07, SR-14.

use mastwright_core::State;
use mastwright_core::signal::Signal;

use super::Rule;
use super::limits::{AWAKE, REACTION};
use super::moment::Moment;
use super::verdict::Finding;
use crate::controls::Push;

/// SR-05. Met while something is driven before the pilot asked for it, that is: it is
/// exercised in every tick after power-up in which the pilot has asked for nothing yet.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct FreshIntention;

impl Rule for FreshIntention {
    const ID: &'static str = "SR-05";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        if !now.frame.powered || now.past.intended {
            return Finding::Idle;
        }
        if now.mast_driven || now.doors_driven || now.torque {
            return Finding::broken("a drive acted before a fresh intention");
        }
        let bus = &now.frame.outputs.drives.bus;
        if (bus.main || bus.precharge) && !now.past.charge_asked {
            return Finding::broken("the bus was made live before anybody asked for it");
        }
        Finding::Held
    }
}

/// A control must be so for this long to be a deliberate act, ticks: 50 ms, longer than
/// contacts bounce (debounce windows of 10 to 20 ms are in use).
const DELIBERATE: u32 = 5;

/// The time since a stop-and-stow was asked for and has not ended.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Clock {
    ticks: u32,
    running: bool,
    thrust_before: u32,
    stow_held: u32,
    released_before: bool,
    /// Ticks left in which a push to deploy still counts as made since the act began.
    deploy_recent: u32,
    opposed: bool,
}

impl Clock {
    /// True while an emergency lasts.
    pub(super) const fn is_running(&self) -> bool {
        self.running
    }

    /// Ticks since the emergency began, while it lasts.
    #[inline]
    pub(super) fn feed(&mut self, now: &Moment<'_>) -> Option<u32> {
        let asked = self.asked(now);
        // The clock starts when the act has become deliberate; a pilot who opposes it
        // before that, but after it began, has taken over all the same.
        self.deploy_recent = match now.past.pushed {
            Some(Push::Deploy) => DELIBERATE,
            Some(Push::Stow | Push::Hold) | None => self.deploy_recent.saturating_sub(1),
        };
        if !now.frame.powered {
            self.running = false;
            return None;
        }
        if asked && !self.running {
            *self = Self {
                running: true,
                ticks: 0,
                opposed: self.deploy_recent > 0,
                ..*self
            };
        }
        if !self.running {
            return None;
        }
        self.opposed |= now.past.pushed == Some(Push::Deploy);
        if self.ended(now) {
            self.running = false;
            return None;
        }
        self.ticks = self.ticks.saturating_add(1);
        Some(self.ticks)
    }

    /// The pilot has thrown the switch, or pushed to stow under thrust, deliberately,
    /// with the controller awake when the act began.
    #[inline]
    fn asked(&mut self, now: &Moment<'_>) -> bool {
        let thrown = now.past.stop.ticks();
        if now.past.stop_released.ticks() >= DELIBERATE {
            self.released_before = true;
        }
        let stop = thrown == DELIBERATE && self.released_before;
        if stop {
            self.released_before = false;
        }
        if now.thrust {
            self.thrust_before = DELIBERATE;
        } else {
            self.thrust_before = self.thrust_before.saturating_sub(1);
        }
        self.stow_held = match (now.frame.controls.selector, now.past.pushed) {
            (Push::Stow, Some(_)) if self.thrust_before > 0 => 1,
            (Push::Stow, None) if self.stow_held > 0 && !told_stow(now) => self.stow_held,
            (Push::Stow, None) if self.stow_held > 0 => self.stow_held.saturating_add(1),
            (Push::Hold | Push::Deploy | Push::Stow, _) => 0,
        };
        let awake = now.past.powered.ticks() > AWAKE + DELIBERATE;
        awake && (stop || self.stow_held == DELIBERATE)
    }

    /// Stowed in truth, declared halted, or taken over by the pilot.
    #[inline]
    fn ended(&self, now: &Moment<'_>) -> bool {
        match now.state() {
            State::Halted(_) | State::Bench => true,
            State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors => now.put_away(),
            State::Waking
            | State::Resting
            | State::Stowed
            | State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::Jog => self.opposed || now.put_away(),
        }
    }
}

/// The controller was told of the push to stow: that contact closed, and neither other
/// one. A selector whose contacts contradict one another proves no push; the stop switch,
/// wired by itself, is there for that.
#[inline]
fn told_stow(now: &Moment<'_>) -> bool {
    let controls = &now.frame.inputs.controls;
    let closed = |contact: &Signal<bool>| contact.is_valid() && contact.raw();
    let heard = controls.select_stow.age().ticks() <= 10;
    heard
        && closed(&controls.select_stow)
        && !closed(&controls.select_hold)
        && !closed(&controls.select_deploy)
}

/// HZ-8. Met while a stop-and-stow has been asked for and has not ended.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct UnboundedWait;

impl Rule for UnboundedWait {
    const ID: &'static str = "HZ-8";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        match now.waiting {
            None => Finding::Idle,
            Some(ticks) if ticks > now.limits.emergency => Finding::measured(
                "a stop-and-stow brought neither an end nor an answer",
                f64::from(ticks) * crate::frame::TICK,
                "s",
            ),
            Some(_) => Finding::Held,
        }
    }
}

/// SR-07. Met while a stop-and-stow runs, and while the mast is shown stowed.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct StowEnds {
    shown_wrongly: u32,
}

impl Rule for StowEnds {
    const ID: &'static str = "SR-07";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let shown = now.frame.outputs.indications.stowed;
        self.shown_wrongly = if shown && !now.put_away() {
            self.shown_wrongly.saturating_add(1)
        } else {
            0
        };
        if self.shown_wrongly > REACTION {
            return Finding::measured(
                "the mast was shown stowed and was not",
                now.frame.truth.mast.position,
                "of its travel",
            );
        }
        match now.waiting {
            None => Finding::Idle,
            Some(ticks) if ticks > now.limits.emergency => Finding::measured(
                "a stop-and-stow did not end stowed or in a declared safe halt",
                f64::from(ticks) * crate::frame::TICK,
                "s",
            ),
            Some(_) => Finding::Held,
        }
    }
}

/// SR-14, the part a run can show. Met while a safe halt is declared; the drives have
/// the tick of the declaration to end.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct HaltIsStill {
    halted: bool,
}

impl Rule for HaltIsStill {
    const ID: &'static str = "SR-14";

    #[inline]
    fn judge(&mut self, now: &Moment<'_>) -> Finding {
        let before = self.halted;
        self.halted = now.state().halt().is_some() && now.frame.powered;
        if self.halted && before && (now.mast_driven || now.doors_driven) {
            return Finding::broken("mast or doors were driven in a declared safe halt");
        }
        Finding::held_if(self.halted)
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::Halt;
    use mastwright_core::outputs::{MastDrive, Motor, Pace};
    use mastwright_core::units::Permille;

    use super::*;
    use crate::frame::Frame;
    use crate::oracle::handmade::{
        breaks, half_out, holds, judge, locked, stowed, thrusting, with,
    };
    use crate::oracle::verdict::Outcome;

    fn dark() -> Frame {
        with(&half_out(), |f| f.powered = false)
    }

    fn extending() -> Frame {
        with(&half_out(), |f| {
            f.outputs.drives.mast = MastDrive::Extend(Pace::Full);
        })
    }

    #[test]
    fn nothing_acts_after_power_up_before_a_fresh_intention() {
        let rest = half_out();
        let holding = with(&rest, |f| {
            f.outputs.drives.motor = Motor::Hold(Permille::FULL);
            f.outputs.drives.motor_enable = true;
        });
        let opening = with(&rest, |f| {
            f.outputs.drives.doors = mastwright_core::outputs::DoorDrive::Open;
        });
        let charging = with(&rest, |f| f.outputs.drives.bus.precharge = true);
        for acts in [extending(), holding, opening, charging] {
            assert!(breaks("SR-05", &[(9, &dark()), (99, &rest), (1, &acts)]));
        }
        assert!(holds("SR-05", &[(9, &dark()), (999, &rest)]));
    }

    #[test]
    fn an_intention_counts_only_if_it_is_fresh_since_power_up() {
        let push = |frame: &Frame| with(frame, |f| f.controls.selector = Push::Deploy);
        let (rest, acts) = (half_out(), extending());
        assert!(holds(
            "SR-05",
            &[(9, &dark()), (9, &rest), (9, &push(&rest)), (99, &acts)]
        ));
        assert!(
            breaks(
                "SR-05",
                &[(9, &push(&dark())), (9, &push(&rest)), (1, &push(&acts))]
            ),
            "held over the power loss"
        );
        assert!(
            breaks(
                "SR-05",
                &[
                    (9, &rest),
                    (9, &push(&rest)),
                    (9, &dark()),
                    (9, &rest),
                    (1, &acts)
                ]
            ),
            "asked before the power loss"
        );
    }

    #[test]
    fn a_standing_charge_request_allows_the_bus_and_no_motion() {
        let asked = |frame: &Frame| with(frame, |f| f.controls.aux_charge = true);
        let charging = with(&stowed(), |f| f.outputs.drives.bus.precharge = true);
        assert!(holds(
            "SR-05",
            &[(9, &asked(&dark())), (9, &asked(&charging))]
        ));
        assert!(breaks("SR-05", &[(9, &dark()), (9, &asked(&extending()))]));
    }

    fn in_state(state: State, frame: &Frame) -> Frame {
        with(frame, |f| f.outputs.indications.state = state)
    }

    fn thrown(frame: &Frame) -> Frame {
        with(frame, |f| f.controls.stop = true)
    }

    /// Awake and propelling.
    fn flying() -> Frame {
        in_state(State::Thrust, &thrusting(locked()))
    }

    #[test]
    fn a_stop_without_end_or_answer_is_caught_after_60_s() {
        let endless = in_state(State::StowBrake, &thrown(&locked()));
        for id in ["HZ-8", "SR-07"] {
            assert!(holds(id, &[(200, &flying()), (6004, &endless)]), "{id}");
            assert!(breaks(id, &[(200, &flying()), (6005, &endless)]), "{id}");
        }
    }

    #[test]
    fn a_deploy_pushed_just_after_the_stop_was_thrown_opposes_it() {
        let thrown = thrown(&flying());
        let push = with(&thrown, |f| f.controls.selector = Push::Deploy);
        let resting = in_state(State::Resting, &with(&locked(), |f| f.controls.stop = true));
        assert!(!breaks(
            "HZ-8",
            &[
                (200, &flying()),
                (1, &thrown),
                (50, &push),
                (9000, &resting)
            ]
        ));
        assert!(breaks(
            "HZ-8",
            &[(200, &flying()), (51, &thrown), (9000, &resting)]
        ));
    }

    #[test]
    fn a_stop_ends_stowed_or_halted_or_in_the_pilots_hands() {
        let started = in_state(State::StowBrake, &thrown(&locked()));
        let away = in_state(State::Stowed, &thrown(&stowed()));
        let halted = in_state(State::Halted(Halt::NotParked), &thrown(&locked()));
        let opposed = with(&in_state(State::Jog, &thrown(&locked())), |f| {
            f.controls.selector = Push::Deploy;
        });
        for end in [away, halted, opposed] {
            let script: &[_] = &[(200, &flying()), (4000, &started), (9000, &end)];
            assert!(
                holds("SR-07", script),
                "{:?}",
                end.outputs.indications.state
            );
        }
        let claimed = in_state(State::Stowed, &thrown(&locked()));
        let idle = in_state(State::Deployed, &thrown(&locked()));
        for no_end in [claimed, idle] {
            let script: &[_] = &[(200, &flying()), (4000, &started), (3000, &no_end)];
            assert!(
                breaks("SR-07", script),
                "{:?}",
                no_end.outputs.indications.state
            );
        }
    }

    #[test]
    fn stow_under_thrust_counts_and_a_bounce_does_not() {
        let unheard = with(&flying(), |f| f.controls.selector = Push::Stow);
        let pushed = with(&unheard, |f| {
            f.inputs.controls.select_stow = Signal::fresh(true);
        });
        let ignored = in_state(State::Deployed, &locked());
        assert!(breaks(
            "SR-07",
            &[(200, &flying()), (9, &pushed), (6100, &ignored)]
        ));
        let bounce: &[_] = &[(200, &flying()), (2, &pushed), (6100, &ignored)];
        assert_eq!(judge("SR-07", bounce), Outcome::NotExercised);
        let not_told: &[_] = &[(200, &flying()), (9, &unheard), (6100, &ignored)];
        assert_eq!(judge("SR-07", not_told), Outcome::NotExercised);
    }

    #[test]
    fn a_power_loss_ends_the_wait_since_a_fresh_intention_is_needed_then() {
        let started = in_state(State::StowBrake, &thrown(&locked()));
        let resting = in_state(State::Resting, &thrown(&locked()));
        let script: &[_] = &[
            (200, &flying()),
            (99, &started),
            (9, &dark()),
            (7000, &resting),
        ];
        assert!(holds("SR-07", script));
    }

    #[test]
    fn an_end_shown_as_stowed_must_be_one() {
        let shown = with(&half_out(), |f| f.outputs.indications.stowed = true);
        assert!(breaks("SR-07", &[(16, &shown)]));
        assert!(!breaks("SR-07", &[(15, &shown)]));
    }

    #[test]
    fn a_safe_halt_stands_still() {
        let halted = in_state(State::Halted(Halt::Doors), &half_out());
        let driven = in_state(State::Halted(Halt::Doors), &extending());
        assert!(
            holds("SR-14", &[(1, &driven), (99, &halted)]),
            "the tick of declaring it"
        );
        assert!(breaks("SR-14", &[(9, &halted), (1, &driven)]));
    }
}
