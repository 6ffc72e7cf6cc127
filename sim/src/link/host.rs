//! The host's side of the protocol: one request, one reply, and for everything else a
//! word that says what happened.
//!
//! Ticks may be sent ahead: some requests are then under way at once, and their replies
//! come in the same order.
//!
//! Nothing is sent again. When a reply does not come, the host waits once more, to tell
//! a late one from a lost one, and then greets the target, to learn from it whether the
//! request or the reply went astray and what the target has seen.

use std::collections::VecDeque;

use mastwright_core::Inputs;
use mastwright_core::config::Settings;
use mastwright_core::journal::SLOT_BYTES;
use mastwright_core::link::frame::TooLong;
use mastwright_core::link::{
    Answer, Batch, CrashReport, Decoder, FRAME_MAX, Frame, Kind, Ready, Refused, Reset, Stance,
    Trouble, Woke, Writer,
};

use super::line::Line;

/// So many other things are passed over while an answer to a greeting is awaited.
const HEARD: u32 = 64;

/// Both slots of the non-volatile memory.
pub type Slots = [[u8; SLOT_BYTES]; 2];

/// What happened instead of the reply that was due.
#[derive(Debug, thiserror::Error)]
pub enum What {
    /// The line itself broke.
    #[error("the line broke: {0}")]
    Line(#[from] std::io::Error),
    /// What came is no whole frame.
    #[error("what came from the target is {0}")]
    Garbled(Trouble),
    /// The reply before came again.
    #[error("repeated: the reply before came again")]
    Repeated,
    /// A reply came after its time.
    #[error("late: the reply came after its time")]
    Late,
    /// The request never reached the target.
    #[error("lost: the request never reached the target")]
    RequestLost,
    /// The target served the request; its reply never came.
    #[error("lost: the target served the request, its reply never came")]
    ReplyLost,
    /// The target does not answer even a greeting.
    #[error("the target does not answer, not even a greeting")]
    Silent,
    /// The target tells what it saw on the line.
    #[error("the target refused, and holds fail-safe outputs if it was running: {}", .0.trouble)]
    Refused(Refused),
    /// The target crashed.
    #[error("the target crashed ({crash:?} at {place:#010x}): {text}", crash = .0.crash, place = .0.place, text = .0.text)]
    Crashed(Box<CrashReport>),
    /// The target started anew by itself.
    #[error("the target started anew by itself")]
    Restarted,
    /// The target's frame is whole, and makes no sense here.
    #[error("the target's frame makes no sense here; it may be built from other sources")]
    Nonsense,
}

/// What happened, and to which frame.
#[derive(Debug, thiserror::Error)]
#[error("frame {number}: {what}")]
pub struct LinkError {
    /// The request's number.
    pub number: u16,
    /// What happened.
    pub what: What,
}

/// The host's side of the protocol.
#[derive(Debug)]
pub struct Host<L> {
    line: L,
    writer: Writer,
    decoder: Decoder,
    come: VecDeque<u8>,
    number: u16,
}

/// Ticks that are under way.
#[derive(Clone, Copy, Debug)]
pub struct Sent {
    number: u16,
    batch: Batch,
}

impl Sent {
    /// The number of their request.
    #[must_use]
    pub const fn number(&self) -> u16 {
        self.number
    }
}

impl<L: Line> Host<L> {
    /// A host at this end of `line`.
    pub const fn new(line: L) -> Self {
        Self {
            line,
            writer: Writer::new(),
            decoder: Decoder::new(),
            come: VecDeque::new(),
            number: 0,
        }
    }

    /// The line.
    #[must_use]
    pub const fn line(&self) -> &L {
        &self.line
    }

    /// The line, to be changed.
    pub const fn line_mut(&mut self) -> &mut L {
        &mut self.line
    }

    /// Takes the line back.
    pub fn into_line(self) -> L {
        self.line
    }

    /// The number of the latest request.
    #[must_use]
    pub const fn number(&self) -> u16 {
        self.number
    }

    /// Greets the target. What it said before, to whomever, is passed over: it may
    /// greet by itself when it starts.
    ///
    /// # Errors
    /// It does not answer as it should.
    pub fn hello(&mut self) -> Result<Ready, LinkError> {
        let number = self.begin(Kind::Hello);
        self.send(number)?;
        let failed = |what| LinkError { number, what };
        for _ in 0..HEARD {
            match self.hear().map_err(failed)? {
                Heard::Frame(Come::Ready(ready), of) if of == number => return Ok(*ready),
                Heard::Nothing => break,
                Heard::Frame(..) | Heard::Garbled(_) => {}
            }
        }
        Err(failed(What::Silent))
    }

    /// Gives the target other limits.
    ///
    /// # Errors
    /// It does not answer as it should.
    pub fn settings(&mut self, settings: &Settings) -> Result<Ready, LinkError> {
        self.ask(Kind::Settings, |writer| writer.put(settings), ready)
    }

