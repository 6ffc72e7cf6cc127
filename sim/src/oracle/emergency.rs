//! Emergencies and interruptions: HZ-8, SR-05, SR-07, SR-14.

use mastwright_core::State;

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
    opposed: bool,
}

impl Clock {
    /// Ticks since the emergency began, while it lasts.
    #[inline]
    pub(super) fn feed(&mut self, now: &Moment<'_>) -> Option<u32> {
        let asked = self.asked(now);
        if !now.frame.powered {
            self.running = false;
            return None;
        }
        if asked && !self.running {
            *self = Self {
                running: true,
                ticks: 0,
                opposed: false,
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
        self.halted = matches!(now.state(), State::Halted(_)) && now.frame.powered;
        if self.halted && before && (now.mast_driven || now.doors_driven) {
            return Finding::broken("mast or doors were driven in a declared safe halt");
        }
        Finding::held_if(self.halted)
    }
}
