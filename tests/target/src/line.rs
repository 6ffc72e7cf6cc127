//! The line of the link: the first serial port, or two files of the emulator's host.
//!
//! The port is what a board has. On the emulator each of its bytes costs a turn of the
//! emulator's main loop, and a long flight has millions. So a host that has long flights
//! to compare puts two files where the emulator runs; the same frames then go through
//! them by semihosting, hundreds of bytes at a time. Which way it is, is seen at the start.

use core::ffi::CStr;

use semihosting::fs::{File, OpenOptions};
use semihosting::io::{Read, Seek, SeekFrom, Write};

use crate::uart::Uart;

/// What the host adds for the target.
const TO_TARGET: &CStr = c"to-target";
/// What the target adds for the host.
const FROM_TARGET: &CStr = c"from-target";
/// So many bytes are taken from a file at once.
const AT_ONCE: usize = 512;

/// The line of the link.
#[derive(Debug)]
pub enum Line {
    /// The first serial port.
    Port,
    /// Two files.
    Files(Files),
}

/// Two files, each of which grows.
#[derive(Debug)]
pub struct Files {
    to: File,
    from: File,
    bytes: [u8; AT_ONCE],
    taken: usize,
    come: usize,
}

impl Line {
    /// The files if they are there, else the port. What was written for whoever ran
    /// before is passed over, as a port would have lost it.
    #[must_use]
    pub fn find() -> Self {
        Files::open().map_or(Self::Port, Self::Files)
    }

    /// The byte that has come in, or comes in a moment.
    #[must_use]
    pub fn read_soon(&mut self) -> Option<u8> {
        match self {
            Self::Port => Uart::LINK.read_soon(),
            Self::Files(files) => files.read(),
        }
    }

    /// Sends bytes, doing something while it waits for room.
    pub fn write_while(&mut self, bytes: &[u8], wait: impl FnMut()) {
        match self {
            Self::Port => Uart::LINK.write_while(bytes, wait),
            // A file always has room. If it is gone, so is the host.
            Self::Files(files) => _ = files.from.write_all(bytes),
        }
    }
}

impl Files {
    fn open() -> Option<Self> {
        let mut to = File::open(TO_TARGET).ok()?;
        to.seek(SeekFrom::End(0)).ok()?;
        let from = OpenOptions::new()
            .write(true)
            .append(true)
            .create(true)
            .open(FROM_TARGET)
            .ok()?;
        Some(Self {
            to,
            from,
            bytes: [0; AT_ONCE],
            taken: 0,
            come: 0,
        })
    }

    fn read(&mut self) -> Option<u8> {
        if self.taken == self.come {
            self.taken = 0;
            // At the end of the file, for now, there is nothing to read.
            self.come = self.to.read(&mut self.bytes).unwrap_or(0);
        }
        let byte = self.bytes[..self.come].get(self.taken).copied();
        self.taken += usize::from(byte.is_some());
        byte
    }
}
