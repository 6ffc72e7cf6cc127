//! Two files as a line: the target reads the one and adds to the other, by semihosting.
//!
//! Each byte of the emulated serial port costs a turn of the emulator's main loop. Through
//! files the same frames go hundreds of bytes at a time.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// What the host adds for the target: `tests/target/src/line.rs` opens it.
const TO_TARGET: &str = "to-target";
/// What the target adds for the host.
const FROM_TARGET: &str = "from-target";

/// At the end of a file it is looked again after so long: about a tick of the target.
const AGAIN: Duration = Duration::from_micros(100);

/// Two files, each of which grows.
#[derive(Debug)]
pub(super) struct Files {
    to: File,
    from: File,
}

impl Files {
    /// Makes them in the folder in which the emulator is to run.
    ///
    /// # Errors
    /// They cannot be made.
    pub(super) fn make(folder: &Path) -> io::Result<Self> {
        let to = OpenOptions::new()
            .append(true)
            .create_new(true)
            .open(folder.join(TO_TARGET))?;
        let from = folder.join(FROM_TARGET);
        File::create_new(&from)?;
        Ok(Self {
            to,
            from: File::open(from)?,
        })
    }

    pub(super) fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.to.write_all(bytes)
    }

    /// Takes what has been added, waiting for at most `wait` as long as `is_there` holds of
    /// the other end.
    pub(super) fn receive(
        &mut self,
        into: &mut [u8],
        wait: Duration,
        mut is_there: impl FnMut() -> io::Result<()>,
    ) -> io::Result<usize> {
        let begun = Instant::now();
        loop {
            let count = self.from.read(into)?;
            if count > 0 || begun.elapsed() >= wait {
                return Ok(count);
            }
            is_there()?;
            std::thread::sleep(AGAIN);
        }
    }
}
