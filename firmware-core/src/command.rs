//! Pilot controls become debounced intentions.
//!
//! Responsibilities:
//! 1. Prove each control from its contacts: the selector by exactly one of three,
//!    the stop switch by either of two, the acknowledge button by one that
//!    closes while another opens, the throttle by two tracks that agree.
//! 2. Turn a fresh push into an [`Intention`]: the selector must have been seen in
//!    its centre since the last intention or power-up, so that a control held over
//!    a reset, or a contact that sticks, starts nothing (SR-05).
//! 3. Tell a stop (either contact, at once, never debounced) from the stow that
//!    follows it (both contacts, as far as they are heard).
//!
//! Terms: *level* is what a control says now; *intention* is a fresh push of it.

use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::Controls;
use crate::interlock::{Condition, Conditions};
use crate::timer::{Debounced, Sustained};
use crate::units::Permille;

/// Mode of control.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Mode {
    /// One intention runs the whole chain by itself.
    #[default]
    Sequenced,
    /// The pilot moves the mast by holding the selector.
    Jog,
    /// Maintenance on the ground: slow mast, no powered blade, no propulsion.
    Bench,
}

/// What the pilot wants done, freshly asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Intention {
    /// Bring the mast out and make thrust available.
    Deploy,
    /// Stop the propeller and put the mast away.
    Stow,
    /// The same, by the guarded switch, from any powered state.
    StopAndStow,
}

/// What the mast selector says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Selector {
    /// Its contacts do not prove any position.
    #[default]
    Unproven,
    /// Centred.
    Hold,
    /// Pushed to deploy.
    Deploy,
    /// Pushed to stow.
    Stow,
}

/// What the controls say in one tick.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Said {
    /// A fresh intention.
    pub intention: Option<Intention>,
    /// The selector's debounced level, [`Selector::Hold`] until it was seen there.
    pub selector: Selector,
    /// The stop is demanded by either contact, or neither has been heard for so long
    /// that a stop could not be.
    pub stop: bool,
    /// The stop has come to be demanded in this tick, by one contact more.
    pub stop_fresh: bool,
    /// The acknowledge button went down.
    pub acknowledged: bool,
    /// The acknowledge button is down.
    pub acknowledging: bool,
    /// The acknowledge button has been held long enough to clear faults.
    pub clearing: bool,
    /// The bench key is proven on.
    pub bench_key: bool,
    /// The bench key is proven off.
    pub bench_key_off: bool,
    /// Auxiliary charging is proven requested.
    pub aux_charge: bool,
    /// Thrust demand; zero unless both throttle tracks prove it.
    pub demand: Permille,
}

/// What must be remembered of the controls.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Pilot {
    selector: Debounced<Selector>,
    /// The selector was seen centred since power-up.
    seen_centred: bool,
    /// The selector was seen centred since a fresh push was last demanded.
    centred: bool,
    /// The selector was seen centred since the last intention it gave.
    ready: bool,
    /// Each stop contact, when last heard, said released.
    off: [bool; 2],
    /// The stop switch was seen released since power-up, by every contact that was heard.
    stop_seen_off: bool,
    stop_lost: Sustained,
    /// Neither stop contact has been heard for too long.
    deaf: bool,
    /// The acknowledge button was seen released since power-up.
    acknowledge_seen: bool,
    /// The charge request was seen off since power-up.
    aux_seen_off: bool,
    acknowledge: Debounced<bool>,
    clearing: Sustained,
    selector_unproven: Sustained,
    throttle_unproven: Sustained,
    stop_unproven: Sustained,
}

