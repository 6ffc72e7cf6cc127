//! The target's side of the link: bytes in, ticks through the real controller, bytes
//! out, and fail-safe outputs whenever the line cannot be trusted.
//!
//! Responsibilities:
//! 1. Answer every whole request with one reply of its number.
//! 2. Step the controller, its journal and its non-volatile memory as a board does.
//! 3. Hold: trouble while running puts [`Responder::drives`] into their fail-safe
//!    values until a reset. What moves again does so because it was asked to.
//!
//! Pure: no clock, no port. The board feeds it the bytes that come in, sends what comes
//! out, calls [`Responder::tick`] every 10 ms of its own time, and applies
//! [`Responder::drives`].
//!
//! How it stands, and what leads where, is told at [`Stance`].

use super::bound::BATCH;
use super::decoder::Decoder;
use super::fingerprint::fingerprint;
use super::frame::{Frame, Kind, TooLong, Writer};
use super::message::{
    Answer, Batch, Build, Memory, Ready, Refused, Reset, Restart, Stance, Trouble, Woke,
};
use super::order::Order;
use crate::config::{Config, Settings};
use crate::inputs::Inputs;
use crate::journal::{Journal, NonVolatile, Retained, SLOT_BYTES, Slot, Stamp};
use crate::outputs::{Drives, Outputs};
use crate::sequencer::Sequencer;
use crate::units::Ticks;

/// What came of a byte.
#[derive(Debug, PartialEq, Eq)]
pub enum Served<'a> {
    /// Nothing yet, or nothing that is answered.
    Nothing,
    /// These bytes are to be sent.
    Reply(&'a [u8]),
    /// The processor is to start again; non-volatile memory is already as asked.
    Restart,
}

/// What carries the controller through a tick.
pub trait Carrier {
    /// Steps the controller once with `inputs`, and carries out what it commands.
    /// `at` counts from the latest reset.
    fn step(
        &mut self,
        at: Stamp,
        sequencer: &mut Sequencer,
        inputs: &Inputs,
        config: &Config,
    ) -> Outputs;
}

/// No board: the controller by itself.
#[derive(Clone, Copy, Debug, Default)]
pub struct Alone;

impl Carrier for Alone {
    fn step(
        &mut self,
        _: Stamp,
        sequencer: &mut Sequencer,
        inputs: &Inputs,
        config: &Config,
    ) -> Outputs {
        sequencer.step(inputs, config)
    }
}

/// The target's side of the link.
#[derive(Debug)]
pub struct Responder<M: NonVolatile, C: Carrier = Alone> {
    decoder: Decoder,
    writer: Writer,
    station: Station<M, C>,
}

impl<M: NonVolatile> Responder<M> {
    /// A target that has just started, with default limits and what `memory` has kept.
    /// `build` is cut where there is no more room.
    pub fn new(memory: M, build: &str) -> Self {
        Self::on(Alone, memory, build)
    }
}

impl<M: NonVolatile, C: Carrier> Responder<M, C> {
    /// The same on a board, which carries out every tick of a batch by itself.
    pub fn on(carrier: C, memory: M, build: &str) -> Self {
        Self {
            decoder: Decoder::new(),
            writer: Writer::new(),
            station: Station::new(carrier, memory, short(build)),
        }
    }

    /// What carries the controller.
    pub const fn carrier(&mut self) -> &mut C {
        &mut self.station.carrier
    }

    /// The frame to send once at the start.
    pub fn greet(&mut self) -> &[u8] {
        match self.station.ready(0, &mut self.writer) {
            Ok(()) => self.writer.finish(),
            Err(TooLong) => &[],
        }
    }

    /// Takes one byte from the line.
    pub fn feed(&mut self, byte: u8) -> Served<'_> {
        let done = match self.decoder.feed(byte) {
            None => return Served::Nothing,
            Some(Ok(frame)) => self.station.serve(frame, &mut self.writer),
            Some(Err(trouble)) => self.station.distrust(trouble, &mut self.writer),
        };
        match done {
            Done::Silent => Served::Nothing,
            Done::Reply => Served::Reply(self.writer.finish()),
            Done::Restart => Served::Restart,
        }
    }

    /// 10 ms of the board's own time have passed.
    pub fn tick(&mut self) {
        self.station.listen(self.decoder.is_open());
    }

    /// What is to be driven now: of the latest tick while running, else fail-safe.
    #[must_use]
    pub fn drives(&self) -> Drives {
        match self.station.stance {
            Stance::Running => self.station.drives,
            Stance::Idle | Stance::Held(_) => Drives::default(),
        }
    }

    /// How it stands.
    #[must_use]
    pub const fn stance(&self) -> Stance {
        self.station.stance
    }

    /// Its non-volatile memory, for who takes power away and gives it back.
    #[must_use]
    pub fn into_memory(self) -> M {
        self.station.memory
    }
}