    /// Takes power away from the target's controller and gives it back.
    ///
    /// # Errors
    /// It does not answer as it should.
    pub fn reset(&mut self, reset: &Reset) -> Result<Ready, LinkError> {
        self.ask(Kind::Reset, |writer| writer.put(reset), ready)
    }

    /// Has the target's controller take some ticks, at most
    /// [`BATCH`](mastwright_core::link::BATCH).
    ///
    /// # Errors
    /// It does not answer as it should.
    pub fn ticks(&mut self, first: u32, inputs: &[Inputs]) -> Result<Vec<Answer>, LinkError> {
        let sent = self.send_ticks(first, inputs)?;
        self.answers(sent)
    }

    /// Sends ticks as [`Host::ticks`] does, and does not wait for their answers.
    ///
    /// # Errors
    /// The line is broken.
    pub fn send_ticks(&mut self, first: u32, inputs: &[Inputs]) -> Result<Sent, LinkError> {
        let count = u8::try_from(inputs.len()).unwrap_or(u8::MAX);
        let batch = Batch { first, count };
        let number = self.put(Kind::Ticks, |writer| {
            writer.put(&batch)?;
            inputs.iter().try_for_each(|inputs| writer.put(inputs))
        })?;
        Ok(Sent { number, batch })
    }

    /// The answers to ticks that were sent. Each is asked for once, in the order of
    /// sending, and before anything else than ticks is asked.
    ///
    /// # Errors
    /// The target does not answer as it should.
    pub fn answers(&mut self, sent: Sent) -> Result<Vec<Answer>, LinkError> {
        self.take(sent.number, |come| {
            if let Come::Answers(of, answers) = come
                && of == sent.batch
            {
                Some(answers)
            } else {
                None
            }
        })
    }

    /// Reads the target's non-volatile memory.
    ///
    /// # Errors
    /// It does not answer as it should.
    pub fn record(&mut self) -> Result<Slots, LinkError> {
        self.ask(
            Kind::ReadRecord,
            |_| Ok(()),
            |come| {
                if let Come::Record(slots) = come {
                    Some(*slots)
                } else {
                    None
                }
            },
        )
    }

    fn begin(&mut self, kind: Kind) -> u16 {
        self.number = self.number.wrapping_add(1);
        self.writer.begin(kind, self.number);
        self.number
    }

    fn send(&mut self, number: u16) -> Result<(), LinkError> {
        self.line
            .send(self.writer.finish())
            .map_err(|error| LinkError {
                number,
                what: error.into(),
            })
    }

    /// One request and its reply.
    fn ask<T>(
        &mut self,
        kind: Kind,
        put: impl FnOnce(&mut Writer) -> Result<(), TooLong>,
        take: impl FnOnce(Come) -> Option<T>,
    ) -> Result<T, LinkError> {
        let number = self.put(kind, put)?;
        self.take(number, take)
    }

    /// Sends a request; its number.
    fn put(
        &mut self,
        kind: Kind,
        put: impl FnOnce(&mut Writer) -> Result<(), TooLong>,
    ) -> Result<u16, LinkError> {
        let number = self.begin(kind);
        put(&mut self.writer).expect("every request fits its bound");
        self.send(number)?;
        Ok(number)
    }

    /// Waits for a reply, and reads it.
    fn take<T>(
        &mut self,
        number: u16,
        take: impl FnOnce(Come) -> Option<T>,
    ) -> Result<T, LinkError> {
        let come = self
            .reply(number)
            .map_err(|what| LinkError { number, what })?;
        take(come).ok_or(LinkError {
            number,
            what: What::Nonsense,
        })
    }

    /// Waits for the reply of this number.
    fn reply(&mut self, number: u16) -> Result<Come, What> {
        match self.hear()? {
            Heard::Frame(come, of) => sort(come, of, number, self.number),
            Heard::Garbled(trouble) => Err(What::Garbled(trouble)),
            Heard::Nothing => Err(self.missing(number)?),
        }
    }

    /// What became of a reply that did not come in time.
    fn missing(&mut self, number: u16) -> Result<What, What> {
        match self.hear()? {
            Heard::Frame(come, of) => {
                return Ok(match sort(come, of, number, self.number) {
                    Ok(_) => What::Late,
                    Err(what) => what,
                });
            }
            Heard::Garbled(trouble) => return Ok(What::Garbled(trouble)),
            Heard::Nothing => {}
        }
        if self.decoder.is_open() {
            self.decoder.forget();
            return Ok(What::Garbled(Trouble::Torn));
        }
        self.inquire(number)
    }