impl Pilot {
    /// Reads the controls for one tick; adds what they prove and the faults they show.
    pub fn read(
        &mut self,
        controls: &Controls,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> Said {
        let mut said = Said::default();
        self.read_selector(controls, config, &mut said, active);
        self.read_stop(controls, config, &mut said, proven, active);
        self.read_throttle(controls, config, &mut said, proven, active);

        let was_down = self.acknowledge.settled();
        let pressed = controls.acknowledge.proven(config.stale_after);
        let at_rest = controls.acknowledge_rest.proven(config.stale_after);
        let down = (pressed, at_rest) == (Some(true), Some(false));
        self.acknowledge_seen |= (pressed, at_rest) == (Some(false), Some(true));
        said.acknowledging = self.acknowledge.feed(down, config.debounce.ticks());
        let meant = said.acknowledging && self.acknowledge_seen;
        said.acknowledged = meant && !was_down;
        said.clearing = self.clearing.feed(meant, config.clear_hold.ticks());
        said.bench_key = controls.bench_key.proves(config.stale_after, |on| on);
        said.bench_key_off = controls.bench_key.proves(config.stale_after, |on| !on);
        let on = controls.aux_charge.proven(config.stale_after);
        let off = controls.aux_charge_off.proven(config.stale_after);
        self.aux_seen_off |= (on, off) == (Some(false), Some(true));
        said.aux_charge = self.aux_seen_off && (on, off) == (Some(true), Some(false));
        said
    }

    /// Forgets that the selector was centred: the next push must be a fresh one.
    pub const fn demand_fresh_push(&mut self) {
        self.centred = false;
        self.ready = false;
    }

    fn read_selector(
        &mut self,
        controls: &Controls,
        config: &Config,
        said: &mut Said,
        active: &mut Faults,
    ) {
        let limit = config.stale_after;
        let contacts = (
            controls.select_hold.proven(limit),
            controls.select_deploy.proven(limit),
            controls.select_stow.proven(limit),
        );
        // Exactly one closed; with one contact lost the other two still tell.
        let reading = match contacts {
            (Some(true), Some(false), Some(false) | None) | (Some(true), None, Some(false)) => {
                Selector::Hold
            }
            (Some(false), Some(true), Some(false) | None) | (None, Some(true), Some(false)) => {
                Selector::Deploy
            }
            (Some(false), Some(false) | None, Some(true)) | (None, Some(false), Some(true)) => {
                Selector::Stow
            }
            _ => Selector::Unproven,
        };
        let heard = contacts.0.is_some() && contacts.1.is_some() && contacts.2.is_some();
        // Contacts are briefly all open while the selector travels.
        if self.selector_unproven.feed(
            reading == Selector::Unproven || !heard,
            config.fault_after.ticks(),
        ) {
            *active |= Fault::SelectorUnproven;
        }
        let before = self.selector.settled();
        let level = self.selector.feed(reading, config.debounce.ticks());
        if level == Selector::Hold {
            self.seen_centred = true;
            self.centred = true;
            self.ready = true;
        }
        let pushed = match level {
            Selector::Deploy => Some(Intention::Deploy),
            Selector::Stow => Some(Intention::Stow),
            Selector::Unproven | Selector::Hold => None,
        };
        // Thrown straight across, the selector is centred for less than it takes to see.
        let across = matches!(before, Selector::Deploy | Selector::Stow) && self.seen_centred;
        if level != before && (self.ready || across) && pushed.is_some() {
            said.intention = pushed;
            self.ready = false;
        }
        said.selector = if self.centred { level } else { Selector::Hold };
    }

    fn read_stop(
        &mut self,
        controls: &Controls,
        config: &Config,
        said: &mut Said,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
        let a = controls.stop_a.proven(config.stale_after);
        let b = controls.stop_b.proven(config.stale_after);
        let thrown = matches!((a, b), (Some(true), Some(true) | None) | (None, Some(true)));
        let [a_off, b_off] = &mut self.off;
        let fresh_a = rises(a, a_off);
        let fresh_b = rises(b, b_off);
        let heard = a.is_some() || b.is_some();
        let was_deaf = self.deaf;
        self.deaf = self.stop_lost.feed(!heard, config.fault_after.ticks());

        let by_contact = a == Some(true) || b == Some(true);
        said.stop = by_contact || self.deaf;
        said.stop_fresh = fresh_a || fresh_b || (self.deaf && !was_deaf);
        self.stop_seen_off |= heard && !by_contact;
        if heard && !by_contact {
            // One contact lost and the other released: thrust may go on, the switch
            // still works through the contact that is heard.
            *proven |= Condition::StopReleased;
        }
        if self
            .stop_unproven
            .feed(a.is_none() || a != b, config.fault_after.ticks())
        {
            *active |= Fault::StopSwitchUnproven;
        }
        // A switch thrown since power-up is no intention, not even when a contact that was
        // lost comes back (SR-05).
        if thrown && (fresh_a || fresh_b) && self.stop_seen_off {
            said.intention = Some(Intention::StopAndStow);
        }
    }

    fn read_throttle(
        &mut self,
        controls: &Controls,
        config: &Config,
        said: &mut Said,
        proven: &mut Conditions,
        active: &mut Faults,
    ) {
        let a = controls.throttle_a.proven(config.stale_after);
        let b = controls.throttle_b.proven(config.stale_after);
        let agreed = match (a, b) {
            (Some(a), Some(b)) if a.within(b, config.throttle_agree) => Some(a.min(b)),
            (Some(_) | None, Some(_) | None) => None,
        };
        if let Some(demand) = agreed {
            *proven |= Condition::ThrottleProven;
            if a.max(b) <= Some(config.throttle_zero) {
                *proven |= Condition::ThrottleZero;
            } else {
                said.demand = demand.clamp(Permille::ZERO, Permille::FULL);
            }
        }
        if self
            .throttle_unproven
            .feed(agreed.is_none(), config.fault_after.ticks())
        {
            *active |= Fault::ThrottleUnproven;
        }
    }
}

#[cfg(feature = "walk")]
mod walk {
    use super::{Config, Pilot, Selector};
    use crate::walk::{Button, Choice, Flag, Pushes, Timer, Visitor};

