//! What happened, tick by tick, reduced to what changed.

mod note;

pub use note::{Note, What};

use enumset::EnumSet;
use mastwright_core::bus::Stage;
use mastwright_core::command::Intention;
use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::outputs::{Denial, Drives, Event, Fans};
use mastwright_core::{Faults, Mode, Outputs, State};
use serde::Serialize;

use super::words;
use crate::flight::Begun;
use crate::frame::Frame;
use crate::scenario::Scenario;

/// One thing that happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry {
    /// When, s.
    pub time: f64,
    /// State of the controller then.
    pub phase: &'static str,
    /// What kind of thing.
    pub kind: Kind,
    /// What, in words.
    pub text: String,
}

/// The kinds of things that happen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The scenario's pilot or crew does something.
    Pilot,
    /// The scenario's fault begins.
    Fault,
    /// The controller's supply goes or comes.
    Supply,
    /// The controller took an intention.
    Asked,
    /// The controller went to another state.
    Phase,
    /// The bus went to another stage.
    Bus,
    /// A drive started, stopped or turned.
    Drive,
    /// Something was asked for and denied.
    Denied,
    /// An alert of the class warning.
    Warning,
    /// An alert of the class caution.
    Caution,
    /// An alert of the class advisory.
    Advisory,
    /// Alerts silenced or cleared, restraint confirmed or ended.
    Crew,
    /// The heat warning, a unit of its own.
    Heat,
    /// What a target in lock step says in its own log.
    Target,
}

/// Most denials remembered in one phase: reasons that flicker for hours fill no memory.
const DENIALS_REMEMBERED: usize = 64;

/// What must be remembered to tell what changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    powered: bool,
    state: State,
    drives: Drives,
    bus: Stage,
    faults: Faults,
    heat: bool,
    /// Denials told in this phase: none is told twice.
    denied: Vec<(Permission, EnumSet<Reason>)>,
}

impl Default for Timeline {
    fn default() -> Self {
        Self {
            powered: true,
            state: State::Waking,
            // At rest: what the outputs of the first tick are compared with.
            drives: Drives {
                fans: Fans::Off,
                ..Drives::default()
            },
            bus: Stage::default(),
            faults: Faults::empty(),
            heat: false,
            denied: Vec::new(),
        }
    }
}

/// Hands on what one frame tells.
struct Teller<'a> {
    frame: &'a Frame,
    hear: &'a mut dyn FnMut(Note),
}

impl Teller<'_> {
    fn tell(&mut self, what: What) {
        (self.hear)(Note {
            tick: self.frame.tick,
            phase: words::phase(self.frame),
            what,
        });
    }
}

impl Timeline {
    /// Sees one frame; adds to `entries` what changed in it.
    pub fn see(
        &mut self,
        frame: &Frame,
        begun: Begun,
        scenario: &Scenario,
        entries: &mut Vec<Entry>,
    ) {
        self.note(frame, begun, &mut |note| entries.push(note.entry(scenario)));
    }

    /// Sees one frame; `hear` is given what changed in it, not yet in words.
    pub fn note(&mut self, frame: &Frame, begun: Begun, hear: &mut dyn FnMut(Note)) {
        let mut teller = Teller { frame, hear };
        for index in begun.actions.iter() {
            teller.tell(What::Action(index));
        }
        for index in begun.faults.iter() {
            teller.tell(What::Ordered(index));
        }
        self.see_supply(&mut teller);
        if frame.powered {
            self.see_events(&mut teller);
            self.see_state(&mut teller);
            self.see_denials(&mut teller);
            self.see_alerts(&mut teller);
        }
        self.see_drives(&mut teller);
        if frame.heat_warning != self.heat {
            self.heat = frame.heat_warning;
            teller.tell(What::Heat(self.heat));
        }
    }

    fn see_supply(&mut self, teller: &mut Teller<'_>) {
        if teller.frame.powered == self.powered {
            return;
        }
        self.powered = teller.frame.powered;
        teller.tell(What::Supply(self.powered));
        if self.powered {
            self.state = State::Waking;
        } else {
            self.faults = Faults::empty();
            self.bus = Stage::default();
            self.denied.clear();
        }
    }

