//! The line of the link: the first serial port, or two files of the emulator's host.
//!
//! The port is what a board has. On the emulator each of its bytes costs a turn of the
//! emulator's main loop, and a long flight has millions. So a host that has long flights
//! to compare puts two files where the emulator runs; the same frames then go through
//! them by semihosting, hundreds of bytes at a time. Which way it is, is seen at the start.

use core::ffi::CStr;
use core::sync::atomic::{AtomicU32, Ordering};

use semihosting::fs::{File, OpenOptions};
use semihosting::io::{Read, Seek, SeekFrom, Write};

use crate::uart::Uart;

/// What the host adds for the target.
const TO_TARGET: &CStr = c"to-target";
/// What the target adds for the host.
const FROM_TARGET: &CStr = c"from-target";
/// So many bytes are taken from a file at once.
const AT_ONCE: usize = 512;
/// How often it is looked for more before it is slept for: some milliseconds, well within
/// the watchdog's time. A host that answers at once is not overslept so.
const LOOKS: u32 = 400;

/// Bytes taken so far. It outlives a reset, and is zero at the emulator's start: what the
/// host adds while the processor starts anew is not lost, as on a line with a buffer.
#[unsafe(link_section = ".uninit.taken")]
static TAKEN: AtomicU32 = AtomicU32::new(0);

/// The line of the link: two files, or without them the first serial port.
#[derive(Debug)]
pub struct Line(Option<Files>);

/// Two files, each of which grows.
#[derive(Debug)]
struct Files {
    to: File,
    from: File,
    bytes: [u8; AT_ONCE],
    taken: usize,
    come: usize,
}

impl Line {
    /// The files if they are there, else the port.
    #[must_use]
    pub fn find() -> Self {
        Self(Files::open())
    }

    /// The byte that has come in, or comes in a moment.
    #[must_use]
    pub fn read_soon(&mut self) -> Option<u8> {
        match &mut self.0 {
            None => Uart::LINK.read_soon(),
            Some(files) => files.read(),
        }
    }

    /// Sends bytes, doing something while it waits for room.
    pub fn write_while(&mut self, bytes: &[u8], wait: impl FnMut()) {
        match &mut self.0 {
            None => Uart::LINK.write_while(bytes, wait),
            // A file always has room. If it is gone, so is the host.
            Some(files) => _ = files.from.write_all(bytes),
        }
    }
}

impl Files {
    fn open() -> Option<Self> {
        let mut to = File::open(TO_TARGET).ok()?;
        to.seek(SeekFrom::Start(TAKEN.load(Ordering::Relaxed).into()))
            .ok()?;
        let mut from = OpenOptions::new()
            .write(true)
            .append(true)
            .create(true)
            .open(FROM_TARGET)
            .ok()?;
        // The emulator opens it to append, and yet writes from the beginning: after a
        // reset, over what the host has long read.
        from.seek(SeekFrom::End(0)).ok()?;
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
            let mut looks = (0..LOOKS).map(|_| self.to.read(&mut self.bytes).unwrap_or(0));
            self.come = looks.find(|&come| come > 0).unwrap_or(0);
        }
        let byte = self.bytes[..self.come].get(self.taken).copied();
        if byte.is_some() {
            self.taken += 1;
            TAKEN.fetch_add(1, Ordering::Relaxed);
        }
        byte
    }
}
