//! The trainee's end: listens beside a session, without a thread and without waiting.

use std::collections::VecDeque;
use std::io::{ErrorKind, Read, Write};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::Path;

use super::Trainee;
use super::lines::Lines;
use super::message::{MOST, Misheard, Word, read_order, word_line};
use super::place::{Place, Refused};

/// Most orders obeyed in one go, so that a flood does not keep the picture from being drawn.
const AT_ONCE: usize = 16;
/// Most orders that wait; beyond them nothing is read.
const WAITING: usize = 64;
/// Most bytes not yet taken by a trainer; one who does not read is let go.
const UNSENT: usize = 4 * MOST;

/// A socket beside a trainee's session. Removed when dropped; the trainer is told.
#[derive(Debug)]
pub struct Post {
    place: Place,
    listener: UnixListener,
    guest: Option<Guest>,
    /// Time in the flight when it was last attended, s.
    seconds: f64,
}

/// The trainer who is there.
#[derive(Debug)]
struct Guest {
    stream: UnixStream,
    lines: Lines,
    waiting: VecDeque<Result<String, Misheard>>,
    unsent: Vec<u8>,
    gone: bool,
}

impl Post {
    /// Listens at `path`, in a folder and at a socket that are their owner's alone.
    ///
    /// # Errors
    /// When that cannot be had, why, and what to do.
    pub fn open(path: &Path) -> Result<Self, Refused> {
        let (place, listener) = Place::open(path)?;
        Ok(Self {
            place,
            listener,
            guest: None,
            seconds: 0.0,
        })
    }

    /// Where it listens.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.place.path()
    }

    /// A trainer is there.
    #[must_use]
    pub const fn has_trainer(&self) -> bool {
        self.guest.is_some()
    }

    /// Lets a trainer in, hears what is ordered, and answers; returns at once.
    pub fn attend(&mut self, trainee: &mut dyn Trainee) {
        self.seconds = trainee.flown().frame().seconds();
        self.receive(trainee);
        let Some(guest) = &mut self.guest else { return };
        guest.listen();
        for _ in 0..AT_ONCE {
            let Some(heard) = guest.waiting.pop_front() else {
                break;
            };
            let word = match heard.and_then(|line| read_order(&line)) {
                Ok(order) => trainee.heed(&order),
                Err(misheard) => Word::Refused {
                    remedy: misheard.remedy().to_owned(),
                    why: misheard.to_string(),
                },
            };
            guest.say(&word);
        }
        guest.send();
        if guest.gone && guest.waiting.is_empty() {
            self.guest = None;
        }
    }

    /// Lets in whoever comes first, and tells the others.
    fn receive(&mut self, trainee: &dyn Trainee) {
        while let Ok((stream, _)) = self.listener.accept() {
            if stream.set_nonblocking(true).is_err() {
                continue;
            }
            let mut guest = Guest {
                stream,
                lines: Lines::default(),
                waiting: VecDeque::new(),
                unsent: Vec::new(),
                gone: false,
            };
            if self.guest.is_some() {
                guest.say(&Word::Engaged);
                guest.send();
                continue;
            }
            let desk = trainee.flown();
            guest.say(&Word::Welcome {
                scenario: desk.scenario().name.clone(),
                seed: desk.seed(),
                seconds: self.seconds,
            });
            self.guest = Some(guest);
        }
    }
}

impl Drop for Post {
    fn drop(&mut self) {
        if let Some(guest) = &mut self.guest {
            guest.say(&Word::Over {
                seconds: self.seconds,
            });
            guest.send();
        }
    }
}

impl Guest {
    /// Reads what has come.
    fn listen(&mut self) {
        let mut bytes = [0; 1024];
        while !self.gone && self.waiting.len() < WAITING {
            match self.stream.read(&mut bytes) {
                Ok(0) => self.gone = true,
                Ok(count) => {
                    let waiting = &mut self.waiting;
                    let hear = &mut |line| waiting.push_back(line);
                    self.lines.feed(&bytes[..count], hear);
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) if error.kind() == ErrorKind::WouldBlock => return,
                Err(_) => self.gone = true,
            }
        }
    }

    fn say(&mut self, word: &Word) {
        self.unsent.extend(word_line(word).as_bytes());
    }

    /// Writes what can be written.
    fn send(&mut self) {
        while !self.unsent.is_empty() {
            match self.stream.write(&self.unsent) {
                Ok(count @ 1..) => drop(self.unsent.drain(..count)),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    if self.unsent.len() > UNSENT {
                        self.leave();
                    }
                    return;
                }
                Ok(0) | Err(_) => return self.leave(),
            }
        }
    }

    /// Whoever takes no answer is gone; what was ordered before is still obeyed.
    fn leave(&mut self) {
        self.unsent.clear();
        self.gone = true;
    }
}
