//! A target in this process: the very code that answers on a board, with nothing
//! between. Time passes in it only while the host waits in vain, so that every run is
//! the same.

use std::collections::VecDeque;
use std::io;
use std::time::Duration;

use mastwright_core::link::{Responder, Served};
use mastwright_core::units::TICK_MS;

use super::line::Line;
use crate::memory::Memory;

/// What such a target says it is.
pub const BUILD: &str = "mastwright-core in this process";

/// A target in this process.
#[derive(Debug)]
pub struct Inline {
    target: Responder<Memory>,
    replies: VecDeque<u8>,
    window: usize,
}

impl Default for Inline {
    fn default() -> Self {
        Self::with(Memory::default())
    }
}

impl Inline {
    /// A target that starts with this content of its non-volatile memory.
    #[must_use]
    pub fn with(memory: Memory) -> Self {
        let mut target = Responder::new(memory, BUILD);
        let replies = target.greet().iter().copied().collect();
        Self {
            target,
            replies,
            window: 1,
        }
    }

    /// The same with so many requests under way at once.
    #[must_use]
    pub fn with_window(self, window: usize) -> Self {
        Self { window, ..self }
    }

    /// The target.
    #[must_use]
    pub const fn target(&self) -> &Responder<Memory> {
        &self.target
    }

    /// Lets so much of the target's time pass.
    pub fn pass(&mut self, time: Duration) {
        for _ in 0..time.as_millis() / u128::from(TICK_MS) {
            self.target.tick();
        }
    }
}

impl Line for Inline {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        for byte in bytes {
            match self.target.feed(*byte) {
                Served::Nothing => {}
                Served::Reply(reply) => self.replies.extend(reply),
                Served::Restart => {
                    let old = std::mem::replace(
                        &mut self.target,
                        Responder::new(Memory::default(), BUILD),
                    );
                    *self = Self::with(old.into_memory()).with_window(self.window);
                }
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        let count = into.len().min(self.replies.len());
        if count == 0 {
            self.pass(wait);
        }
        for (place, byte) in into.iter_mut().zip(self.replies.drain(..count)) {
            *place = byte;
        }
        Ok(count)
    }

    fn window(&self) -> usize {
        self.window
    }
}
