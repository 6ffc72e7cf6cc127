//! An account of a recorded flight: everything a page about it tells.
//!
//! Responsibilities:
//! 1. Go through a trace once and gather what happened, what was measured, which alerts
//!    came and went, and what the oracle thinks of it.
//! 2. Choose what is explained: the first breach, of a blade strike what let the mast
//!    move; or else the first safe halt, or else the end, where nothing needs explaining.
//! 3. Make one [page](Account::page) of it.

mod page;
mod plot;

use mastwright_core::fault::Faults;
use mastwright_core::{Fault, State};

pub use page::NotMade;

use crate::explain::{CannotExplain, Explanation, Question, explain};
use crate::flight::{Outcome, Verdict};
use crate::frame::Frame;
use crate::join;
use crate::oracle::{Limits, Oracle};
use crate::report::timeline::{Entry, Timeline};
use crate::report::{End, words};
use crate::scenario::Scenario;
use crate::scenario::expect::{Finding, Watch};
use crate::scenario::quantity::Quantity;
use crate::trace::{CannotReplay, Mark, Replayed, Tick, Trace, Unreadable, replay};
use plot::Samples;

/// A recorded flight, told.
#[derive(Debug)]
pub struct Account<'a> {
    trace: &'a Trace,
    /// What happened, in order.
    timeline: Vec<Entry>,
    /// The stretches of each state.
    stays: Vec<Stay>,
    /// Alerts, in the order in which they came.
    alerts: Vec<Alert>,
    /// Injected faults, in the order in which they began.
    faults: Vec<Injected>,
    samples: Samples,
    measured: Vec<Measured>,
    end: End,
    verdict: Verdict,
    /// Ticks that were judged, if not all of them could be, and why not.
    judged_up_to: Option<(u64, Unreadable)>,
    expectations: Vec<Finding>,
    /// What the controller of this build makes of it.
    replayed: Replayed,
    explanation: Explanation,
    /// What is explained.
    about: &'static str,
}

/// A stretch of ticks, from the first to the one after the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Stretch {
    from: u64,
    to: u64,
}

/// A stretch of one state.
#[derive(Clone, Debug)]
struct Stay {
    state: &'static str,
    during: Stretch,
}

/// An alert while it stood.
#[derive(Clone, Debug)]
struct Alert {
    fault: Fault,
    during: Stretch,
}

/// An injected fault while it acted.
#[derive(Clone, Debug)]
struct Injected {
    number: u32,
    words: String,
    during: Stretch,
}

/// A quantity over the whole flight.
#[derive(Clone, Debug)]
struct Measured {
    name: &'static str,
    unit: &'static str,
    quantity: Quantity,
    first: f64,
    least: f64,
    greatest: f64,
    last: f64,
}

/// What is looked at where nothing needs explaining.
const NOTHING: &str = "nothing was broken and no safe halt came; a look at the end";

