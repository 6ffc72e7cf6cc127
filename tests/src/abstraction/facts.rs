//! Whether a timer of a real flight runs out where the facts of the exploration say that it
//! cannot.

use std::collections::BTreeMap;
use std::convert::Infallible;

use mastwright_core::axis::Way;
use mastwright_core::walk::{Timer, Timers};
use mastwright_core::{Config, Sequencer};
use mastwright_sim::explore::cases::Several;
use mastwright_sim::explore::facts::{Situation, is_quiet, may_run_out};
use mastwright_sim::explore::memory::Acknowledge;
use mastwright_sim::explore::plant::{Motion, Plant, Side};
use mastwright_sim::explore::trouble::{Trouble, Troubles};
use mastwright_sim::frame::Frame;

use super::flights::{Flight, Watched, fly};
use super::{memory, plant};

/// What the timers of flights did.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// Of each timer: how often it began to run, how often it ran out.
    pub timers: BTreeMap<String, [u64; 2]>,
    /// Where one ran out that must not.
    pub broken: Vec<String>,
}

/// The timers that ran out in a step: all but over before it, and over after it, or begun
/// anew in another state or stage.
#[must_use]
pub fn ran_out(before: &Sequencer, after: &Sequencer, config: &Config) -> Timers {
    let (was, is) = (
        memory::running(before, config),
        memory::running(after, config),
    );
    let ripe = was.ripe - was.over;
    if before.state() != after.state() || before.bus_stage() != after.bus_stage() {
        ripe
    } else {
        ripe & is.over
    }
}

/// The abstract plant of a truth, as far as a fact asks for it.
fn situated(frame: &Frame, before: &Sequencer, config: &Config) -> Plant {
    let [mast, doors] = memory::running(before, config).driven;
    let motion = |driven: Option<Way>| match driven {
        Some(Way::Out) => Motion::Driven(Side::Out),
        Some(Way::In) => Motion::Driven(Side::In),
        None => Motion::Rest,
    };
    Plant {
        mast_motion: motion(mast),
        door_motion: motion(doors),
        ..plant::classes(&frame.truth, config)
    }
}

impl Seen {
    /// Watches a flight, in which what is broken is known.
    pub fn watch(&mut self, flight: &Flight) {
        let Some(broken) = &flight.troubles else {
            return;
        };
        let mut both = broken.iter().copied().chain([Trouble::None; 2]);
        let troubles = Troubles::of(
            both.next().unwrap_or_default(),
            both.next().unwrap_or_default(),
        );
        let config = &flight.scenario.config;
        let Ok(()) = fly::<Watched, Infallible>(&flight.scenario, |frame, controller| {
            if frame.powered {
                self.tick(flight, frame, controller, troubles, config);
            }
            Ok(())
        });
    }

    fn tick(
        &mut self,
        flight: &Flight,
        frame: &Frame,
        controller: &Watched,
        troubles: Troubles,
        config: &Config,
    ) {
        let Watched { before, now } = controller;
        let was = memory::running(before, config).running;
        let is = memory::running(now, config).running;
        for timer in is - was {
            self.timers.entry(format!("{timer:?}")).or_default()[0] += 1;
        }
        for timer in ran_out(before, now, config) {
            self.timers.entry(format!("{timer:?}")).or_default()[1] += 1;
            // The exploration has other ways for these.
            if matches!(timer, Timer::Parked | Timer::MastRest | Timer::DoorRest) {
                continue;
            }
            let now = Situation {
                plant: &situated(frame, before, config),
                broken: Several::one(troubles),
                state: before.state(),
                stage: before.bus_stage(),
            };
            let held = memory::acknowledge(before, &controller.now, config) == Acknowledge::Held;
            let quiet = !held && is_quiet(timer, before.latched(), before.joined());
            if !quiet && may_run_out(timer, &now).is_empty() {
                self.broken.push(format!(
                    "{} (MASTWRIGHT_FLIGHT={} flies it alone), tick {}: {timer:?} ran out in \
                     {:?}, {:?}, broken {:?}",
                    flight.name,
                    flight.name,
                    frame.tick,
                    before.state(),
                    before.bus_stage(),
                    flight.troubles,
                ));
            }
        }
    }
}
