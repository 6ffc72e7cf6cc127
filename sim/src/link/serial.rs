//! A serial port with a board at its other end: 8 data bits, no parity, 1 stop bit.

use std::io;
use std::time::Duration;

use serialport::SerialPort;

use super::line::{Line, received};

/// Bits per second unless another speed is asked for.
pub const SPEED: u32 = 115_200;

/// A serial port.
#[derive(Debug)]
pub struct Serial {
    port: Box<dyn SerialPort>,
}

impl Serial {
    /// Opens the port of this name.
    ///
    /// # Errors
    /// There is no such port, or it cannot be used.
    pub fn open(name: &str, speed: u32) -> io::Result<Self> {
        let port = serialport::new(name, speed).open()?;
        // What came before we listened says nothing about this run.
        port.clear(serialport::ClearBuffer::Input)?;
        Ok(Self { port })
    }

    /// A port that is open already.
    #[must_use]
    pub const fn with(port: Box<dyn SerialPort>) -> Self {
        Self { port }
    }
}

impl Line for Serial {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.port.write_all(bytes)?;
        self.port.flush()
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        self.port.set_timeout(wait)?;
        received(|| self.port.read(into))
    }
}
