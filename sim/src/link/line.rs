//! A line: whatever carries bytes to a target and back.

use std::io;
use std::time::Duration;

/// A reply that takes longer is late or lost.
pub const WAIT: Duration = Duration::from_secs(4);

/// How bytes come to an emulated board and back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Via {
    /// Over its first serial port, as on a real board.
    Port,
    /// Through two files of the host: the same frames, many times as fast.
    Files,
}

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

    /// So many requests may be under way at once. More than one only where nothing is lost
    /// while the target is busy with an earlier one.
    fn window(&self) -> usize {
        1
    }

    /// How long a reply is waited for. Where the target's time follows the host's load, a
    /// busy host must not look like a target that is silent.
    fn patience(&self) -> Duration {
        WAIT
    }
}

impl<L: Line + ?Sized> Line for &mut L {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        (**self).receive(into, wait)
    }

    fn window(&self) -> usize {
        (**self).window()
    }

    fn patience(&self) -> Duration {
        (**self).patience()
    }
}

impl<L: Line + ?Sized> Line for Box<L> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        (**self).receive(into, wait)
    }

    fn window(&self) -> usize {
        (**self).window()
    }

    fn patience(&self) -> Duration {
        (**self).patience()
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
