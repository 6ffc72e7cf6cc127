//! A line: whatever carries bytes to a target and back.

use std::io;
use std::time::Duration;

/// Carries bytes to a target and back.
pub trait Line {
    /// Sends all of `bytes`.
    ///
    /// # Errors
    /// The line is broken.
    fn send(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Takes what has come into `into`, waiting for at most `wait`; how many bytes.
    /// None means that nothing came for so long.
    ///
    /// # Errors
    /// The line is broken.
    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize>;
}

impl<L: Line + ?Sized> Line for &mut L {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        (**self).receive(into, wait)
    }
}

impl<L: Line + ?Sized> Line for Box<L> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        (**self).receive(into, wait)
    }
}

/// What a stream's read means for a line: a time-out is nothing, an end is an error. One
/// that a signal interrupts is done again, or a signal would look like silence.
pub(super) fn received(mut read: impl FnMut() -> io::Result<usize>) -> io::Result<usize> {
    let read = loop {
        match read() {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            done => break done,
        }
    };
    match read {
        Ok(0) => Err(io::Error::new(
            io::ErrorKind::UnexpectedEof,
            "the other end has closed the line",
        )),
        Ok(count) => Ok(count),
        Err(error)
            if matches!(
                error.kind(),
                io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut
            ) =>
        {
            Ok(0)
        }
        Err(error) => Err(error),
    }
}