    impl Choice for Selector {
        fn number(self) -> u8 {
            match self {
                Self::Unproven => 0,
                Self::Hold => 1,
                Self::Deploy => 2,
                Self::Stow => 3,
            }
        }

        fn numbered(number: u8) -> Self {
            match number {
                1 => Self::Hold,
                2 => Self::Deploy,
                3 => Self::Stow,
                _ => Self::Unproven,
            }
        }
    }

    impl Pilot {
        pub(crate) fn walk(&mut self, visitor: &mut impl Visitor, config: &Config) {
            let (settled, last, left) = self.selector.parts();
            visitor.pushes(Pushes {
                settled,
                last,
                left,
                seen_centred: &mut self.seen_centred,
                centred: &mut self.centred,
                ready: &mut self.ready,
            });
            let [off_a, off_b] = &mut self.off;
            visitor.flag(Flag::StopOffA, off_a);
            visitor.flag(Flag::StopOffB, off_b);
            visitor.flag(Flag::StopSeenOff, &mut self.stop_seen_off);
            let after = config.fault_after.ticks();
            visitor.sustained(Timer::StopLost, &mut self.stop_lost, after);
            visitor.flag(Flag::Deaf, &mut self.deaf);
            visitor.hysteresis(&mut self.aux_seen_off);
            let (settled, candidate, left) = self.acknowledge.parts();
            visitor.acknowledge(Button {
                seen: &mut self.acknowledge_seen,
                settled,
                candidate,
                left,
                clearing: &mut self.clearing,
                clear_after: config.clear_hold.ticks(),
            });
        }
    }
}

/// True when a contact closes that, when last heard, was open. A contact that is closed
/// since power-up has not risen.
fn rises(heard: Option<bool>, off: &mut bool) -> bool {
    match heard {
        Some(true) => core::mem::replace(off, false),
        Some(false) => {
            *off = true;
            false
        }
        None => false,
    }
}

#[cfg(test)]
mod tests;
