//! The high-voltage bus: insulation check, pre-charge, contactors, discharge, welds.
//!
//! Responsibilities:
//! 1. Close the main contactor only onto a bus that was proven dead, insulated and
//!    then pre-charged, by voltage *and* by the fading of the current (SR-04), and go on
//!    pre-charging for as long as it may take to close.
//! 2. Open it only once the current has faded or its time is up, then drain the bus
//!    below the high-voltage limit or say that it did not fall (SR-18).
//! 3. Find a welded contactor, a failed pre-charge or a failed discharge before the
//!    next closing (SR-21).
//!
//! Every cycle of stages passes through [`Stage::Draining`] and [`Stage::Dead`], so
//! no closing can skip the proof that the bus was dead.

#[cfg(feature = "walk")]
mod heard;
mod reading;

#[cfg(feature = "walk")]
pub use heard::Heard;
pub use reading::Reading;

use crate::config::Config;
use crate::fault::{Fault, Faults};
use crate::inputs::{BusSensors, PACKS};
use crate::interlock::{Condition, Conditions, Permission};
use crate::outputs::BusDrive;
use crate::packs::{self, Packs};
use crate::timer::{Countdown, Sustained};
use crate::units::Permille;

/// Faults that forbid making the bus live until they are cleared on purpose.
pub const FORBIDDING: Faults = enumset::enum_set!(
    Fault::MainWelded | Fault::MainStuckOpen | Fault::PrechargeFailed | Fault::DischargeFailed
);

/// A bus that still stands above this share of pack voltage when its discharge time is
/// up is fed through a contactor; one below it merely drains slowly.
const FED: Permille = Permille::new(700);

/// Stage of the bus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Stage {
    /// Entered at power-up and after every opening: contactors open, the capacitor
    /// drains. Left to `Dead` once it has drained for its least time, the voltage is
    /// proven low and the main contactor proven open.
    #[default]
    Draining,
    /// The bus is proven dead. Left to `Checking` when it is wanted live, to `Draining`
    /// when it is no longer proven dead.
    Dead,
    /// Insulation, main contactor and voltage are checked for a set time. Left to
    /// `Precharging`, or to `Draining` when the bus is no longer proven dead or wanted.
    Checking,
    /// The capacitor charges through the pre-charge resistor. Left to `Closing` when
    /// closing is permitted, to `Draining` when it takes too long, is no longer wanted, or no
    /// pack is joined any more.
    Precharging,
    /// The main contactor is commanded for its least closing time, pre-charge still on, and
    /// must show that it closed. Left to `Live`, or to `Draining`.
    Closing,
    /// Live. Left to `Opening` when no longer wanted, to `Draining` when lost.
    Live,
    /// Torque is denied and the current fades. Left to `Draining`.
    Opening,
}

/// The bus and what must be remembered of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Bus {
    stage: Stage,
    left: Countdown,
    checked: Sustained,
    welded: Sustained,
    lost: Sustained,
    left_behind: Sustained,
    uninsulated: Sustained,
    /// How long the bus has been draining, up to the least that counts.
    drained: Sustained,
    /// The discharge time ran out before the bus was dead.
    drained_late: bool,
}

impl Bus {
    /// A bus of which nothing is known: it drains until it is proven dead.
    #[must_use]
    pub fn unknown(config: &Config) -> Self {
        Self {
            left: Countdown::of(config.discharge_time.ticks()),
            ..Self::default()
        }
    }

    /// Reads the sensors for one tick; adds what they prove and the faults they show.
    pub fn observe(
        &mut self,
        sensors: &BusSensors,
        packs: packs::Shown,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> Reading {
        let limit = config.stale_after;
        let reading = Reading::of(sensors, packs, config);
        let insulated = sensors
            .insulation
            .proves(limit, |resistance| resistance >= config.insulation_min);

        *proven |= reading.proves(config)
            | Condition::InsulationOk.when(insulated)
            | Condition::BusLive.when(self.stage == Stage::Live && reading.proves_live(config));
        self.judge(&reading, insulated, config, active);
        reading
    }

    /// Takes the bus one tick on: towards live, towards dead, or (`None`) neither: a
    /// live bus stays live, a pre-charge that has begun is given up. A main contactor that is
    /// being closed is closed, whatever is wanted.
    /// Returns what to switch, and what was asked for and denied.
    pub fn step(
        &mut self,
        wanted: Option<bool>,
        reading: &Reading,
        packs: &mut Packs,
        config: &Config,
        proven: Conditions,
        active: &mut Faults,
    ) -> (BusDrive, Option<Permission>) {
        self.left.tick();
        let mut asked = None;
        let next = match self.stage {
            Stage::Draining => {
                // Not asked for yet, but whoever waits for it is to know what forbids it.
                asked = (wanted == Some(true)).then_some(Permission::Precharge);
                self.drain(reading, packs, config, proven, active)
            }
            Stage::Dead if !proven.contains(Condition::BusDead) => Stage::Draining,
            Stage::Dead if wanted == Some(true) => Stage::Checking,
            Stage::Dead => Stage::Dead,
            Stage::Checking => {
                asked = Some(Permission::Precharge);
                self.check(wanted, config, proven)
            }
            Stage::Precharging => {
                // That a pre-charge takes its time is no denial; that it takes too long is.
                asked = self.left.is_over().then_some(Permission::CloseMain);
                self.precharge(wanted, reading, config, proven, active)
            }
            Stage::Closing => self.close(reading, config, active),
            Stage::Live => self.serve(wanted, reading, config, active),
            Stage::Opening => {
                if reading.faded_to(config.open_current) || self.left.is_over() {
                    Stage::Draining
                } else {
                    Stage::Opening
                }
            }
        };
        if next != self.stage {
            self.enter(next, reading.packs.candidates, packs, config);
        }
        (self.drive(reading, config, packs), asked)
    }

    /// The present stage.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        self.stage
    }