    fn see_events(&mut self, teller: &mut Teller<'_>) {
        let outputs = &teller.frame.outputs;
        for event in &outputs.events {
            match *event {
                Event::Intended(intention) => {
                    if let Some(asked) = asked(outputs, intention) {
                        teller.tell(asked);
                    }
                }
                Event::Ignored(intention) => teller.tell(What::Ignored(intention)),
                Event::Went { to, .. } => self.enter(to, teller),
                Event::Bus(stage) => {
                    if stage != self.bus {
                        self.bus = stage;
                        let volts = teller.frame.truth.bus.voltage;
                        teller.tell(What::Bus(stage, volts));
                    }
                }
                Event::Acknowledged => {
                    teller.tell(What::Acknowledged {
                        alerts: !self.faults.is_empty(),
                    });
                }
                Event::RestraintConfirmed => teller.tell(What::Restraint(true)),
                Event::RestraintEnded => teller.tell(What::Restraint(false)),
                // Told from the indications, which no full queue can lose.
                Event::Latched(_) | Event::Cleared(_) => {}
            }
        }
        if outputs.events_lost > 0 {
            teller.tell(What::EventsLost(outputs.events_lost));
        }
    }

    fn see_state(&mut self, teller: &mut Teller<'_>) {
        let state = teller.frame.outputs.indications.state;
        if state != self.state {
            self.enter(state, teller);
        }
    }

    fn enter(&mut self, state: State, teller: &mut Teller<'_>) {
        self.state = state;
        self.denied.clear();
        teller.tell(What::Entered(state));
    }

    fn see_denials(&mut self, teller: &mut Teller<'_>) {
        for Denial {
            permission,
            reasons,
        } in &teller.frame.outputs.denials
        {
            if self.denied.contains(&(*permission, *reasons)) {
                continue;
            }
            if self.denied.len() == DENIALS_REMEMBERED {
                self.denied.remove(0);
            }
            self.denied.push((*permission, *reasons));
            teller.tell(What::Denied(*permission, *reasons));
        }
    }

    fn see_alerts(&mut self, teller: &mut Teller<'_>) {
        let faults = teller.frame.outputs.indications.faults;
        if faults == self.faults {
            return;
        }
        let mut new: Vec<_> = (faults - self.faults).iter().collect();
        // The most urgent first.
        new.sort_by_key(|fault| std::cmp::Reverse(fault.class()));
        for fault in new {
            teller.tell(What::Alert(fault));
        }
        for fault in self.faults - faults {
            teller.tell(What::Cleared(fault));
        }
        self.faults = faults;
    }

    fn see_drives(&mut self, teller: &mut Teller<'_>) {
        let now = teller.frame.outputs.drives;
        let was = std::mem::replace(&mut self.drives, now);
        let truth = &teller.frame.truth;
        if now.mast != was.mast {
            teller.tell(What::Mast(now.mast, truth.mast.position, truth.mast.locked));
        }
        if now.doors != was.doors {
            teller.tell(What::Doors(now.doors, truth.doors));
        }
        if std::mem::discriminant(&now.motor) != std::mem::discriminant(&was.motor) {
            teller.tell(What::Motor(now.motor, truth.propeller.speed));
        }
        if now.fans != was.fans {
            teller.tell(What::Fans(now.fans));
        }
        if now.aux_charger != was.aux_charger {
            teller.tell(What::AuxCharger(now.aux_charger, truth.auxiliary));
        }
    }
}

/// An intention as the controller took it; none for one that has no effect, which is
/// told by its own event.
fn asked(outputs: &Outputs, intention: Intention) -> Option<What> {
    let went = |event: &Event| matches!(event, Event::Went { .. });
    let by_hand = match outputs.indications.mode {
        Mode::Jog | Mode::Bench => !outputs.events.iter().any(went),
        Mode::Sequenced => false,
    };
    if outputs.events.contains(&Event::Ignored(intention)) {
        None
    } else if by_hand {
        Some(What::AskedByHand(intention))
    } else {
        Some(What::Asked(intention))
    }
}

#[cfg(test)]
mod tests;
