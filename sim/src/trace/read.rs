//! A trace that is read: whole, or as far as it goes.

use std::fs;
use std::path::Path;

use super::block::{Block, HEAD, Kind, NoBlock};
use super::decode::{Layout, Part, Ticks, Undecoded};
use super::header::Header;
use super::scan::{Place, Scan};
use super::tick::{Note, Noted, Tick};
use super::trouble::{Damage, Unreadable};
use super::{BEGINNING, VERSION};
use crate::faults::Fault;

/// A trace in memory: checked through when it is opened, unpacked as it is read.
#[derive(Clone, Debug)]
pub struct Trace {
    file: String,
    bytes: Vec<u8>,
    header: Header,
    layout: Layout,
    scan: Scan,
}

impl Trace {
    /// Reads the file at `path`.
    ///
    /// # Errors
    /// When it is no trace that this program can read. Damage behind the header is no
    /// error: see [`Trace::damage`].
    pub fn open(path: &Path) -> Result<Self, Unreadable> {
        let file = path.display().to_string();
        match fs::read(path) {
            Ok(bytes) => Self::from_bytes(&file, bytes),
            Err(error) => Err(Unreadable::Io {
                file,
                error: error.to_string(),
            }),
        }
    }

    /// Reads the bytes of a file; `file` names it in errors.
    ///
    /// # Errors
    /// As [`Trace::open`].
    pub fn from_bytes(file: &str, bytes: Vec<u8>) -> Result<Self, Unreadable> {
        let file = file.to_owned();
        let offset = first_line(&file, &bytes)?;
        let (header, length) = read_header(&file, &bytes, offset)?;
        Ok(Self {
            file,
            layout: Layout::of(&header),
            header,
            scan: Scan::of(&bytes, offset + length),
            bytes,
        })
    }

    /// What stands before the ticks.
    #[must_use]
    pub const fn header(&self) -> &Header {
        &self.header
    }

    /// What it is called in messages.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// One more than the number of its last tick. In a damaged trace not all of the
    /// ticks before need be there.
    #[must_use]
    pub const fn len(&self) -> u64 {
        self.scan.len as u64
    }

    /// True when not even one tick is there.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.scan.places.is_empty()
    }

    /// Everything that is damaged, in the order of the file; empty for a whole trace.
    #[must_use]
    pub fn damage(&self) -> &[Damage] {
        &self.scan.damage
    }

    /// The columns that this build keeps and the trace does not have: an earlier build
    /// recorded it. What they hold reads as it is by default.
    #[must_use]
    pub fn missing_columns(&self) -> &[String] {
        self.layout.missing()
    }

    /// Everything noted beside the ticks, in the order in which it was noted.
    #[must_use]
    pub fn notes(&self) -> &[Note] {
        &self.scan.notes
    }

    /// The fault of this number, whether the scenario ordered it or a hand gave it.
    #[must_use]
    pub fn fault(&self, number: u32) -> Option<Fault> {
        let noted = self.scan.notes.iter().find_map(|note| match &note.noted {
            Noted::Fault { number: of, fault } if *of == number => Some(*fault),
            Noted::Fault { .. }
            | Noted::Ended { .. }
            | Noted::AllEnded
            | Noted::Deed { .. }
            | Noted::Remark { .. } => None,
        });
        noted.or_else(|| {
            let scenario = self.header.scenario().ok()?;
            let order = scenario.faults.get(number as usize)?;
            crate::join::fault(order).ok()
        })
    }

    /// The tick of this number; tick 0 is the first. Unpacks one block: some tens of
    /// microseconds. To read many, use [`Trace::ticks_from`].
    ///
    /// # Errors
    /// When there is no such tick, or it is lost or unknown to this build.
    pub fn at(&self, tick: u64) -> Result<Tick, Unreadable> {
        self.ticks_from(tick).next().unwrap_or_else(|| {
            Err(Unreadable::Beyond {
                file: self.file.clone(),
                tick,
                ticks: self.scan.len,
            })
        })
    }

    /// Every tick, in order.
    #[must_use]
    pub fn ticks(&self) -> Iter<'_> {
        self.ticks_from(0)
    }

    /// Every tick from this one on, in order. Where ticks are lost an error says which,
    /// once, and what comes after follows.
    #[must_use]
    pub fn ticks_from(&self, tick: u64) -> Iter<'_> {
        let places = &self.scan.places;
        let place = places.partition_point(|place| u64::from(place.end()) <= tick);
        Iter {
            trace: self,
            place,
            tick,
            open: None,
        }
    }

    /// The ticks of the block at `place`.
    fn unpack(&self, place: Place) -> Result<Ticks, Unreadable> {
        // Its checksum was found right when the file was opened.
        let payload = &self.bytes[place.offset + HEAD..place.offset + place.length];
        Ticks::read(&self.layout, place.first, payload)
            .and_then(|ticks| {
                if ticks.len() == place.ticks as usize {
                    Ok(ticks)
                } else {
                    Err(Undecoded::Layout)
                }
            })
            .map_err(|why| self.undecoded(place, &why))
    }

    fn undecoded(&self, place: Place, why: &Undecoded) -> Unreadable {
        let how = match why {
            Undecoded::Layout => "is not laid out as this program writes it".to_owned(),
            Undecoded::Unknown { list, name } => {
                format!("names the {list} {name}, which this program does not know")
            }
        };
        Unreadable::Block {
            file: self.file.clone(),
            offset: place.offset,
            tick: u64::from(place.first),
            how,
        }
    }
}