    /// Faults that show in any stage.
    fn judge(&mut self, reading: &Reading, insulated: bool, config: &Config, active: &mut Faults) {
        let commanded = matches!(self.stage, Stage::Closing | Stage::Live | Stage::Opening);
        if self.welded.feed(
            !commanded && reading.main_closed == Some(true),
            config.open_time.ticks(),
        ) {
            *active |= Fault::MainWelded;
        }
        if self
            .uninsulated
            .feed(!insulated, config.fault_after.ticks())
        {
            *active |= Fault::InsulationLow;
        }
    }

    fn drain(
        &mut self,
        reading: &Reading,
        packs: &mut Packs,
        config: &Config,
        proven: Conditions,
        active: &mut Faults,
    ) -> Stage {
        let dead = proven.contains(Condition::BusDead) && proven.contains(Condition::MainOpen);
        if self.drained.feed(true, config.drain_min.ticks()) && dead {
            return Stage::Dead;
        }
        if self.left.is_over() {
            self.drained_late = true;
        }
        // The packs stay joined only until the bus is seen to fall, which shows the main
        // contactor open; after that, one that closed unasked would meet an empty bus.
        if self.drained_late || reading.lags(config.precharge_share) {
            packs.join([false; PACKS]);
        }
        if self.drained_late {
            *active |= if reading.main_closed == Some(true) || reading.reaches(FED) {
                Fault::MainWelded
            } else {
                Fault::DischargeFailed
            };
        }
        Stage::Draining
    }

    /// The bus in use: it is lost when it is no longer proven live.
    fn serve(
        &mut self,
        wanted: Option<bool>,
        reading: &Reading,
        config: &Config,
        active: &mut Faults,
    ) -> Stage {
        let lost = !reading.proves_live(config);
        // A pack whose contactor has opened leaves the bus behind; were it to close
        // again, it would meet an empty capacitor.
        let left_behind = self.left_behind.feed(
            reading.lags(config.precharge_share),
            config.fault_after.ticks(),
        );
        if self.lost.feed(lost, config.debounce.ticks()) || left_behind {
            *active |= Fault::BusLost;
            Stage::Draining
        } else if wanted == Some(false) {
            Stage::Opening
        } else {
            Stage::Live
        }
    }

    fn check(&mut self, wanted: Option<bool>, config: &Config, proven: Conditions) -> Stage {
        if wanted != Some(true) || !proven.contains(Condition::BusDead) {
            return Stage::Draining;
        }
        let permitted = Permission::Precharge.permitted(proven);
        if self.checked.feed(permitted, config.insulation_time.ticks()) {
            Stage::Precharging
        } else {
            Stage::Checking
        }
    }

    fn precharge(
        &mut self,
        wanted: Option<bool>,
        reading: &Reading,
        config: &Config,
        proven: Conditions,
        active: &mut Faults,
    ) -> Stage {
        // The proofs must stand for a moment: one lucky sample closes nothing.
        let permitted = Permission::CloseMain.permitted(proven);
        if wanted != Some(true) {
            Stage::Draining
        } else if !reading.packs.any_joined {
            *active |= Fault::PrechargeFailed;
            Stage::Draining
        } else if self.checked.feed(permitted, config.debounce.ticks()) {
            Stage::Closing
        } else if self.left.is_over() {
            *active |= Fault::PrechargeFailed;
            Stage::Draining
        } else {
            Stage::Precharging
        }
    }

    /// An auxiliary contact that lies shows a contactor closed that is still on its way; so it
    /// ends pre-charge only once the contactor has had the time to close. (It keeps the command
    /// before that: contacts that touch must not part because a voltage is not heard.)
    fn close(&mut self, reading: &Reading, config: &Config, active: &mut Faults) -> Stage {
        let least = config.main_close_min.ticks();
        let had_time = self.checked.has_held(least);
        // What is commanded in this tick counts from the next on.
        self.checked.feed(reading.charged(config), least);
        if !reading.packs.any_joined {
            *active |= Fault::PrechargeFailed;
            Stage::Draining
        } else if had_time && reading.main_closed == Some(true) && reading.proves_live(config) {
            Stage::Live
        } else if self.left.is_over() {
            *active |= Fault::MainStuckOpen;
            Stage::Draining
        } else {
            Stage::Closing
        }
    }

