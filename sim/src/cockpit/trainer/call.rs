//! The trainer's end of the line.

use std::collections::VecDeque;
use std::io::{self, ErrorKind, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::time::Duration;

use super::lines::Lines;
use super::message::{Misheard, Word, order_line, read_word};
use super::place::{self, Refused};

/// How long a session may take to accept a line before it counts as gone.
const PATIENCE: Duration = Duration::from_secs(5);

/// A connection to a trainee's session.
#[derive(Debug)]
pub struct Call {
    stream: UnixStream,
}

impl Call {
    /// Connects to the session that listens at `path`.
    ///
    /// # Errors
    /// When none listens there or the socket is not one's own, and what to do.
    pub fn connect(path: &Path) -> Result<Self, Refused> {
        let stream = place::connect(path)?;
        Ok(Self { stream })
    }

    /// Orders something; each order is answered once.
    ///
    /// # Errors
    /// When the session is gone.
    pub fn order(&mut self, order: &str) -> io::Result<()> {
        self.stream.set_write_timeout(Some(PATIENCE))?;
        self.stream.write_all(order_line(order).as_bytes())
    }

    #[cfg(test)]
    pub(super) fn write_raw(&mut self, bytes: &[u8]) {
        self.stream.write_all(bytes).expect("it listens");
    }

    /// What is answered, to be heard apart.
    ///
    /// # Errors
    /// When the system gives no second hold of the connection.
    pub fn ear(&self) -> io::Result<Ear> {
        Ok(Ear {
            stream: self.stream.try_clone()?,
            lines: Lines::default(),
            waiting: VecDeque::new(),
        })
    }
}

/// The answers of a trainee's session.
#[derive(Debug)]
pub struct Ear {
    stream: UnixStream,
    lines: Lines,
    waiting: VecDeque<Result<String, Misheard>>,
}

impl Ear {
    /// Waits for the next answer; none when the session is gone.
    pub fn hear(&mut self) -> Option<Result<Word, Misheard>> {
        let mut bytes = [0; 4096];
        loop {
            if let Some(heard) = self.waiting.pop_front() {
                return Some(heard.and_then(|line| read_word(&line)));
            }
            match self.stream.read(&mut bytes) {
                Ok(count @ 1..) => {
                    let waiting = &mut self.waiting;
                    let hear = &mut |line| waiting.push_back(line);
                    self.lines.feed(&bytes[..count], hear);
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Ok(0) | Err(_) => return None,
            }
        }
    }
}
