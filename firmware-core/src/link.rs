//! The link: the controller asked from elsewhere, over any line that carries bytes.
//!
//! A host sends the readings of some ticks in one frame; the target steps the real
//! [`Sequencer`](crate::Sequencer) through them and answers with the outputs of each
//! tick and a [`fingerprint`](fn@fingerprint) of its state, so that both can be compared
//! tick by tick.
//!
//! Responsibilities:
//! 1. [`frame`]: what a frame is, byte by byte, and how one is written.
//! 2. [`decoder`]: from bytes, one at a time, to frames; total on any garbage, and a
//!    word for everything that is not a whole frame.
//! 3. [`order`]: whether a frame follows the one before.
//! 4. [`message`]: what frames say. [`bound`]: how long they can be.
//! 5. [`responder`]: the target's side. It answers, and holds fail-safe outputs when
//!    the line cannot be trusted.
//!
//! Every request is answered by one reply of the same number, in the same order. On a
//! serial line the next is sent when the reply has come; on the emulator, where nothing is
//! lost, the host runs ahead. Nothing is sent again: a fault of the line ends the run and
//! is told, never mended, since a run that was mended proves less than it seems to.
//!
//! The page `docs/link-protocol.md` says the same for whoever writes the other end.

pub mod bound;
pub mod decoder;
pub mod fingerprint;
pub mod frame;
pub mod message;
pub mod order;
pub mod responder;

pub use bound::{BATCH, BODY_MAX, FRAME_MAX};
pub use decoder::Decoder;
pub use fingerprint::fingerprint;
pub use frame::{Frame, Kind, VERSION, Writer};
pub use message::{
    Answer, Batch, Build, Crash, CrashReport, Memory, Ready, Refused, Reset, Restart, Stance, Text,
    Trouble, Woke,
};
pub use order::Order;
pub use responder::{Responder, Served};