    fn enter(
        &mut self,
        stage: Stage,
        candidates: [bool; PACKS],
        packs: &mut Packs,
        config: &Config,
    ) {
        // Only a bus that was in use can show a weld by its packs; one whose closing is
        // given up lets go of them at once, should the contactor close late.
        let given_up =
            stage == Stage::Draining && !matches!(self.stage, Stage::Live | Stage::Opening);
        if given_up {
            packs.join([false; PACKS]);
        }
        self.stage = stage;
        self.checked.restart();
        self.lost.restart();
        self.left_behind.restart();
        self.drained.restart();
        self.drained_late = false;
        if stage == Stage::Closing {
            // Commanded in this very tick.
            self.checked.feed(true, config.main_close_min.ticks());
        }
        let time = match stage {
            Stage::Draining => config.discharge_time,
            Stage::Precharging => config.precharge_time,
            Stage::Closing => config.main_close_time,
            Stage::Opening => config.open_time,
            Stage::Dead | Stage::Checking | Stage::Live => crate::units::Millis::ZERO,
        };
        self.left = Countdown::of(time.ticks());
        match stage {
            Stage::Precharging => packs.join(candidates),
            Stage::Dead => packs.join([false; PACKS]),
            Stage::Draining | Stage::Checking | Stage::Closing | Stage::Live | Stage::Opening => {}
        }
    }

    /// What the present stage switches. While draining, the packs stay joined until
    /// the bus is seen to fall or its time is up: a bus that does not fall shows a weld.
    /// After that they are let go, which makes a welded bus safe too.
    ///
    /// The main contactor is commanded only onto a bus that shows it was pre-charged: a
    /// stage that came about by a flipped bit must not close it onto an empty capacitor.
    fn drive(&self, reading: &Reading, config: &Config, packs: &Packs) -> BusDrive {
        let joined = packs.joined();
        let charged = reading.charged(config);
        match self.stage {
            Stage::Draining => BusDrive {
                packs: joined,
                discharge: true,
                ..BusDrive::default()
            },
            Stage::Dead | Stage::Checking => BusDrive::default(),
            Stage::Precharging => BusDrive {
                packs: joined,
                precharge: true,
                ..BusDrive::default()
            },
            Stage::Closing => BusDrive {
                packs: joined,
                precharge: true,
                main: charged,
                discharge: false,
            },
            Stage::Live | Stage::Opening => BusDrive {
                packs: joined,
                main: charged,
                ..BusDrive::default()
            },
        }
    }
}

#[cfg(feature = "walk")]
mod walk {
    use super::{Bus, Config, Stage};
    use crate::walk::{Choice, Flag, Timer, Visitor};

    pub(super) const STAGES: [Stage; 7] = [
        Stage::Draining,
        Stage::Dead,
        Stage::Checking,
        Stage::Precharging,
        Stage::Closing,
        Stage::Live,
        Stage::Opening,
    ];

    impl Choice for Stage {
        fn number(self) -> u8 {
            match self {
                Self::Draining => 0,
                Self::Dead => 1,
                Self::Checking => 2,
                Self::Precharging => 3,
                Self::Closing => 4,
                Self::Live => 5,
                Self::Opening => 6,
            }
        }

        fn numbered(number: u8) -> Self {
            STAGES.get(usize::from(number)).copied().unwrap_or_default()
        }
    }

    impl Bus {
        pub(crate) fn walk(&mut self, visitor: &mut impl Visitor, config: &Config) {
            visitor.choice(&mut self.stage, 7);
            visitor.countdown(Timer::BusStage, &mut self.left);
            // Checking, pre-charging and closing share one timer, each with its own limit.
            let checked = match self.stage {
                Stage::Precharging => config.debounce,
                Stage::Closing => config.main_close_min,
                Stage::Draining | Stage::Dead | Stage::Checking | Stage::Live | Stage::Opening => {
                    config.insulation_time
                }
            };
            visitor.sustained(Timer::BusChecked, &mut self.checked, checked.ticks());
            visitor.sustained(Timer::BusWelded, &mut self.welded, config.open_time.ticks());
            visitor.sustained(Timer::BusLost, &mut self.lost, config.debounce.ticks());
            let after = config.fault_after.ticks();
            visitor.sustained(Timer::BusLeftBehind, &mut self.left_behind, after);
            let least = config.drain_min.ticks();
            visitor.sustained(Timer::BusDrained, &mut self.drained, least);
            visitor.flag(Flag::DrainedLate, &mut self.drained_late);
        }
    }
}

#[cfg(test)]
mod tests;
