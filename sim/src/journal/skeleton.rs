//! The likeliest scenario behind a record: to be run, looked at, and mended.
//!
//! A record holds the last 24 events and no readings. What the pilot asked for stands in
//! it; when the throttle moved shows in the states; what failed is guessed from the
//! first alert, and every guess says so. Where the beginning has fallen out of the record, the
//! scenario begins so that the first state that is known can be reached.

use std::fmt::Write as _;

use mastwright_core::journal::{Entry, Record};
use mastwright_core::outputs::Event;
use mastwright_core::{Fault, Intention, State};

use super::{Session, cause, sessions};

/// Ticks a flight needs to come to a state in which it is found without its beginning.
const RUN_UP: u32 = 1500;
/// Fewer ticks than raising the mast takes.
const RAISING: u32 = 100;
/// Ticks without supply between two sessions: the record does not say how many there were.
const DARK: u32 = 100;
/// Ticks flown on after the last event.
const AFTER: u32 = 1000;

/// The text of the scenario; `from` says where the record comes from.
#[must_use]
pub fn skeleton(records: &[Record], from: &str) -> String {
    let sessions = sessions(records);
    let first = sessions.iter().find_map(first_state);
    let mut sketch = Sketch::default();
    let begun = first.unwrap_or(State::Stowed);
    let whole = sessions.first().is_none_or(|session| session.from_start);
    if !whole {
        sketch.run_up(begun, sessions.first());
    }
    for (number, session) in sessions.iter().enumerate() {
        if number > 0 {
            sketch.power_cut();
        }
        for (tick, entry) in &session.entries {
            sketch.follow(*tick, entry);
        }
    }
    let first = sessions.first();
    let start = Start {
        up: !stowed(begun) || first.is_some_and(is_up_already),
        lost: first.filter(|_| !whole).map(earliest),
        from,
    };
    sketch.text(&start)
}

/// How the scenario begins, and what is known of the record.
struct Start<'a> {
    /// The mast is out of its bay.
    up: bool,
    /// Ticks after power-up of which the record tells nothing; none if it tells of all.
    lost: Option<u32>,
    /// Where the record comes from.
    from: &'a str,
}

/// When the first event of a session that is recorded came.
fn earliest(session: &Session) -> u32 {
    session.entries.first().map_or(0, |(tick, _)| *tick)
}

/// The first raising of the mast that is recorded was over so soon that it stood up
/// already.
fn is_up_already(session: &Session) -> bool {
    let went = |wanted: fn(State, State) -> bool| {
        let mut entries = session.entries.iter();
        entries.find_map(|(tick, entry)| match entry {
            Entry::Happened(Event::Went { from, to }) if wanted(*from, *to) => Some(*tick),
            Entry::Happened(_) | Entry::Started | Entry::Lost(_) => None,
        })
    };
    let began = went(|_, to| to == State::DeployMast);
    let ended = went(|from, to| from == State::DeployMast && to == State::Deployed);
    let lasted = began
        .zip(ended)
        .and_then(|(began, ended)| ended.checked_sub(began));
    lasted.is_some_and(|ticks| ticks < RAISING)
}

/// The state the controller was in before the first change that is known; of a session
/// that begins with waking, the one it woke to.
fn first_state(session: &Session) -> Option<State> {
    session.entries.iter().find_map(|(_, entry)| match entry {
        Entry::Happened(Event::Went {
            from: State::Waking,
            to,
        }) => Some(*to),
        Entry::Happened(Event::Went { from, .. }) => Some(*from),
        Entry::Happened(_) | Entry::Started | Entry::Lost(_) => None,
    })
}

/// True where the mast is stowed, or was until just before.
const fn stowed(state: State) -> bool {
    match state {
        State::Stowed
        | State::DeployPower
        | State::DeployPark
        | State::DeployDoors
        | State::DeployMast
        | State::Waking
        | State::Bench => true,
        State::Resting
        | State::Deployed
        | State::Armed
        | State::Thrust
        | State::StowPower
        | State::StowBrake
        | State::StowPark
        | State::StowProve
        | State::StowMast
        | State::StowDoors
        | State::Jog
        | State::Halted(_) => false,
    }
}

