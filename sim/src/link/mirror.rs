//! Lock step: every tick goes to a controller here and to the target, and what they
//! answer is compared.
//!
//! The controller here is the real one, fed with the very readings that are sent. It
//! is not the one that flies: a scenario that flips a bit in the memory of the flying
//! one does not reach the target, and the comparison still holds.
//!
//! The world here does not need the target's answers to go on. Where the line allows it
//! ([`Line::window`]), it runs ahead of them by some frames; they are compared as they
//! come, and the first that differs ends the run.

use std::collections::VecDeque;
use std::time::Duration;

use mastwright_core::journal::{Journal, Stamp};
use mastwright_core::link::{Answer, BATCH, Memory as Content, Ready, Reset, Restart, fingerprint};
use mastwright_core::units::{TICK_MS, Ticks};
use mastwright_core::{Config, Faults, Inputs, Sequencer};

use super::host::{Host, LinkError, Sent, Slots};
use super::line::Line;
use crate::memory::Memory;

/// After so long without a whole frame, by its own time, the target holds: three quarters
/// of what the host waits, so that it holds already when the host gives up.
#[must_use]
pub fn silence(patience: Duration) -> Ticks {
    let ticks = patience.as_millis() * 3 / 4 / u128::from(TICK_MS);
    Ticks::new(u16::try_from(ticks).unwrap_or(u16::MAX))
}

/// What was compared, all of it equal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// What the target says it is.
    pub build: String,
    /// Fingerprint of the settings both worked with.
    pub settings: u32,
    /// Ticks whose outputs and state were compared.
    pub ticks: u64,
    /// Power cuts and returns, the first start apart.
    pub resets: u32,
    /// Frames sent.
    pub frames: u32,
}

/// The first tick in which the target answered otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The tick, counted by whoever flies.
    pub tick: u64,
    /// The number of the request's frame.
    pub frame: u16,
    /// The readings of the tick before, if it was compared.
    pub before: Option<Inputs>,
    /// The readings of the tick.
    pub inputs: Inputs,
    /// What the controller here answered.
    pub host: Answer,
    /// What the target answered.
    pub target: Answer,
}

/// Why a run in lock step ended before its time.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The target answered otherwise.
    #[error("tick {}: the target answered otherwise", .0.tick)]
    Differs(Box<Difference>),
    /// The target woke otherwise after power came back.
    #[error("before tick {tick}: after power came back the target {how}")]
    WokeOtherwise {
        /// The tick that would have been next.
        tick: u64,
        /// How.
        how: String,
    },
    /// What must outlive a power cut is not the same.
    #[error(
        "after tick {tick}: the target's non-volatile record is another, from byte {byte} of slot {slot} on"
    )]
    Record {
        /// The latest tick compared.
        tick: u64,
        /// The slot, counted from one.
        slot: usize,
        /// The byte in it.
        byte: usize,
    },
    /// The line or the target failed.
    #[error("tick {tick}: {error}")]
    Link {
        /// The first tick of those that were on their way.
        tick: u64,
        /// What happened.
        error: LinkError,
    },
}

/// A controller here and one elsewhere, in lock step.
#[derive(Debug)]
pub struct Mirror<L> {
    host: Host<L>,
    config: Config,
    sequencer: Sequencer,
    journal: Journal,
    memory: Memory,
    /// Ticks since the latest reset.
    awake: u32,
    powered: bool,
    /// Ticks that are still to be sent.
    due: Vec<Due>,
    /// Ticks that are under way, frame by frame, the oldest first.
    under_way: VecDeque<(Sent, Vec<Due>)>,
    before: Option<Inputs>,
    latest: u64,
    summary: Summary,
}

/// A tick taken here and not compared yet.
#[derive(Debug)]
struct Due {
    tick: u64,
    inputs: Inputs,
    answer: Answer,
}

impl<L: Line> Mirror<L> {
    /// Greets the target, gives it `config`, and wakes both with blank memory.
    ///
    /// # Errors
    /// The target does not answer as it should.
    pub fn begin(line: L, config: &Config) -> Result<Self, Failure> {
        let mut memory = Memory::default();
        let (journal, recovered) = Journal::recover(&mut memory);
        let mut mirror = Self {
            host: Host::new(line),
            config: *config,
            sequencer: Sequencer::wake(recovered.retained.faults, config),
            journal,
            memory,
            awake: 0,
            powered: true,
            due: Vec::with_capacity(BATCH),
            under_way: VecDeque::new(),
            before: None,
            latest: 0,
            summary: Summary {
                build: String::new(),
                settings: fingerprint(&config.settings()),
                ticks: 0,
                resets: 0,
                frames: 0,
            },
        };
        let greeted = mirror.host.hello();
        let greeted = mirror.told(0, greeted)?;
        mirror.summary.build = greeted.build.to_string();
        let set = mirror.host.settings(&config.settings());
        mirror.told(0, set)?;
        mirror.wake_target(0, Content::Blank, Faults::empty())?;
        Ok(mirror)
    }

    /// The line.
    #[must_use]
    pub const fn line(&self) -> &L {
        self.host.line()
    }

    /// The line, to be changed.
    pub const fn line_mut(&mut self) -> &mut L {
        self.host.line_mut()
    }