    /// Asks the target what it has seen of a request that was not answered.
    fn inquire(&mut self, number: u16) -> Result<What, What> {
        let greeting = self.begin(Kind::Hello);
        self.line.send(self.writer.finish())?;
        for _ in 0..HEARD {
            match self.hear()? {
                Heard::Frame(Come::Refused(refused), _) => return Ok(What::Refused(refused)),
                Heard::Frame(Come::Crashed(report), _) => return Ok(What::Crashed(report)),
                Heard::Frame(Come::Ready(ready), of) if of == greeting => {
                    return Ok(fate(&ready, number));
                }
                Heard::Frame(..) | Heard::Garbled(_) => {}
                Heard::Nothing => break,
            }
        }
        Ok(What::Silent)
    }

    /// The next thing that comes.
    fn hear(&mut self) -> Result<Heard, What> {
        // However much a broken line may talk, it is not listened to for ever.
        let mut left = 4 * FRAME_MAX;
        loop {
            while let Some(byte) = self.come.pop_front() {
                match self.decoder.feed(byte) {
                    None => {}
                    Some(Err(trouble)) => return Ok(Heard::Garbled(trouble)),
                    Some(Ok(frame)) => {
                        let number = frame.number;
                        return match Come::read(frame) {
                            Ok(come) => Ok(Heard::Frame(come, number)),
                            Err(_) => Err(What::Nonsense),
                        };
                    }
                }
            }
            let mut some = [0; 512];
            let count = self.line.receive(&mut some, self.line.patience())?;
            if count == 0 {
                return Ok(Heard::Nothing);
            }
            left = left.saturating_sub(count);
            if left == 0 {
                return Ok(Heard::Garbled(Trouble::TooLong));
            }
            self.come.extend(&some[..count]);
        }
    }
}

/// What came from the line.
enum Heard {
    /// A whole frame, and its number.
    Frame(Come, u16),
    /// Something else.
    Garbled(Trouble),
    /// Nothing, for as long as is waited.
    Nothing,
}

/// A reply, read.
enum Come {
    Ready(Box<Ready>),
    Answers(Batch, Vec<Answer>),
    Record(Box<Slots>),
    Refused(Refused),
    Crashed(Box<CrashReport>),
}

impl Come {
    fn read(mut frame: Frame<'_>) -> Result<Self, Trouble> {
        let come = match frame.kind {
            Kind::Ready => Self::Ready(Box::new(frame.take()?)),
            Kind::Answers => {
                let batch: Batch = frame.take()?;
                let answers = (0..batch.count)
                    .map(|_| frame.take())
                    .collect::<Result<_, _>>()?;
                Self::Answers(batch, answers)
            }
            Kind::Record => Self::Record(Box::new([frame.take_bytes()?, frame.take_bytes()?])),
            Kind::Refused => Self::Refused(frame.take()?),
            Kind::Crashed => Self::Crashed(Box::new(frame.take()?)),
            Kind::Hello | Kind::Settings | Kind::Reset | Kind::Ticks | Kind::ReadRecord => {
                return Err(Trouble::Content);
            }
        };
        frame.end()?;
        Ok(come)
    }
}

/// Whether a whole frame is the reply awaited, when requests up to `latest` are under way.
fn sort(come: Come, of: u16, awaited: u16, latest: u16) -> Result<Come, What> {
    match come {
        Come::Refused(refused) => return Err(What::Refused(refused)),
        Come::Crashed(report) => return Err(What::Crashed(report)),
        Come::Ready(ready) if of == 0 && ready.woke == Woke::Started => {
            return Err(What::Restarted);
        }
        Come::Ready(_) | Come::Answers(..) | Come::Record(_) => {}
    }
    match awaited.wrapping_sub(of) {
        0 => Ok(come),
        // Replies come in order: the one awaited is not to come any more.
        _ if of.wrapping_sub(awaited) <= latest.wrapping_sub(awaited) => Err(What::ReplyLost),
        1 => Err(What::Repeated),
        2..0x8000 => Err(What::Late),
        0x8000.. => Err(What::Nonsense),
    }
}

/// What became of a request, from what the target says of itself afterwards.
fn fate(ready: &Ready, number: u16) -> What {
    if ready.woke == Woke::Started {
        return What::Restarted;
    }
    match ready.stance {
        // The silence is the host's own, while it waited.
        Stance::Idle | Stance::Running | Stance::Held(Trouble::Silence) => {
            // Later requests may have been under way, and served too.
            if ready.served.wrapping_sub(number) < 0x8000 {
                What::ReplyLost
            } else {
                What::RequestLost
            }
        }
        Stance::Held(trouble) => What::Refused(Refused {
            trouble,
            tick: ready.tick,
        }),
    }
}

fn ready(come: Come) -> Option<Ready> {
    match come {
        Come::Ready(ready) => Some(*ready),
        Come::Answers(..) | Come::Record(_) | Come::Refused(_) | Come::Crashed(_) => None,
    }
}
