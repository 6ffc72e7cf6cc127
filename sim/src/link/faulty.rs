//! A line that spoils one frame on purpose, so that what is said about it can be tried.
//!
//! A wrapper around any line: the same seed spoils the same frame in the same way.

use std::collections::VecDeque;
use std::io;
use std::time::Duration;

use mastwright_core::link::frame::DELIMITER;

use super::line::Line;
use crate::rng::Rng;

/// What becomes of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spoil {
    /// It never arrives.
    Drop,
    /// It is cut short, and what is left is closed.
    Tear,
    /// It is cut short, and nothing closes it.
    TearOpen,
    /// One of its bits flips.
    Flip,
    /// It arrives twice.
    Repeat,
    /// It arrives after the other end has waited in vain once.
    Delay,
    /// Something that is no frame arrives before it.
    Foreign,
}

impl Spoil {
    /// Every kind.
    pub const ALL: [Self; 7] = [
        Self::Drop,
        Self::Tear,
        Self::TearOpen,
        Self::Flip,
        Self::Repeat,
        Self::Delay,
        Self::Foreign,
    ];
}

/// Which way frames go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the target.
    Out,
    /// From the target.
    Back,
}

/// A line that spoils one frame.
#[derive(Debug)]
pub struct Faulty<L> {
    line: L,
    way: Way,
    spoil: Spoil,
    rng: Rng,
    /// Frames that still pass before the one to be spoilt; none once it was.
    left: Option<u64>,
    /// Bytes from the target that are not yet a frame.
    open: Vec<u8>,
    /// Bytes on their way to the host.
    back: VecDeque<u8>,
    /// A frame that is held up.
    delayed: Option<Vec<u8>>,
}

impl<L: Line> Faulty<L> {
    /// Spoils, of the frames that go `way`, one of the `span` that follow the first
    /// `skipped`; which one, and where, is drawn from `seed`.
    pub fn new(line: L, way: Way, spoil: Spoil, seed: u64, skipped: u64, span: u64) -> Self {
        let mut rng = Rng::new(seed);
        let left = Some(skipped + (rng.bits() >> 16) % span.max(1));
        Self {
            line,
            way,
            spoil,
            rng,
            left,
            open: Vec::new(),
            back: VecDeque::new(),
            delayed: None,
        }
    }

    /// The line within.
    #[must_use]
    pub const fn inner(&self) -> &L {
        &self.line
    }

    /// The line within, to be changed.
    pub const fn inner_mut(&mut self) -> &mut L {
        &mut self.line
    }

    /// What becomes of a frame: the pieces that arrive now.
    fn pass(&mut self, way: Way, frame: Vec<u8>) -> Vec<u8> {
        let due = self.way == way && self.left == Some(0);
        if self.way == way {
            self.left = self.left.and_then(|left| left.checked_sub(1));
        }
        if !due {
            return frame;
        }
        // Well within the frame: its first and last few bytes are other cases.
        let middle = frame.len().saturating_sub(12).max(1) as u64;
        let place = (6 + (self.rng.bits() >> 16) % middle) as usize;
        let place = place.min(frame.len() - 2);
        match self.spoil {
            Spoil::Drop => Vec::new(),
            Spoil::Tear => [&frame[..place], &[DELIMITER]].concat(),
            Spoil::TearOpen => frame[..place].to_vec(),
            Spoil::Flip => {
                let mut flipped = frame;
                // A flip that makes a zero would tear it instead.
                flipped[place] ^= if flipped[place] == 0x10 { 0x20 } else { 0x10 };
                flipped
            }
            Spoil::Repeat => frame.repeat(2),
            Spoil::Delay => {
                self.delayed = Some(frame);
                Vec::new()
            }
            Spoil::Foreign => [&b"\0login: \0"[..], &frame].concat(),
        }
    }

    /// What was held up goes on.
    fn release(&mut self) -> io::Result<()> {
        match (self.delayed.take(), self.way) {
            (None, _) => Ok(()),
            (Some(frame), Way::Out) => self.line.send(&frame),
            (Some(frame), Way::Back) => {
                self.back.extend(frame);
                Ok(())
            }
        }
    }
}

impl<L: Line> Line for Faulty<L> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        let bytes = self.pass(Way::Out, bytes.to_vec());
        self.line.send(&bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        if self.back.is_empty() {
            let mut some = [0; 512];
            let count = self.line.receive(&mut some, wait)?;
            if count == 0 {
                self.release()?;
                return Ok(0);
            }
            for byte in &some[..count] {
                self.open.push(*byte);
                if *byte == DELIMITER && self.open.len() > 1 {
                    let frame = std::mem::take(&mut self.open);
                    let frame = self.pass(Way::Back, frame);
                    self.back.extend(frame);
                }
            }
        }
        if self.back.is_empty() {
            // All that came was kept back, or is still to become a frame.
            return self.receive(into, wait);
        }
        let count = into.len().min(self.back.len());
        for (place, byte) in into.iter_mut().zip(self.back.drain(..count)) {
            *place = byte;
        }
        Ok(count)
    }

    fn window(&self) -> usize {
        self.line.window()
    }

    fn patience(&self) -> Duration {
        self.line.patience()
    }
}
