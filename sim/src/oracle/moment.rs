//! One tick as the rules see it: the frame, and what its past adds to it.
//!
//! Only facts several rules need are kept here, worked out once: what is commanded at
//! the pins, for how long something has been so in truth, what the pilot has done.

use std::f64::consts::PI;

use mastwright_core::State;
use mastwright_core::outputs::{DoorDrive, MastDrive, Motor};

use super::limits::{AWAKE, Limits, REACTION};
use crate::controls::Push;
use crate::frame::Frame;

/// For how many ticks in a row, this one included, something has been so.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run(u32);

impl Run {
    /// Of something that was not so before the first frame.
    pub(super) const NEVER: Self = Self(0);
    /// Of something taken to have been so for ever, until a frame says otherwise.
    pub(super) const FOREVER: Self = Self(u32::MAX);

    #[inline]
    pub(super) const fn feed(&mut self, so: bool) -> u32 {
        self.0 = if so { self.0.saturating_add(1) } else { 0 };
        self.0
    }

    pub(super) const fn ticks(self) -> u32 {
        self.0
    }
}

/// One tick, ready to be judged.
pub(super) struct Moment<'a> {
    pub(super) frame: &'a Frame,
    pub(super) past: &'a Past,
    pub(super) limits: &'a Limits,
    /// Thrust is demanded of the motor, enabled or not.
    pub(super) thrust: bool,
    /// The motor is commanded and enabled to take torque from the bus.
    pub(super) torque: bool,
    /// The mast drive is commanded.
    pub(super) mast_driven: bool,
    /// The door drive is commanded.
    pub(super) doors_driven: bool,
    /// Ticks since a stop-and-stow was asked for, while it has not ended.
    pub(super) waiting: Option<u32>,
}

/// What must be remembered of the frames before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Past {
    /// The controller has had its supply.
    pub(super) powered: Run,
    /// The mast has not been locked.
    pub(super) unlocked: Run,
    /// The blade has been off its sector or turning.
    pub(super) unparked: Run,
    /// The doors have not been open.
    pub(super) doors_not_open: Run,
    /// The mast has not been stowed.
    pub(super) mast_not_stowed: Run,
    /// Insulation has been low.
    pub(super) insulation_low: Run,
    /// The stop switch has been thrown.
    pub(super) stop: Run,
    /// The stop switch has been released.
    pub(super) stop_released: Run,
    /// The throttle has been open.
    pub(super) throttle_open: Run,
    /// The selector has been left in its centre.
    pub(super) centred: Run,
    /// The acknowledge button has been down.
    pub(super) acknowledging: Run,
    /// The acknowledge button has been up.
    pub(super) unacknowledged: Run,
    /// Signed angle of the blade from the nearest park angle, rad.
    pub(super) off_park: f64,
    /// The selector has been seen centred since power-up.
    selector_seen: bool,
    /// The stop switch has been seen released since power-up.
    release_seen: bool,
    /// The pilot has asked for motion since power-up, afresh.
    pub(super) intended: bool,
    /// Auxiliary charging has been asked for since power-up.
    pub(super) charge_asked: bool,
    /// The selector was pushed this tick, out of its centre.
    pub(super) pushed: Option<Push>,
    selector: Push,
}

impl Past {
    pub(super) const fn new() -> Self {
        Self {
            powered: Run::NEVER,
            unlocked: Run::FOREVER,
            unparked: Run::FOREVER,
            doors_not_open: Run::FOREVER,
            mast_not_stowed: Run::FOREVER,
            insulation_low: Run::FOREVER,
            stop: Run::FOREVER,
            stop_released: Run::FOREVER,
            throttle_open: Run::FOREVER,
            centred: Run::FOREVER,
            acknowledging: Run::NEVER,
            unacknowledged: Run::FOREVER,
            off_park: 0.0,
            selector_seen: false,
            release_seen: false,
            intended: false,
            charge_asked: false,
            pushed: None,
            selector: Push::Hold,
        }
    }

