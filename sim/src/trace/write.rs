//! The file that is written: beside its place, and put there when it is whole.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::block::{Block, Kind};
use super::header::Header;
use super::sure::Sure;
use super::tick::Note;
use super::{BEGINNING, VERSION};
use crate::keep::{self, Refused};

/// A trace, among the kinds of files that are kept.
const TRACE: keep::Kind = keep::Kind {
    name: "trace",
    beginning: BEGINNING,
};

/// Why a trace is not kept.
#[derive(Debug, thiserror::Error)]
pub enum NotKept {
    /// There is something else at its place, or no folder to put it in.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// It could not be written.
    #[error(
        "{path}: {error}; what was written until then can be read",
        path = .part.display()
    )]
    Write {
        /// The file as far as it was written.
        part: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// The recording was given up before its end.
    #[error("{path} was given up before its end; what is in it can be read", path = .part.display())]
    BrokenOff {
        /// The file as far as it was written.
        part: PathBuf,
    },
}

/// A trace that was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Where.
    pub path: PathBuf,
    /// How many ticks.
    pub ticks: u32,
    /// How many bytes.
    pub bytes: u64,
}

/// Refuses a path at which no trace can be kept: where something else is, or in no
/// folder.
///
/// # Errors
/// As said.
pub fn check(path: &Path) -> Result<(), NotKept> {
    Ok(TRACE.check(path)?)
}

/// A trace being written.
#[derive(Debug)]
pub(super) struct Writer {
    path: PathBuf,
    part: PathBuf,
    file: File,
    sure: Sure,
    ticks: u32,
    bytes: u64,
}

impl Writer {
    /// Begins the file: at `path` with `.part` added, until it is whole.
    pub(super) fn create(path: &Path, header: &Header) -> Result<Self, NotKept> {
        TRACE.check(path)?;
        let mut name = OsString::from(path.as_os_str());
        name.push(".part");
        let part = PathBuf::from(name);
        // What lies there is a trace that came to no end, or nothing.
        TRACE.check(&part)?;
        let file = File::create(&part).map_err(Refused::io(&part))?;
        let mut writer = Self {
            path: path.to_owned(),
            part,
            file,
            sure: Sure::new(),
            ticks: 0,
            bytes: 0,
        };
        writer.write(beginning(header).as_slice())?;
        Ok(writer)
    }

    /// Adds a block of `ticks` ticks.
    pub(super) fn block(&mut self, bytes: &[u8], ticks: usize) -> Result<(), NotKept> {
        self.write(bytes)?;
        self.ticks += u32::try_from(ticks).expect("a block is short");
        Ok(())
    }

    /// Adds a note.
    pub(super) fn note(&mut self, note: &Note) -> Result<(), NotKept> {
        let payload = serde_json::to_vec(note).expect("a note is plain data");
        let block = Block {
            kind: Kind::Note,
            first: note.tick,
            ticks: 0,
            payload: &payload,
        };
        self.write(&block.bytes())
    }

    /// Ends the file and puts it in its place in one step.
    pub(super) fn finish(mut self) -> Result<Kept, NotKept> {
        let end = Block {
            kind: Kind::End,
            first: self.ticks,
            ticks: 0,
            payload: &[],
        };
        self.write(&end.bytes())?;
        let whole = self.file.sync_all();
        // Whichever of the two was told of a failure, the other may not be.
        let stretches = self.sure.finish();
        whole
            .and(stretches)
            .and_then(|()| fs::rename(&self.part, &self.path))
            .map_err(|error| self.failed(error))?;
        Ok(Kept {
            path: self.path,
            ticks: self.ticks,
            bytes: self.bytes,
        })
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), NotKept> {
        self.file
            .write_all(bytes)
            .and_then(|()| self.sure.written(&self.file, bytes.len()))
            .map_err(|error| self.failed(error))?;
        self.bytes += bytes.len() as u64;
        Ok(())
    }

    /// What is told of a file that is left as a part.
    pub(super) fn broken_off(self) -> NotKept {
        NotKept::BrokenOff { part: self.part }
    }

    fn failed(&self, error: io::Error) -> NotKept {
        NotKept::Write {
            part: self.part.clone(),
            error,
        }
    }
}

/// The first line and the header.
pub(super) fn beginning(header: &Header) -> Vec<u8> {
    let mut bytes = format!("{BEGINNING}{VERSION}\n").into_bytes();
    let payload = serde_json::to_vec(header).expect("a header is plain data");
    let block = Block {
        kind: Kind::Header,
        first: 0,
        ticks: 0,
        payload: &payload,
    };
    bytes.extend_from_slice(&block.bytes());
    bytes
}