/// Ticks from the demand that leads to a state until that state is left, at most; none
/// where no single demand does.
const fn lead(state: State) -> Option<(&'static str, i64)> {
    match state {
        State::DeployPower | State::DeployPark => Some(("select deploy", 100)),
        State::DeployDoors => Some(("select deploy", 400)),
        State::DeployMast => Some(("select deploy", 1400)),
        State::StowPower | State::StowBrake => Some(("select stow", 300)),
        State::StowPark => Some(("select stow", 450)),
        State::StowProve => Some(("select stow", 600)),
        State::StowMast | State::StowDoors => Some(("select stow", 1200)),
        State::Waking
        | State::Resting
        | State::Stowed
        | State::Deployed
        | State::Armed
        | State::Thrust
        | State::Jog
        | State::Halted(_)
        | State::Bench => None,
    }
}

/// Whether a demand is recorded before the first change of state.
fn is_asked(session: &Session) -> bool {
    let mut events = session.entries.iter().filter_map(|(_, entry)| match entry {
        Entry::Happened(event) => Some(event),
        Entry::Started | Entry::Lost(_) => None,
    });
    let first = events.find(|event| matches!(event, Event::Intended(_) | Event::Went { .. }));
    matches!(first, Some(Event::Intended(_)))
}

/// True where the motor had given thrust before.
const fn thrusting(state: State) -> bool {
    matches!(state, State::Thrust | State::StowBrake)
}

#[derive(Default)]
struct Sketch {
    /// Actions and faults, as text, in order.
    cues: String,
    visits: Vec<&'static str>,
    raises: Vec<String>,
    /// Ticks of the scenario before the present session.
    base: i64,
    now: i64,
    throttle: bool,
    stop: bool,
    /// Something has failed already.
    broken: bool,
}

impl Sketch {
    /// Leads to the first state that is known.
    fn run_up(&mut self, state: State, session: Option<&Session>) {
        self.base = i64::from(RUN_UP) - i64::from(session.map_or(0, earliest));
        if !stowed(state) {
            self.action(100, "select deploy", "to make the bus live");
        }
        if thrusting(state) {
            self.throttle = true;
            self.action(500, "throttle to 100 % over 1 s", "a guess");
        }
        if let Some((deed, ticks)) = lead(state)
            && !session.is_some_and(is_asked)
        {
            let note = "not in the record any more; when is a guess";
            self.action(i64::from(RUN_UP) - ticks, deed, note);
        }
    }

    fn power_cut(&mut self) {
        self.action(
            self.now + 1,
            "power off for 1 s",
            "how long is not recorded",
        );
        self.base = self.now + 1 + i64::from(DARK);
        self.throttle = false;
    }

    fn follow(&mut self, tick: u32, entry: &Entry) {
        self.now = self.base + i64::from(tick);
        let Entry::Happened(event) = entry else {
            return;
        };
        match *event {
            Event::Intended(intention) | Event::Ignored(intention) => self.asked(intention),
            Event::Went { from, to } => self.went(from, to),
            Event::Latched(fault) => {
                self.raises.push(format!("{fault:?}"));
                match cause(fault) {
                    // One cause has many alerts: the first is taken for it.
                    _ if self.broken => self.remark(fault, "it may follow from the fault above"),
                    Some(cause) => self.fault(cause, &format!("{fault:?}")),
                    None => self.remark(fault, "what led to it is for you to say"),
                }
            }
            Event::Acknowledged => self.action(self.now - 2, "acknowledge", ""),
            Event::RestraintConfirmed => {
                self.action(
                    self.now - 310,
                    "acknowledge for 3.5 s",
                    "confirms restraint",
                );
            }
            Event::Cleared(_) | Event::Bus(_) | Event::RestraintEnded => {}
        }
    }