    /// Takes in the truth and the controls of a frame.
    #[inline]
    pub(super) fn advance(&mut self, frame: &Frame, limits: &Limits) {
        let truth = &frame.truth;
        self.off_park = off_park(truth.propeller.angle);
        self.powered.feed(frame.powered);
        self.unlocked.feed(!truth.mast.locked);
        self.unparked.feed(
            self.off_park.abs() > limits.clearance_sector
                || truth.propeller.speed.abs() > limits.shaft_still,
        );
        self.doors_not_open.feed(truth.doors < limits.doors_open);
        self.mast_not_stowed
            .feed(truth.mast.position > limits.mast_stowed);
        self.insulation_low
            .feed(truth.bus.insulation < limits.insulation);
        self.hands(frame, limits);
    }

    #[inline]
    fn hands(&mut self, frame: &Frame, limits: &Limits) {
        let controls = &frame.controls;
        self.stop.feed(controls.stop);
        self.stop_released.feed(!controls.stop);
        self.throttle_open
            .feed(controls.throttle > limits.throttle_zero);
        self.centred.feed(controls.selector == Push::Hold);
        self.acknowledging.feed(controls.acknowledge);
        self.unacknowledged.feed(!controls.acknowledge);
        self.pushed = match (self.selector, controls.selector) {
            (_, Push::Hold) | (Push::Deploy, Push::Deploy) | (Push::Stow, Push::Stow) => None,
            (Push::Hold | Push::Stow, Push::Deploy) | (Push::Hold | Push::Deploy, Push::Stow) => {
                Some(controls.selector)
            }
        };
        self.selector = controls.selector;
        if !frame.powered {
            self.selector_seen = false;
            self.release_seen = false;
            self.intended = false;
            self.charge_asked = false;
            return;
        }
        let centred = controls.selector == Push::Hold;
        self.intended |= (!centred && self.selector_seen) || (controls.stop && self.release_seen);
        self.selector_seen |= centred;
        self.release_seen |= !controls.stop;
        self.charge_asked |= controls.aux_charge;
    }
}

impl<'a> Moment<'a> {
    #[inline]
    pub(super) const fn new(frame: &'a Frame, past: &'a Past, limits: &'a Limits) -> Self {
        let drives = &frame.outputs.drives;
        let (thrust, asked) = match drives.motor {
            Motor::Free | Motor::Short => (false, false),
            Motor::Thrust(share) => (share.get() > 0, share.get() > 0),
            Motor::Brake(share) | Motor::Hold(share) => (false, share.get() > 0),
            Motor::Creep(_) => (false, true),
        };
        Self {
            frame,
            past,
            limits,
            thrust,
            torque: asked && drives.motor_enable,
            mast_driven: !matches!(drives.mast, MastDrive::Off),
            doors_driven: !matches!(drives.doors, DoorDrive::Off),
            waiting: None,
        }
    }

    /// The controller has had its supply long enough to declare what it knows.
    pub(super) const fn awake(&self) -> bool {
        self.past.powered.ticks() > AWAKE
    }

    /// The throttle is at zero, or was when the oldest sample still heard was taken.
    pub(super) const fn throttle_at_zero(&self) -> bool {
        self.past.throttle_open.ticks() <= REACTION
    }

    /// The mast is stowed and the doors are shut, in truth.
    pub(super) fn put_away(&self) -> bool {
        self.frame.truth.mast.position <= self.limits.mast_stowed
            && self.frame.truth.doors <= self.limits.doors_shut
    }

    /// What the controller says it is doing.
    pub(super) const fn state(&self) -> State {
        self.frame.outputs.indications.state
    }
}

/// Signed distance of a blade angle in [0, 2 pi) to the nearest park angle, rad.
#[inline]
pub(super) fn off_park(angle: f64) -> f64 {
    if angle < 0.5 * PI {
        angle
    } else if angle < 1.5 * PI {
        angle - PI
    } else {
        angle - 2.0 * PI
    }
}