/// Why there is no account.
#[derive(Debug, thiserror::Error)]
pub enum NoAccount {
    /// Its controller cannot be asked.
    #[error(transparent)]
    Replay(#[from] CannotReplay),
    /// It cannot be explained.
    #[error(transparent)]
    Explain(#[from] CannotExplain),
}

impl<'a> Account<'a> {
    /// Goes through `trace`.
    ///
    /// # Errors
    /// When it holds no tick, or this build cannot read its settings or scenario.
    pub fn of(trace: &'a Trace) -> Result<Self, NoAccount> {
        let replayed = replay(trace)?;
        let scenario = scenario(trace)?;
        let mut gathered = Gathered::new(trace, &scenario);
        for tick in trace.ticks() {
            match tick {
                Ok(tick) => gathered.see(&tick),
                Err(why) => gathered.lost(why),
            }
        }
        let verdict = join::verdict(&gathered.oracle);
        let (about, explanation) = explained(trace, &verdict, &gathered)?;
        let whole = is_whole(trace, gathered.judged_up_to.as_ref());
        let expectations = gathered.watch.findings(&verdict.exercised());
        Ok(Self {
            trace,
            timeline: gathered.entries,
            stays: gathered.stays,
            alerts: gathered.alerts,
            faults: gathered.faults,
            samples: gathered.samples,
            measured: gathered.measured,
            end: End::of(&gathered.last),
            verdict,
            judged_up_to: gathered.judged_up_to,
            // What a flight was expected to come to is no question to a part of it.
            expectations: if whole { expectations } else { Vec::new() },
            replayed,
            explanation,
            about,
        })
    }

    /// What is explained on the page.
    #[must_use]
    pub const fn explanation(&self) -> &Explanation {
        &self.explanation
    }

    /// True when the trace could be read to its end, and nothing in it is damaged.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        is_whole(self.trace, self.judged_up_to.as_ref())
    }

    /// There is neither a breach nor a safe halt to explain: only the end is looked at.
    #[must_use]
    pub fn is_uneventful(&self) -> bool {
        self.about == NOTHING
    }

    /// How many hazards and requirements were broken.
    #[must_use]
    pub fn broken(&self) -> usize {
        self.verdict.broken()
    }
}

fn is_whole(trace: &Trace, judged_up_to: Option<&(u64, Unreadable)>) -> bool {
    trace.damage().is_empty() && judged_up_to.is_none()
}

fn scenario(trace: &Trace) -> Result<Scenario, CannotExplain> {
    let scenario = trace.header().scenario();
    scenario.map_err(|why| CannotExplain::Scenario {
        file: trace.file().to_owned(),
        why: Box::new(why),
    })
}

/// The first breach, or else the first safe halt, or else the end.
fn explained(
    trace: &Trace,
    verdict: &Verdict,
    gathered: &Gathered<'_>,
) -> Result<(&'static str, Explanation), CannotExplain> {
    let broken = verdict.rows().filter_map(|row| match row.outcome {
        Outcome::Broken { at, .. } => Some((at, row.id.as_str())),
        Outcome::Held | Outcome::NotExercised | Outcome::JudgedElsewhere { .. } => None,
    });
    if let Some((at, id)) = broken.min_by(|one, other| one.0.total_cmp(&other.0)) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a time of the flight"
        )]
        let tick = (at / crate::frame::TICK).round() as u64;
        // After a blade strike nobody asks what forbids the next move, but what let the
        // last one happen.
        if id == "HZ-1" {
            let moved = explain(trace, Question::MastMoved, Some(tick));
            if !matches!(moved, Err(CannotExplain::Never { .. })) {
                return Ok(("what let the mast move before the first breach", moved?));
            }
        }
        return Ok((
            "the first breach",
            explain(trace, Question::Then, Some(tick))?,
        ));
    }
    if let Some(tick) = gathered.halted {
        let halted = explain(trace, Question::Halted, Some(tick));
        // A trace that begins in a halt, or in which it came in a part that is lost.
        if !matches!(halted, Err(CannotExplain::Never { .. })) {
            return Ok(("the first safe halt", halted?));
        }
    }
    let last = explain(trace, Question::Then, Some(gathered.last.tick))?;
    Ok((NOTHING, last))
}

/// What is gathered on the way.
struct Gathered<'a> {
    trace: &'a Trace,
    scenario: &'a Scenario,
    told: Timeline,
    entries: Vec<Entry>,
    stays: Vec<Stay>,
    latched: Faults,
    alerts: Vec<Alert>,
    faults: Vec<Injected>,
    samples: Samples,
    measured: Vec<Measured>,
    oracle: Oracle,
    judged_up_to: Option<(u64, Unreadable)>,
    watch: Watch,
    /// The first tick in a safe halt.
    halted: Option<u64>,
    last: Frame,
    /// Ticks seen.
    seen: u64,
}

