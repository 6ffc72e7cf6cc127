//! One frame, byte by byte.
//!
//! On the line a frame is a zero, the COBS encoding of its content (which holds no
//! zero), and a zero. The first zero parts it from garbage before it. The content:
//!
//! | offset | bytes | content |
//! |---|---|---|
//! | 0 | 2 | mark `MW` |
//! | 2 | 1 | version of this protocol, 1 |
//! | 3 | 1 | kind, see [`Kind`] |
//! | 4 | 2 | number, little-endian; a reply bears that of its request |
//! | 6 | 2 | length of the body in bytes, little-endian |
//! | 8 | n | body, in postcard |
//! | 8 + n | 4 | CRC-32/ISO-HDLC of all bytes before, little-endian |
//!
//! Mark, version and checksum stay where they are in every version to come. None of
//! the first four bytes is zero, so they can be read behind the first byte of the
//! encoding even of a frame that is cut short.

use crc::{CRC_32_ISO_HDLC, Crc};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::bound::{BODY_MAX, CONTENT_MAX, FRAME_MAX};
use super::message::Trouble;

/// Version of the protocol.
pub const VERSION: u8 = 1;
/// What every frame begins with.
pub const MARK: [u8; 2] = *b"MW";
/// What parts frames on the line.
pub const DELIMITER: u8 = 0;
/// Bytes of the content before the body.
pub const HEAD: usize = 8;
/// Bytes of the content after the body.
pub const TAIL: usize = 4;

/// CRC-32/ISO-HDLC; of `123456789` it is 0xCBF43926.
pub(super) static CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// What a frame is about: requests below 0x80, replies above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Kind {
    /// Who is there? No body. Sets the number from which requests count. Answered by
    /// [`Kind::Ready`].
    Hello,
    /// New limits: [`Settings`](crate::Settings). The controller wakes anew with them.
    /// Answered by [`Kind::Ready`].
    Settings,
    /// Power is cut and comes back: [`Reset`](super::Reset). Answered by
    /// [`Kind::Ready`], and the only way to run, also after a hold.
    Reset,
    /// Readings of some ticks: [`Batch`](super::Batch), then that many
    /// [`Inputs`](crate::Inputs). Answered by [`Kind::Answers`].
    Ticks,
    /// What does the non-volatile memory hold? No body. Answered by [`Kind::Record`].
    ReadRecord,
    /// The target is there: [`Ready`](super::Ready). Also sent unasked, with number
    /// zero, when the target has just started.
    Ready,
    /// What the controller answered: [`Batch`](super::Batch), then that many
    /// [`Answer`](super::Answer).
    Answers,
    /// Both slots of the non-volatile memory as they are, the first slot first.
    Record,
    /// The request was not served: [`Refused`](super::Refused).
    Refused,
    /// The target has crashed: [`CrashReport`](super::CrashReport). Sent unasked.
    Crashed,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 10] = [
        Self::Hello,
        Self::Settings,
        Self::Reset,
        Self::Ticks,
        Self::ReadRecord,
        Self::Ready,
        Self::Answers,
        Self::Record,
        Self::Refused,
        Self::Crashed,
    ];

    /// Its byte in the frame; never zero.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Hello => 0x01,
            Self::Settings => 0x02,
            Self::Reset => 0x03,
            Self::Ticks => 0x04,
            Self::ReadRecord => 0x05,
            Self::Ready => 0x81,
            Self::Answers => 0x84,
            Self::Record => 0x85,
            Self::Refused => 0x86,
            Self::Crashed => 0x87,
        }
    }

    /// The kind of this byte.
    #[must_use]
    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// True of what the host sends.
    #[must_use]
    pub const fn is_request(self) -> bool {
        self.code() < 0x80
    }
}

/// A whole frame that has come in, its body still to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame<'a> {
    /// What it is about.
    pub kind: Kind,
    /// Its number.
    pub number: u16,
    body: &'a [u8],
}

impl<'a> Frame<'a> {
    /// The frame of this content, or what is wrong with it.
    ///
    /// # Errors
    /// The first thing that does not hold, in the order in which it can be trusted:
    /// mark, length, checksum, version, kind.
    pub fn of(content: &'a [u8]) -> Result<Self, Trouble> {
        let mark = content.get(..2).ok_or(Trouble::Foreign)?;
        if mark != MARK {
            return Err(Trouble::Foreign);
        }
        let (before, sum) = content.split_last_chunk::<TAIL>().ok_or(Trouble::Torn)?;
        let (head, body) = before.split_first_chunk::<HEAD>().ok_or(Trouble::Torn)?;
        let [_, _, version, kind, n0, n1, l0, l1] = *head;
        let whole = CHECKSUM.checksum(before) == u32::from_le_bytes(*sum);
        let length = usize::from(u16::from_le_bytes([l0, l1]));
        if !whole {
            // The length may be what is damaged; then either word is as good.
            return Err(if body.len() < length {
                Trouble::Torn
            } else {
                Trouble::Damaged
            });
        }
        if version != VERSION {
            return Err(Trouble::Version(version));
        }
        let kind = Kind::from_code(kind).ok_or(Trouble::Content)?;
        if body.len() != length {
            return Err(Trouble::Content);
        }
        Ok(Self {
            kind,
            number: u16::from_le_bytes([n0, n1]),
            body,
        })
    }