/// What is to be done about a request.
enum Done {
    /// Nothing is sent.
    Silent,
    /// What the writer holds is sent.
    Reply,
    /// The processor starts again.
    Restart,
}

/// Everything but the line's buffers.
#[derive(Debug)]
struct Station<M, C> {
    carrier: C,
    build: Build,
    config: Config,
    sequencer: Sequencer,
    journal: Journal,
    memory: M,
    retained: Retained,
    woke: Woke,
    stance: Stance,
    order: Order,
    /// Number of the latest request served, greetings apart.
    served: u16,
    /// Ticks stepped since the latest reset.
    tick: u32,
    drives: Drives,
    /// How long silence may last; zero for ever.
    patience: Ticks,
    /// How long it has lasted.
    silent: Ticks,
}

impl<M: NonVolatile, C: Carrier> Station<M, C> {
    fn new(carrier: C, mut memory: M, build: Build) -> Self {
        let config = Config::default();
        let (journal, recovered) = Journal::recover(&mut memory);
        Self {
            carrier,
            build,
            config,
            sequencer: Sequencer::wake(recovered.retained.faults, &config),
            journal,
            memory,
            retained: recovered.retained,
            woke: Woke::Started,
            stance: Stance::Idle,
            order: Order::default(),
            served: 0,
            tick: 0,
            drives: Drives::default(),
            patience: Ticks::ZERO,
            silent: Ticks::ZERO,
        }
    }

    /// Serves a whole frame.
    fn serve(&mut self, mut frame: Frame<'_>, writer: &mut Writer) -> Done {
        if !frame.kind.is_request() {
            // Our own voice, or another target's: it is not answered, or two ends that
            // hear themselves would never fall silent.
            self.hold(Trouble::Content);
            return Done::Silent;
        }
        let number = frame.number;
        if frame.kind == Kind::Hello {
            self.order.begin(number);
        } else if let Err(trouble) = self.order.follow(number) {
            return self.refuse(trouble, number, writer);
        }
        self.silent = Ticks::ZERO;
        if frame.kind != Kind::Hello {
            self.served = number;
        }
        match self.reply(&mut frame, writer) {
            Ok(done) => done,
            Err(trouble) => self.refuse(trouble, number, writer),
        }
    }

    fn reply(&mut self, frame: &mut Frame<'_>, writer: &mut Writer) -> Result<Done, Trouble> {
        let number = frame.number;
        match frame.kind {
            Kind::Hello => {
                frame.end()?;
                self.ready(number, writer)?;
            }
            Kind::Settings => {
                let settings: Settings = frame.take()?;
                frame.end()?;
                self.config = Config::new(settings).map_err(|_| Trouble::Settings)?;
                self.wake(Stance::Idle);
                self.ready(number, writer)?;
            }
            Kind::Reset => {
                let reset: Reset = frame.take()?;
                frame.end()?;
                if reset.memory == Memory::Blank {
                    self.blank();
                }
                match reset.restart {
                    Restart::Processor => return Ok(Done::Restart),
                    Restart::Controller => {
                        self.patience = reset.silence;
                        self.wake(Stance::Running);
                        self.ready(number, writer)?;
                    }
                }
            }
            Kind::Ticks => self.step(frame, writer)?,
            Kind::ReadRecord => {
                frame.end()?;
                self.record(number, writer)?;
            }
            Kind::Ready | Kind::Answers | Kind::Record | Kind::Refused | Kind::Crashed => {
                return Err(Trouble::Content);
            }
        }
        Ok(Done::Reply)
    }

    /// Takes away power from the controller, and gives it back.
    fn wake(&mut self, stance: Stance) {
        let (journal, recovered) = Journal::recover(&mut self.memory);
        self.journal = journal;
        self.retained = recovered.retained;
        self.sequencer = Sequencer::wake(self.retained.faults, &self.config);
        self.woke = Woke::Asked;
        self.stance = stance;
        self.tick = 0;
        self.drives = Drives::default();
        self.silent = Ticks::ZERO;
    }