    /// One tick of the flight: both controllers take `inputs` if they have their
    /// supply, and wake anew when it comes back.
    ///
    /// # Errors
    /// The target answered otherwise, or not as it should; nothing more can be
    /// compared then.
    pub fn tick(&mut self, tick: u64, powered: bool, inputs: &Inputs) -> Result<(), Failure> {
        if !powered {
            self.powered = false;
            return Ok(());
        }
        if !self.powered {
            self.power_returns(tick)?;
        }
        let answer = self.step_here(inputs);
        let inputs = *inputs;
        self.due.push(Due {
            tick,
            inputs,
            answer,
        });
        if self.due.len() == BATCH {
            self.send()?;
        }
        while self.under_way.len() >= self.host.line().window() {
            self.compare_oldest()?;
        }
        Ok(())
    }

    /// Power is cut between two ticks, and comes back before the next, `tick`.
    ///
    /// # Errors
    /// As [`Mirror::tick`].
    pub fn cut_power(&mut self, tick: u64) -> Result<(), Failure> {
        self.power_returns(tick)
    }

    /// Compares what is still on its way, and the non-volatile record.
    ///
    /// # Errors
    /// As [`Mirror::tick`].
    pub fn finish(mut self) -> Result<Summary, Failure> {
        self.settle()?;
        self.compare_record()?;
        Ok(self.summary)
    }

    fn step_here(&mut self, inputs: &Inputs) -> Answer {
        let outputs = self.sequencer.step(inputs, &self.config);
        self.journal.note(Stamp::new(self.awake), &outputs);
        if self.journal.is_due() {
            // This memory takes every byte.
            let _ = self.journal.save(&mut self.memory);
        }
        self.awake += 1;
        Answer {
            outputs,
            state: fingerprint(&self.sequencer),
        }
    }

    /// Sends what is due.
    fn send(&mut self) -> Result<(), Failure> {
        let Some(first) = self.due.first() else {
            return Ok(());
        };
        let (tick, count) = (first.tick, self.due.len());
        let inputs: Vec<Inputs> = self.due.iter().map(|due| due.inputs).collect();
        let start = self.awake - u32::try_from(count).expect("a batch is short");
        let sent = self.host.send_ticks(start, &inputs);
        let sent = self.told(tick, sent)?;
        let due = std::mem::replace(&mut self.due, Vec::with_capacity(BATCH));
        self.under_way.push_back((sent, due));
        Ok(())
    }

    /// Takes the answers to the oldest frame that is under way, and compares.
    fn compare_oldest(&mut self) -> Result<(), Failure> {
        let Some((sent, due)) = self.under_way.pop_front() else {
            return Ok(());
        };
        let tick = due.first().map_or(self.latest, |due| due.tick);
        let answers = self.host.answers(sent);
        let answers = answers.map_err(|error| Failure::Link { tick, error })?;
        for (due, target) in due.into_iter().zip(answers) {
            if due.answer != target {
                return Err(Failure::Differs(Box::new(Difference {
                    tick: due.tick,
                    frame: sent.number(),
                    before: self.before,
                    inputs: due.inputs,
                    host: due.answer,
                    target,
                })));
            }
            self.before = Some(due.inputs);
            self.latest = due.tick;
            self.summary.ticks += 1;
        }
        Ok(())
    }

    /// Sends what is due, and compares everything that is under way.
    fn settle(&mut self) -> Result<(), Failure> {
        self.send()?;
        while !self.under_way.is_empty() {
            self.compare_oldest()?;
        }
        Ok(())
    }

    fn power_returns(&mut self, tick: u64) -> Result<(), Failure> {
        self.settle()?;
        self.compare_record()?;
        let (journal, recovered) = Journal::recover(&mut self.memory);
        self.journal = journal;
        self.sequencer = Sequencer::wake(recovered.retained.faults, &self.config);
        self.awake = 0;
        self.powered = true;
        self.summary.resets += 1;
        self.wake_target(tick, Content::Kept, recovered.retained.faults)
    }

    fn wake_target(&mut self, tick: u64, memory: Content, faults: Faults) -> Result<(), Failure> {
        let reset = Reset {
            memory,
            restart: Restart::Controller,
            silence: silence(self.host.line().patience()),
        };
        let woke = self.host.reset(&reset);
        let woke = self.told(tick, woke)?;
        match self.unlike(&woke, faults) {
            None => Ok(()),
            Some(how) => Err(Failure::WokeOtherwise { tick, how }),
        }
    }

    /// How the target woke otherwise than the controller here, if it did.
    fn unlike(&self, woke: &Ready, faults: Faults) -> Option<String> {
        if woke.settings != self.summary.settings {
            Some("has other settings".to_owned())
        } else if woke.retained.faults != faults {
            let theirs = woke.retained.faults;
            Some(format!("remembers the faults {theirs:?}, not {faults:?}"))
        } else if woke.state != fingerprint(&self.sequencer) {
            Some("is in another state".to_owned())
        } else {
            None
        }
    }

    fn compare_record(&mut self) -> Result<(), Failure> {
        let read = self.host.record();
        let theirs: Slots = self.told(self.latest, read)?;
        for (slot, (ours, theirs)) in self.memory.slots().iter().zip(&theirs).enumerate() {
            if let Some(byte) = ours.iter().zip(theirs).position(|(a, b)| a != b) {
                return Err(Failure::Record {
                    tick: self.latest,
                    slot: slot + 1,
                    byte,
                });
            }
        }
        Ok(())
    }

    /// Counts a frame, and says at which tick it failed if it did.
    fn told<T>(&mut self, tick: u64, told: Result<T, LinkError>) -> Result<T, Failure> {
        self.summary.frames += 1;
        told.map_err(|error| Failure::Link { tick, error })
    }
}