    /// Takes the next value from the body.
    ///
    /// # Errors
    /// [`Trouble::Content`] when the body does not hold it.
    pub fn take<T: DeserializeOwned>(&mut self) -> Result<T, Trouble> {
        let (value, rest) = postcard::take_from_bytes(self.body).map_err(|_| Trouble::Content)?;
        self.body = rest;
        Ok(value)
    }

    /// Takes the next `N` bytes from the body as they are.
    ///
    /// # Errors
    /// [`Trouble::Content`] when the body does not hold so many.
    pub fn take_bytes<const N: usize>(&mut self) -> Result<[u8; N], Trouble> {
        let (bytes, rest) = self.body.split_first_chunk().ok_or(Trouble::Content)?;
        self.body = rest;
        Ok(*bytes)
    }

    /// Nothing may be left of the body.
    ///
    /// # Errors
    /// [`Trouble::Content`] when something is.
    pub const fn end(&self) -> Result<(), Trouble> {
        if self.body.is_empty() {
            Ok(())
        } else {
            Err(Trouble::Content)
        }
    }
}

/// The body has no room for what was to be put into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TooLong;

impl core::fmt::Display for TooLong {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "a frame's body holds at most {BODY_MAX} bytes")
    }
}

impl core::error::Error for TooLong {}

impl From<TooLong> for Trouble {
    fn from(_: TooLong) -> Self {
        Self::TooLong
    }
}

/// Writes frames: [`Writer::begin`], [`Writer::put`] as often as needed,
/// [`Writer::finish`].
#[derive(Clone, Debug)]
pub struct Writer {
    content: [u8; CONTENT_MAX],
    used: usize,
    line: [u8; FRAME_MAX],
}

impl Default for Writer {
    fn default() -> Self {
        Self::new()
    }
}

impl Writer {
    /// A writer with nothing begun.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            content: [0; CONTENT_MAX],
            used: HEAD,
            line: [0; FRAME_MAX],
        }
    }

    /// Begins a frame; what was begun before is dropped.
    pub fn begin(&mut self, kind: Kind, number: u16) {
        let [m0, m1] = MARK;
        let [n0, n1] = number.to_le_bytes();
        let head = [m0, m1, VERSION, kind.code(), n0, n1, 0, 0];
        if let Some(place) = self.content.first_chunk_mut() {
            *place = head;
        }
        self.used = HEAD;
    }

    /// Puts a value into the body.
    ///
    /// # Errors
    /// There is no room for it; the body stays as it was.
    pub fn put<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), TooLong> {
        let written = postcard::to_slice(value, self.room())
            .map_err(|_| TooLong)?
            .len();
        self.used = self.used.saturating_add(written);
        Ok(())
    }

    /// Puts bytes into the body as they are.
    ///
    /// # Errors
    /// There is no room for them; the body stays as it was.
    pub fn put_bytes(&mut self, bytes: &[u8]) -> Result<(), TooLong> {
        self.room()
            .get_mut(..bytes.len())
            .ok_or(TooLong)?
            .copy_from_slice(bytes);
        self.used = self.used.saturating_add(bytes.len());
        Ok(())
    }

    /// Closes the frame: its bytes for the line.
    pub fn finish(&mut self) -> &[u8] {
        let length = u16::try_from(self.used.saturating_sub(HEAD)).unwrap_or(u16::MAX);
        if let Some(place) = self.content.get_mut(HEAD.saturating_sub(2)..HEAD) {
            place.copy_from_slice(&length.to_le_bytes());
        }
        let whole = self.used.saturating_add(TAIL);
        if let Some((body, rest)) = self.content.split_at_mut_checked(self.used)
            && let Some(tail) = rest.first_chunk_mut()
        {
            *tail = CHECKSUM.checksum(body).to_le_bytes();
        }
        let encoded = match (self.content.get(..whole), self.line.get_mut(1..)) {
            (Some(content), Some(line)) => cobs::try_encode(content, line).unwrap_or(0),
            (None, _) | (_, None) => 0,
        };
        let end = encoded.saturating_add(1);
        if let Some(delimiter) = self.line.get_mut(end) {
            *delimiter = DELIMITER;
        }
        self.line.get(..end.saturating_add(1)).unwrap_or(&[])
    }

    /// What is left of the body's room.
    fn room(&mut self) -> &mut [u8] {
        self.content
            .get_mut(self.used..HEAD.saturating_add(BODY_MAX))
            .unwrap_or(&mut [])
    }
}
