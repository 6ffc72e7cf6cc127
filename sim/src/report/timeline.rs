//! What happened, tick by tick, reduced to what changed.

use enumset::EnumSet;
use mastwright_core::bus::Stage;
use mastwright_core::command::Intention;
use mastwright_core::fault::Class;
use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::outputs::{Denial, DoorDrive, Drives, Event, Fans, MastDrive, Motor, Pace};
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
}

/// What must be remembered to tell what changes.
#[derive(Clone, Debug)]
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

/// Collects what one frame tells.
struct Teller<'a> {
    frame: &'a Frame,
    entries: &'a mut Vec<Entry>,
}

impl Teller<'_> {
    fn tell(&mut self, kind: Kind, text: impl Into<String>) {
        self.entries.push(Entry {
            time: self.frame.seconds(),
            phase: words::phase(self.frame),
            kind,
            text: text.into(),
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
        let mut teller = Teller { frame, entries };
        for action in begun
            .actions
            .iter()
            .filter_map(|index| scenario.actions.get(index))
        {
            teller.tell(Kind::Pilot, action.words.clone());
        }
        for ordered in begun
            .faults
            .iter()
            .filter_map(|index| scenario.faults.get(index))
        {
            teller.tell(Kind::Fault, ordered.words());
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
            teller.tell(
                Kind::Heat,
                if self.heat {
                    "the heat warning sounds"
                } else {
                    "the heat warning falls silent"
                },
            );
        }
    }

    fn see_supply(&mut self, teller: &mut Teller<'_>) {
        if teller.frame.powered == self.powered {
            return;
        }
        self.powered = teller.frame.powered;
        if self.powered {
            teller.tell(
                Kind::Supply,
                "the controller has its supply again and wakes",
            );
            self.state = State::Waking;
        } else {
            teller.tell(Kind::Supply, "the controller has lost its supply");
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
                    if let Some(text) = asked(outputs, intention) {
                        teller.tell(Kind::Asked, text);
                    }
                }
                Event::Ignored(intention) => {
                    let text = format!("{} has no effect here", words::intention(intention));
                    teller.tell(Kind::Asked, text);
                }
                Event::Went { to, .. } => self.enter(to, teller),
                Event::Bus(stage) => {
                    if stage != self.bus {
                        self.bus = stage;
                        let volts = teller.frame.truth.bus.voltage;
                        let text = format!("{} ({volts:.0} V)", words::stage(stage));
                        teller.tell(Kind::Bus, text);
                    }
                }
                Event::Acknowledged => {
                    let text = if self.faults.is_empty() {
                        "acknowledge pressed, with no alert to silence"
                    } else {
                        "alerts acknowledged"
                    };
                    teller.tell(Kind::Crew, text);
                }
                Event::RestraintConfirmed => {
                    teller.tell(Kind::Crew, "restraint of the blade confirmed");
                }
                Event::RestraintEnded => teller.tell(Kind::Crew, "restraint of the blade ended"),
                // Told from the indications, which no full queue can lose.
                Event::Latched(_) | Event::Cleared(_) => {}
            }
        }
        if outputs.events_lost > 0 {
            let text = format!("{} events found no room", outputs.events_lost);
            teller.tell(Kind::Crew, text);
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
        teller.tell(Kind::Phase, words::state(state));
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
            self.denied.push((*permission, *reasons));
            let reasons: Vec<&str> = reasons.iter().map(Reason::words).collect();
            let text = format!("{}: {}", words::permission(*permission), reasons.join("; "));
            teller.tell(Kind::Denied, text);
        }
    }

    fn see_alerts(&mut self, teller: &mut Teller<'_>) {
        let faults = teller.frame.outputs.indications.faults;
        let mut new: Vec<_> = (faults - self.faults).iter().collect();
        // The most urgent first.
        new.sort_by_key(|fault| std::cmp::Reverse(fault.class()));
        for fault in new {
            let kind = match fault.class() {
                Class::Warning => Kind::Warning,
                Class::Caution => Kind::Caution,
                Class::Advisory => Kind::Advisory,
            };
            teller.tell(kind, format!("{} ({fault:?})", words::fault(fault)));
        }
        for fault in self.faults - faults {
            teller.tell(
                Kind::Crew,
                format!("cleared: {} ({fault:?})", words::fault(fault)),
            );
        }
        self.faults = faults;
    }

    fn see_drives(&mut self, teller: &mut Teller<'_>) {
        let now = teller.frame.outputs.drives;
        let was = std::mem::replace(&mut self.drives, now);
        let truth = &teller.frame.truth;
        if now.mast != was.mast {
            let place = truth.mast.position * 100.0;
            let locked = if truth.mast.locked { ", locked" } else { "" };
            let text = match now.mast {
                MastDrive::Off => format!("mast drive off at {place:.0} %{locked}"),
                MastDrive::Extend(pace) => format!("mast extends{} from {place:.0} %", slow(pace)),
                MastDrive::Retract(pace) => {
                    format!("mast retracts{} from {place:.0} %", slow(pace))
                }
            };
            teller.tell(Kind::Drive, text);
        }
        if now.doors != was.doors {
            let place = truth.doors * 100.0;
            let text = match now.doors {
                DoorDrive::Off => format!("door drive off, doors {place:.0} % open"),
                DoorDrive::Open => format!("doors open from {place:.0} %"),
                DoorDrive::Close => format!("doors close from {place:.0} %"),
            };
            teller.tell(Kind::Drive, text);
        }
        if std::mem::discriminant(&now.motor) != std::mem::discriminant(&was.motor) {
            // Adding zero takes the sign off a rounded -0.
            let rpm = (truth.propeller.speed * 60.0 / std::f64::consts::TAU).round() + 0.0;
            teller.tell(Kind::Drive, format!("{} at {rpm:.0} rpm", motor(now.motor)));
        }
        if now.fans != was.fans {
            let text = match now.fans {
                Fans::On => "cooling fans on",
                Fans::Off => "cooling fans off",
            };
            teller.tell(Kind::Drive, text);
        }
        if now.aux_charger != was.aux_charger {
            let volts = truth.auxiliary;
            let switched = if now.aux_charger { "on" } else { "off" };
            teller.tell(
                Kind::Drive,
                format!("auxiliary charger {switched} at {volts:.1} V"),
            );
        }
    }
}

/// An intention as the controller took it; none for one that has no effect, which is
/// told by its own event.
fn asked(outputs: &Outputs, intention: Intention) -> Option<String> {
    let text = words::intention(intention);
    let went = |event: &Event| matches!(event, Event::Went { .. });
    let by_hand = match outputs.indications.mode {
        Mode::Jog | Mode::Bench => !outputs.events.iter().any(went),
        Mode::Sequenced => false,
    };
    if outputs.events.contains(&Event::Ignored(intention)) {
        None
    } else if by_hand {
        Some(format!("{text} by hand, while the selector is held"))
    } else {
        Some(text.to_owned())
    }
}

const fn slow(pace: Pace) -> &'static str {
    match pace {
        Pace::Full => "",
        Pace::Slow => " slowly",
    }
}

const fn motor(motor: Motor) -> &'static str {
    match motor {
        Motor::Free => "motor free",
        Motor::Thrust(_) => "motor propels",
        Motor::Short => "motor windings shorted as a brake",
        Motor::Brake(_) => "motor brakes",
        Motor::Creep(_) => "motor turns the blade",
        Motor::Hold(_) => "motor holds the blade",
    }
}

#[cfg(test)]
mod tests;