impl<'a> Gathered<'a> {
    fn new(trace: &'a Trace, scenario: &'a Scenario) -> Self {
        Self {
            trace,
            scenario,
            told: Timeline::default(),
            entries: Vec::new(),
            stays: Vec::new(),
            latched: Faults::empty(),
            alerts: Vec::new(),
            faults: Vec::new(),
            samples: Samples::new(trace.len()),
            measured: Vec::new(),
            oracle: Oracle::new(&Limits::default()),
            judged_up_to: None,
            watch: Watch::new(&scenario.expect),
            halted: None,
            last: Frame::default(),
            seen: 0,
        }
    }

    fn see(&mut self, tick: &Tick) {
        let frame = &tick.frame;
        if self.judged_up_to.is_none() {
            self.oracle.judge(frame);
        }
        self.watch.see(frame);
        self.told
            .see(frame, tick.begun, self.scenario, &mut self.entries);
        self.see_state(frame);
        self.see_alerts(frame);
        self.see_faults(tick);
        self.samples.add(frame);
        self.measure(frame);
        self.last.clone_from(frame);
        self.seen += 1;
    }

    /// Ticks are missing here: what judges needs every tick.
    fn lost(&mut self, why: Unreadable) {
        self.judged_up_to.get_or_insert((self.seen, why));
    }

    fn see_state(&mut self, frame: &Frame) {
        let state = words::phase(frame);
        let to = frame.tick + 1;
        match self.stays.last_mut() {
            Some(stay) if stay.state == state => stay.during.to = to,
            Some(_) | None => self.stays.push(Stay {
                state,
                during: Stretch {
                    from: frame.tick,
                    to,
                },
            }),
        }
        let halted = matches!(frame.outputs.indications.state, State::Halted(_));
        if halted && frame.powered && self.halted.is_none() {
            self.halted = Some(frame.tick);
        }
    }

    fn see_alerts(&mut self, frame: &Frame) {
        let now = frame.outputs.indications.faults;
        for fault in now {
            let standing = self
                .alerts
                .iter_mut()
                .rev()
                .find(|alert| alert.fault == fault);
            match standing {
                Some(alert) if self.latched.contains(fault) => alert.during.to = frame.tick + 1,
                Some(_) | None => self.alerts.push(Alert {
                    fault,
                    during: Stretch {
                        from: frame.tick,
                        to: frame.tick + 1,
                    },
                }),
            }
        }
        self.latched = now;
    }

    fn see_faults(&mut self, tick: &Tick) {
        for mark in &tick.marks {
            match *mark {
                Mark::FaultBegan(number) => self.faults.push(Injected {
                    number: number + 1,
                    words: self.trace.fault(number).map_or_else(
                        || "not noted in the trace".to_owned(),
                        |fault| fault.to_string(),
                    ),
                    during: Stretch {
                        from: tick.frame.tick,
                        to: self.trace.len(),
                    },
                }),
                Mark::FaultEnded(number) => {
                    let mut began = self.faults.iter_mut().rev();
                    if let Some(fault) = began.find(|fault| fault.number == number + 1) {
                        fault.during.to = tick.frame.tick + 1;
                    }
                }
                Mark::ActionBegan(_) | Mark::BitFlipped(_) => {}
            }
        }
    }

    fn measure(&mut self, frame: &Frame) {
        if self.measured.is_empty() {
            let shown = Quantity::ALL.into_iter();
            let shown = shown.filter(|(quantity, ..)| *quantity != Quantity::Time);
            self.measured.extend(shown.map(|(quantity, name, unit)| {
                let value = quantity.read(frame);
                Measured {
                    name,
                    unit,
                    quantity,
                    first: value,
                    least: value,
                    greatest: value,
                    last: value,
                }
            }));
        }
        for measured in &mut self.measured {
            let value = measured.quantity.read(frame);
            measured.least = measured.least.min(value);
            measured.greatest = measured.greatest.max(value);
            measured.last = value;
        }
    }
}
