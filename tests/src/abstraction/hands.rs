//! Which abstract hands may stand for what the pilot, the air and the heat were in a tick.
//!
//! The exploration tries others in their place where the same comes of them.

use itertools::iproduct;
use mastwright_core::command::{Intention, Selector};
use mastwright_core::outputs::Event;
use mastwright_core::{Config, Inputs, Sequencer, State};
use mastwright_sim::explore::hands::{Air, Hands, Heat, Push};
use mastwright_sim::explore::memory::Acknowledge;
use mastwright_sim::frame::Frame;

use super::memory;

/// What the real hands may stand for; where a reading may go either way, for both.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Real {
    /// The selector's positions.
    pub selector: Vec<Push>,
    /// The stop switch.
    pub stop: bool,
    /// The throttle is open.
    pub throttle: Vec<bool>,
    /// The acknowledge button.
    pub acknowledge: Vec<Acknowledge>,
    /// The bench key.
    pub key: bool,
    /// The charge request.
    pub aux: Vec<bool>,
    /// The air.
    pub air: Vec<Air>,
    /// The heat.
    pub heat: Vec<Heat>,
}

impl Real {
    /// What the hands of a tick stand for, which led the controller from `before` to
    /// `after`.
    #[must_use]
    pub fn of(frame: &Frame, before: &Sequencer, after: &Sequencer, config: &Config) -> Self {
        Self {
            selector: selector(frame, before, after, config),
            stop: frame.controls.stop,
            throttle: throttle(frame, config),
            acknowledge: acknowledge(frame, before, after, config),
            key: frame.controls.bench_key,
            // One that stands since power-up, or is not heard, does not count.
            aux: if frame.controls.aux_charge {
                vec![true, false]
            } else {
                vec![false]
            },
            air: air(frame, config),
            heat: heat(frame, config),
        }
    }

    /// All abstract hands that they may stand for.
    pub fn each(&self) -> impl Iterator<Item = Hands> + '_ {
        iproduct!(
            &self.selector,
            &self.throttle,
            &self.acknowledge,
            &self.aux,
            &self.air,
            &self.heat
        )
        .map(
            |(&selector, &throttle, &acknowledge, &aux, &air, &heat)| Hands {
                selector,
                stop: self.stop,
                throttle,
                acknowledge,
                key: self.key,
                aux,
                air,
                heat,
            },
        )
    }
}

/// The selector stands for what counts of it; a push that gave no intention in this tick is
/// as well one that is held, which the exploration takes for centred.
fn selector(frame: &Frame, before: &Sequencer, after: &Sequencer, config: &Config) -> Vec<Push> {
    let counts = match memory::settled(after, config) {
        Selector::Deploy => Push::Deploy,
        Selector::Stow => Push::Stow,
        Selector::Hold | Selector::Unproven => Push::Hold,
    };
    let push =
        |event: &Event| matches!(event, Event::Intended(Intention::Deploy | Intention::Stow));
    // By hand an intention moves nothing, nor does a push that is not a fresh one.
    let by_hand = matches!(before.state(), State::Jog | State::Bench);
    let pushed = !by_hand && frame.outputs.events.iter().any(push);
    if counts == Push::Hold || pushed {
        vec![counts]
    } else {
        vec![Push::Hold, counts]
    }
}

/// A button that is down since power-up is no press, but enters Bench.
fn acknowledge(
    frame: &Frame,
    before: &Sequencer,
    after: &Sequencer,
    config: &Config,
) -> Vec<Acknowledge> {
    let mut may = vec![memory::acknowledge(before, after, config)];
    if before.state() == State::Waking && frame.inputs.controls.acknowledge.raw() {
        may.push(Acknowledge::Down);
    }
    may
}

fn throttle(frame: &Frame, config: &Config) -> Vec<bool> {
    let lever = frame.controls.throttle * 1_000.0;
    let closed = f64::from(config.throttle_zero.get());
    // The second track reads a little more than the first, and each has its error.
    let mut may = Vec::new();
    if lever <= closed + 2.0 {
        may.push(false);
    }
    if lever >= closed - 3.0 {
        may.push(true);
    }
    may
}

/// Airspeed is read with an error, and once too fast must fall by a band.
fn air(frame: &Frame, config: &Config) -> Vec<Air> {
    const ERROR: f64 = 0.3;
    let airspeed = frame.truth.aircraft.airspeed;
    let metres = |deci: i16| f64::from(deci) / 10.0;
    let most = metres(config.mast_airspeed_max.get());
    let back = most - metres(config.mast_airspeed_band.get());
    let mut may = Vec::new();
    if airspeed <= metres(config.bench_airspeed_max.get()) + ERROR {
        may.push(Air::Calm);
    }
    if airspeed <= most + ERROR {
        may.push(Air::Within);
    }
    if airspeed >= back - ERROR {
        may.push(Air::Fast);
    }
    may
}

/// The hottest part counts, as it is read: the exploration has no sensor of it that lies, but
/// any heat at any time. One that is not heard may be any; a rate of rise is not seen.
fn heat(frame: &Frame, config: &Config) -> Vec<Heat> {
    let Inputs { packs, thermal, .. } = &frame.inputs;
    let [one, two] = packs.map(|pack| pack.temperature);
    let parts = [
        (thermal.motor, config.motor_hot, config.motor_stop),
        (
            thermal.controller,
            config.controller_hot,
            config.controller_stop,
        ),
        (one, config.pack_hot, config.pack_stop),
        (two, config.pack_hot, config.pack_stop),
    ];
    let read = parts.map(|(signal, hot, stop)| {
        let read = signal.proven(config.stale_after)?;
        Some((read >= hot, read >= stop))
    });
    if read.contains(&None) {
        return vec![Heat::Cool, Heat::Hot, Heat::TooHot];
    }
    let hot = read.iter().flatten().any(|&(hot, _)| hot);
    let stop = read.iter().flatten().any(|&(_, stop)| stop);
    vec![match (hot, stop) {
        (_, true) => Heat::TooHot,
        (true, false) => Heat::Hot,
        (false, false) => Heat::Cool,
    }]
}
