//! The board: one tick from pins to pins.
//!
//! Responsibilities:
//! 1. Sample every sensor; what cannot be read ages ([`Sensors`]).
//! 2. Let the controller decide, and carry its decision out in a safe order
//!    ([`Actuators`]).
//! 3. Leave every output fail-safe when a tick is late (SR-16) or an output does not
//!    obey; feed the watchdog only after a tick in which everything went right.
//!
//! Regimes: *on time*, *late* (fail-safe for this tick; the controller is told in the
//! next and denies what needs to be on time), *failed* (an output did not obey: fail-safe
//! until the watchdog resets the processor, after which nothing moves before a fresh
//! intention, SR-05).
//!
//! A tick that never ends is the watchdog's to catch; the levels of pins at reset must
//! therefore be fail-safe, which here means low.

mod actuators;
mod ports;
mod pwm_motor;
mod sensors;

pub use actuators::{Actuators, Failed, Relays, Switch, Switches, switches};
pub use ports::{
    Analog, AngleSource, CurrentOf, Deadline, MotorController, NoReading, NotObeyed, Pack, Ports,
    Reading, ShareOf, SpeedSource, TemperatureOf, VoltageOf, Watchdog,
};
pub use pwm_motor::{CREEP_FULL, MotorLines, PwmMotor};
pub use sensors::{Contacts, Sensors};

use crate::config::Config;
use crate::inputs::Inputs;
use crate::log;
use crate::outputs::{Drives, Outputs};
use crate::sequencer::Sequencer;

/// What became of a tick's outputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Verdict {
    /// Carried out in time; the watchdog was fed.
    OnTime,
    /// The deadline passed; every output is fail-safe for this tick.
    Late,
    /// An output did not obey; every other is fail-safe until reset.
    Failed(Failed),
}

/// One tick, for whoever records it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ticked {
    /// What the controller commanded and told.
    pub outputs: Outputs,
    /// Whether its commands were carried out.
    pub verdict: Verdict,
}

/// A board: sensors, actuators and a watchdog.
pub struct Board<P: Ports> {
    sensors: Sensors<P>,
    actuators: Actuators<P>,
    watchdog: P::Watchdog,
    inputs: Inputs,
    verdict: Verdict,
}

impl<P: Ports> Board<P> {
    /// A board whose outputs are put into their fail-safe values at once.
    pub fn new(sensors: Sensors<P>, mut actuators: Actuators<P>, watchdog: P::Watchdog) -> Self {
        let verdict = match actuators.fail_safe() {
            Ok(()) => Verdict::OnTime,
            Err(failed) => Verdict::Failed(failed),
        };
        Self {
            sensors,
            actuators,
            watchdog,
            inputs: Inputs::default(),
            verdict,
        }
    }

    /// One tick of 10 ms: sample, step, carry out, feed the watchdog.
    pub fn tick(
        &mut self,
        sequencer: &mut Sequencer,
        config: &Config,
        deadline: &mut impl Deadline,
    ) -> Ticked {
        self.tick_with(deadline, |inputs| sequencer.step(inputs, config))
    }

    /// One tick with another controller in the sequencer's place, for trials of the
    /// board itself.
    pub fn tick_with(
        &mut self,
        deadline: &mut impl Deadline,
        step: impl FnOnce(&Inputs) -> Outputs,
    ) -> Ticked {
        self.sensors.sample(&mut self.inputs);
        // A tick whose outputs did not take hold did not meet its deadline either.
        self.inputs.missed_deadline = self.verdict != Verdict::OnTime;
        let outputs = step(&self.inputs);
        self.verdict = self.carry_out(&outputs.drives, deadline);
        // After the outputs: telling must not delay them.
        log::tell(&outputs);
        Ticked {
            outputs,
            verdict: self.verdict,
        }
    }

    /// Puts every output into its fail-safe value; see [`Actuators::fail_safe`].
    ///
    /// # Errors
    /// The first output that did not obey.
    pub fn fail_safe(&mut self) -> Result<(), Failed> {
        self.actuators.fail_safe()
    }

    /// What the controller was told in the latest tick.
    #[must_use]
    pub const fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    fn carry_out(&mut self, drives: &Drives, deadline: &mut impl Deadline) -> Verdict {
        if let Verdict::Failed(failed) = self.verdict {
            // Repeated, since a level may have been disturbed from outside.
            let _ = self.fail_safe();
            return Verdict::Failed(failed);
        }
        if deadline.missed() {
            return self.give_up();
        }
        if let Err(failed) = self.actuators.apply(drives) {
            return Verdict::Failed(failed);
        }
        if deadline.missed() {
            return self.give_up();
        }
        self.watchdog.feed();
        Verdict::OnTime
    }

    fn give_up(&mut self) -> Verdict {
        match self.fail_safe() {
            Ok(()) => Verdict::Late,
            Err(failed) => Verdict::Failed(failed),
        }
    }
}