    fn remark(&mut self, fault: Fault, what: &str) {
        let seconds = seconds(self.now);
        let _ = writeln!(self.cues, "# {seconds} s: {fault:?} latched; {what}.\n");
    }

    fn asked(&mut self, intention: Intention) {
        // Two ticks pass until a contact counts as closed.
        let at = self.now - 2;
        match intention {
            Intention::Deploy => {
                if self.stop {
                    self.stop = false;
                    self.action(at - 10, "stop off", "a guess: nothing deploys under it");
                }
                self.action(at, "select deploy", "");
            }
            Intention::Stow => self.action(at, "select stow", ""),
            Intention::StopAndStow => {
                self.stop = true;
                self.action(at, "stop on", "");
            }
        }
    }

    fn went(&mut self, from: State, to: State) {
        if self.visits.last() != Some(&to.name()) {
            self.visits.push(to.name());
        }
        match (from, to) {
            (_, State::Thrust) if !self.throttle => {
                self.throttle = true;
                self.action(
                    self.now - 1,
                    "throttle to 100 % over 1 s",
                    "how far is a guess",
                );
            }
            (State::Thrust, State::Armed) => {
                self.throttle = false;
                self.action(self.now - 1, "throttle to 0 %", "");
            }
            (State::Thrust, _) => {
                self.throttle = false;
                self.action(self.now + 100, "throttle to 0 %", "a guess: when");
            }
            (_, State::Bench) => {
                self.action(0, "bench key on", "");
            }
            (_, _) => {}
        }
    }

    fn action(&mut self, at: i64, deed: &str, note: &str) {
        let note = if note.is_empty() {
            String::new()
        } else {
            format!("  # {note}")
        };
        let _ = writeln!(
            self.cues,
            "[[action]]\nat = {}\ndo = \"{deed}\"{note}\n",
            seconds(at)
        );
    }

    fn fault(&mut self, cause: super::Cause, fault: &str) {
        self.broken = true;
        let at = seconds(self.now - i64::from(cause.before));
        let _ = writeln!(
            self.cues,
            "# A guess: the plainest cause of {fault}.\n\
             # `mastwright list faults` has others.\n\
             [[fault]]\nat = {at}\ntarget = \"{}\"\nkind = \"{}\"\n",
            cause.target, cause.kind
        );
    }

    fn text(&self, begins: &Start<'_>) -> String {
        let start = if begins.up {
            "mast = \"deployed\"\nheight = 500\nairspeed = 27"
        } else {
            "mast = \"stowed\""
        };
        let beginning = match begins.lost {
            None => "It begins with the power-up.".to_owned(),
            Some(ticks) => format!(
                "What happened in the first {} s after power-up has fallen out of the record:\n\
                 the first actions are a guess.",
                seconds(i64::from(ticks))
            ),
        };
        let from = begins.from;
        let quoted = |names: &[&str]| {
            let names: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
            names.join(", ")
        };
        let raises: Vec<&str> = self.raises.iter().map(String::as_str).collect();
        let mut text = format!(
            "title = \"What the controller recorded\"\n\
             briefing = \"\"\"\n\
             Made by mastwright journal from {from}:\n\
             a skeleton to begin from, not what was.\n\
             {beginning}\n\"\"\"\n\
             length = {}\n\n\
             # Where the aircraft was is not recorded.\n[start]\n{start}\n\n{}",
            seconds(self.now + i64::from(AFTER)),
            self.cues
        );
        let _ = writeln!(
            text,
            "# As recorded: the run says how near the skeleton comes.\n[expect]"
        );
        if !self.visits.is_empty() {
            let _ = writeln!(text, "visits = [{}]", quoted(&self.visits));
        }
        if !raises.is_empty() {
            let _ = writeln!(text, "raises = [{}]", quoted(&raises));
        }
        text
    }
}

/// Ticks as seconds of a scenario's file, not before its start.
fn seconds(tick: i64) -> String {
    let tick = tick.max(0);
    format!("{}.{:02}", tick / 100, tick % 100)
}