/// The length of the first line, if it is that of a trace this program reads.
fn first_line(file: &str, bytes: &[u8]) -> Result<usize, Unreadable> {
    let foreign = || Unreadable::Foreign {
        file: file.to_owned(),
    };
    let rest = bytes
        .strip_prefix(BEGINNING.as_bytes())
        .ok_or_else(foreign)?;
    let digits = rest
        .iter()
        .take(10)
        .take_while(|byte| byte.is_ascii_digit());
    let digits = digits.count();
    let version = std::str::from_utf8(&rest[..digits]).unwrap_or_default();
    let version: u32 = version.parse().map_err(|_| foreign())?;
    if version > VERSION {
        return Err(Unreadable::Newer {
            file: file.to_owned(),
            version,
        });
    }
    if rest.get(digits) == Some(&b'\n') {
        Ok(BEGINNING.len() + digits + 1)
    } else {
        Err(foreign())
    }
}

/// The header at `offset`, and its length.
fn read_header(file: &str, bytes: &[u8], offset: usize) -> Result<(Header, usize), Unreadable> {
    let damaged = |how: &str| Unreadable::Header {
        file: file.to_owned(),
        offset,
        how: how.to_owned(),
    };
    let block = Block::read(&bytes[offset..]).map_err(|why| match why {
        NoBlock::Cut => damaged("is cut off"),
        NoBlock::Corrupt => damaged("is corrupt"),
    })?;
    if block.kind != Kind::Header {
        return Err(damaged("is missing"));
    }
    let header: Header = serde_json::from_slice(block.payload)
        .map_err(|error| damaged(&format!("makes no sense ({error})")))?;
    Ok((header.visible(), block.len()))
}

/// The ticks of a trace, in order.
#[derive(Clone, Debug)]
pub struct Iter<'a> {
    trace: &'a Trace,
    /// The block that holds the next tick, or begins behind it.
    place: usize,
    tick: u64,
    open: Option<Ticks>,
}

impl Iterator for Iter<'_> {
    type Item = Result<Tick, Unreadable>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut tick = Tick::default();
        let read = self.read(&mut tick)?;
        Some(read.map(|()| tick))
    }
}

impl Iter<'_> {
    /// As [`Iterator::next`], into a tick that is used again: what many ticks are read
    /// with at speed. After an error the tick holds nothing of use.
    pub fn read(&mut self, tick: &mut Tick) -> Option<Result<(), Unreadable>> {
        self.read_part(Part::All, tick)
    }

    /// As [`Iter::read`], but for the truth, which is left as it is: what the controller
    /// was told and answered, at twice the speed.
    pub(super) fn read_told(&mut self, tick: &mut Tick) -> Option<Result<(), Unreadable>> {
        self.read_part(Part::Told, tick)
    }

    fn read_part(&mut self, part: Part, tick: &mut Tick) -> Option<Result<(), Unreadable>> {
        let scan = &self.trace.scan;
        let place = scan.places.get(self.place).copied();
        let first = u64::from(place.map_or(scan.len, |place| place.first));
        if self.tick < first {
            self.tick = first;
            return Some(Err(self.lost(first)));
        }
        let place = place?;
        let index = usize::try_from(self.tick - first).unwrap_or(usize::MAX);
        let end = u64::from(place.end());
        let read = self.read_row(place, index, part, tick);
        // A block that cannot be read is told once.
        self.tick = if read.is_ok() { self.tick + 1 } else { end };
        if self.tick >= end {
            self.place += 1;
            self.open = None;
        }
        Some(read)
    }

    /// All ticks that are lost before tick `to`, wherever among them reading began.
    fn lost(&self, to: u64) -> Unreadable {
        let before = self.place.checked_sub(1);
        let before = before.and_then(|before| self.trace.scan.places.get(before));
        Unreadable::Lost {
            file: self.trace.file.clone(),
            from: u64::from(before.map_or(0, |place| place.end())),
            to: to - 1,
        }
    }

    fn read_row(
        &mut self,
        place: Place,
        index: usize,
        part: Part,
        tick: &mut Tick,
    ) -> Result<(), Unreadable> {
        if !self.trace.missing_columns().is_empty() {
            *tick = Tick::default();
        }
        if self.open.is_none() {
            self.open = Some(self.trace.unpack(place)?);
        }
        let Some(ticks) = &self.open else {
            return Err(self.trace.undecoded(place, &Undecoded::Layout));
        };
        ticks
            .tick(&self.trace.layout, index, part, tick)
            .map_err(|why| self.trace.undecoded(place, &why))
    }
}
