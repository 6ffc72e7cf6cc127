//! Standard output that may close early.

use std::io::{self, ErrorKind, Write};

use miette::IntoDiagnostic;

/// A writer whose reader may leave (`mastwright run ... | head`): what is written
/// after that goes nowhere, and the run still ends with its true exit code.
#[derive(Debug)]
pub struct Patient<W> {
    to: W,
    left: bool,
}

impl<W: Write> Patient<W> {
    /// Writes to `to` for as long as someone reads.
    pub const fn new(to: W) -> Self {
        Self { to, left: false }
    }

    /// Writes out what is still held back.
    ///
    /// # Errors
    /// When it cannot be written for another reason than a reader that left.
    pub fn finish(mut self) -> miette::Result<()> {
        self.flush().into_diagnostic()
    }

    fn patiently<T>(&mut self, result: io::Result<T>, else_: T) -> io::Result<T> {
        match result {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.left = true;
                Ok(else_)
            }
            Ok(_) | Err(_) => result,
        }
    }
}

impl<W: Write> Write for Patient<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.left {
            return Ok(bytes.len());
        }
        let result = self.to.write(bytes);
        self.patiently(result, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.left {
            return Ok(());
        }
        let result = self.to.flush();
        self.patiently(result, ())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Fails(ErrorKind);

    impl Write for Fails {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Err(self.0.into())
        }
    }

    #[test]
    fn a_reader_that_left_is_no_error() {
        let mut out = Patient::new(Fails(ErrorKind::BrokenPipe));
        assert!(writeln!(out, "one").is_ok() && writeln!(out, "two").is_ok());
        assert!(out.finish().is_ok());
    }

    #[test]
    fn a_full_disk_is_an_error() {
        let mut out = Patient::new(Fails(ErrorKind::StorageFull));
        assert!(writeln!(out, "one").is_err());
    }
}