    /// Erases non-volatile memory. A slot that refuses keeps what it held, and the
    /// greeting that follows tells so.
    fn blank(&mut self) {
        for slot in Slot::BOTH {
            let _ = self.memory.write(slot, &[0xFF; SLOT_BYTES]);
        }
    }

    /// Steps through a batch. It is read to its end before its first tick is stepped:
    /// one that makes no sense leaves the controller as it was.
    fn step(&mut self, frame: &mut Frame<'_>, writer: &mut Writer) -> Result<(), Trouble> {
        match self.stance {
            Stance::Running => {}
            Stance::Idle => return Err(Trouble::Unready),
            Stance::Held(trouble) => return Err(trouble),
        }
        let batch: Batch = frame.take()?;
        if usize::from(batch.count) > BATCH {
            return Err(Trouble::Content);
        }
        let mut ahead = *frame;
        for _ in 0..batch.count {
            ahead.take::<Inputs>()?;
        }
        ahead.end()?;
        if batch.first != self.tick {
            return Err(Trouble::Tick);
        }
        writer.begin(Kind::Answers, frame.number);
        writer.put(&batch)?;
        for _ in 0..batch.count {
            let inputs = frame.take()?;
            writer.put(&self.step_once(&inputs))?;
        }
        Ok(())
    }

    fn step_once(&mut self, inputs: &Inputs) -> Answer {
        let at = Stamp::new(self.tick);
        let outputs = self
            .carrier
            .step(at, &mut self.sequencer, inputs, &self.config);
        self.drives = outputs.drives;
        self.journal.note(at, &outputs);
        if self.journal.is_due() {
            // A record not kept stays due and is tried again with the next tick; the
            // record read over the link shows what was kept.
            let _ = self.journal.save(&mut self.memory);
        }
        self.tick = self.tick.saturating_add(1);
        Answer {
            outputs,
            state: fingerprint(&self.sequencer),
        }
    }

    fn ready(&self, number: u16, writer: &mut Writer) -> Result<(), TooLong> {
        writer.begin(Kind::Ready, number);
        writer.put(&Ready {
            build: self.build.clone(),
            settings: fingerprint(&self.config.settings()),
            woke: self.woke,
            stance: self.stance,
            served: self.served,
            tick: self.tick,
            retained: self.retained,
            state: fingerprint(&self.sequencer),
        })
    }

    /// Puts both slots into a frame; one that cannot be read shows as zeros.
    fn record(&mut self, number: u16, writer: &mut Writer) -> Result<(), TooLong> {
        writer.begin(Kind::Record, number);
        for slot in Slot::BOTH {
            let mut bytes = [0; SLOT_BYTES];
            if self.memory.read(slot, &mut bytes).is_err() {
                bytes = [0; SLOT_BYTES];
            }
            writer.put_bytes(&bytes)?;
        }
        Ok(())
    }

    /// Something came in that is no frame. It is answered once, when it ends a run:
    /// noise on an idle line is not worth a word.
    fn distrust(&mut self, trouble: Trouble, writer: &mut Writer) -> Done {
        match self.stance {
            Stance::Idle | Stance::Held(_) => Done::Silent,
            Stance::Running => self.refuse(trouble, self.order.last(), writer),
        }
    }

    /// Answers that a request is not served, and holds.
    fn refuse(&mut self, trouble: Trouble, number: u16, writer: &mut Writer) -> Done {
        self.hold(trouble);
        let refused = Refused {
            trouble,
            tick: self.tick,
        };
        writer.begin(Kind::Refused, number);
        match writer.put(&refused) {
            Ok(()) => Done::Reply,
            Err(TooLong) => Done::Silent,
        }
    }

    /// A run ends with its first trouble, and that is the one to be told.
    const fn hold(&mut self, trouble: Trouble) {
        match self.stance {
            Stance::Running => self.stance = Stance::Held(trouble),
            Stance::Idle | Stance::Held(_) => {}
        }
    }

    /// Counts silence. One that falls within a frame has torn it.
    fn listen(&mut self, within_frame: bool) {
        self.silent = self.silent.plus(Ticks::new(1));
        if self.patience != Ticks::ZERO && self.silent > self.patience {
            self.hold(if within_frame {
                Trouble::Torn
            } else {
                Trouble::Silence
            });
        }
    }
}

/// As much of `text` as there is room for.
fn short(text: &str) -> Build {
    let mut build = Build::new();
    for letter in text.chars() {
        if build.push(letter).is_err() {
            break;
        }
    }
    build
}
