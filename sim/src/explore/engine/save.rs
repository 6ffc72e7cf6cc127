//! The file of complete levels: what an interrupted exploration goes on from.
//!
//! A heading, then one section for each level, appended when the level is complete. Each
//! ends with a checksum; whatever ends the process, the file holds a good beginning, and
//! what follows it is cut off and explored again. All numbers are little-endian.
//!
//! ```text
//! heading  mark and version (8 bytes), length of the text, text (what the space is of,
//!          in UTF-8), bytes of a state, checksum
//! section  length of the counters, number of entries, counters (all that was counted
//!          before this level was expanded), entries (in order), checksum
//! entry    a state, the bits of the variants it was first reached in at this level
//!          (8 bytes)
//! ```

use std::fs::{self, OpenOptions};
use std::io::{self, BufReader, BufWriter, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crc::{CRC_64_XZ, Crc, Digest, Table};
use serde::{Deserialize, Serialize};

use super::found::Broken;
use super::space::{Packed, Tally};
use super::variants::Variants;

/// What the file begins with; the last byte is the version of its layout.
const MARK: [u8; 8] = *b"MWSPACE\x02";
static CHECK: Crc<u64, Table<16>> = Crc::<u64, Table<16>>::new(&CRC_64_XZ);
/// Entries of a file that are converted at once.
const CHUNK: usize = 4096;
/// Bytes of the variants of an entry.
const BITS: usize = size_of::<u64>();

/// Why a file of levels cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum Unusable {
    /// It cannot be read or written.
    #[error("{path}: {error}", path = .path.display())]
    Io {
        /// Which file.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// It is there already.
    #[error("{path} is there already: continue it with --resume, or give another name", path = .0.display())]
    Exists(PathBuf),
    /// It is no file of levels, or one of another version.
    #[error("{path} holds no exploration that this version can continue: give another name", path = .0.display())]
    Foreign(PathBuf),
    /// It is of another space: another build, other settings.
    #[error("{path} is of another exploration or build\n  it says  {found}\n  needed   {needed}", path = .path.display())]
    Other {
        /// Which file.
        path: PathBuf,
        /// What it says of itself.
        found: String,
        /// What it should say.
        needed: String,
    },
}

/// All that is counted up to a level.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(bound = "T: Tally")]
pub(super) struct Counters<T> {
    pub(super) transitions: u64,
    pub(super) broken: Broken,
    pub(super) tally: T,
}

/// A file of levels, open at its end.
#[derive(Debug)]
pub(super) struct File {
    path: PathBuf,
    to: BufWriter<fs::File>,
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> Unusable {
    |error| Unusable::Io {
        path: path.to_owned(),
        error,
    }
}

impl File {
    /// A new file, for states of type `P` of the space that `of` names.
    pub(super) fn create<P: Packed>(path: &Path, of: &str) -> Result<Self, Unusable> {
        let file = OpenOptions::new().write(true).create_new(true).open(path);
        let file = file.map_err(|error| match error.kind() == ErrorKind::AlreadyExists {
            true => Unusable::Exists(path.to_owned()),
            false => at(path)(error),
        })?;
        let mut file = Self {
            path: path.to_owned(),
            to: BufWriter::new(file),
        };
        file.write(|to| {
            to.put(&MARK)?;
            to.put(&(of.len() as u64).to_le_bytes())?;
            to.put(of.as_bytes())?;
            to.put(&(width::<P>() as u64).to_le_bytes())
        })?;
        Ok(file)
    }

    /// Continues a file: shows every whole level to `see`, cuts off what follows, and
    /// says how many bytes that was.
    pub(super) fn resume<P: Packed, T: Tally>(
        path: &Path,
        of: &str,
        mut see: impl FnMut(Counters<T>, &[(P, Variants)]),
    ) -> Result<(Self, u64), Unusable> {
        let file = OpenOptions::new().read(true).write(true).open(path);
        let file = file.map_err(at(path))?;
        let all = file.metadata().map_err(at(path))?.len();
        let mut from = Checked::new(BufReader::with_capacity(1 << 20, &file), all);
        let found = heading::<P>(&mut from).map_err(at(path))?;
        match found {
            None => return Err(Unusable::Foreign(path.to_owned())),
            Some(found) if found != of => {
                return Err(Unusable::Other {
                    path: path.to_owned(),
                    found,
                    needed: of.to_owned(),
                });
            }
            Some(_) => {}
        }
        let mut whole = all - from.left;
        while let Some((counters, entries)) = section(&mut from).map_err(at(path))? {
            see(counters, &entries);
            whole = all - from.left;
        }
        file.set_len(whole).map_err(at(path))?;
        let mut to = BufWriter::new(file);
        to.seek(SeekFrom::End(0)).map_err(at(path))?;
        let path = path.to_owned();
        Ok((Self { path, to }, all - whole))
    }

    /// Appends a level.
    pub(super) fn append<P: Packed, T: Tally>(
        &mut self,
        counters: &Counters<T>,
        entries: &[(P, Variants)],
    ) -> Result<(), Unusable> {
        let counters = postcard::to_allocvec(counters).map_err(io::Error::other);
        let counters = counters.map_err(at(&self.path))?;
        self.write(|to| {
            to.put(&(counters.len() as u64).to_le_bytes())?;
            to.put(&(entries.len() as u64).to_le_bytes())?;
            to.put(&counters)?;
            let mut bytes = Vec::with_capacity(CHUNK * (width::<P>() + BITS));
            for chunk in entries.chunks(CHUNK) {
                bytes.clear();
                for (state, variants) in chunk {
                    bytes.extend_from_slice(state.to_bytes().as_ref());
                    bytes.extend_from_slice(&variants.bits().to_le_bytes());
                }
                to.put(&bytes)?;
            }
            Ok(())
        })
    }

    /// Writes something and its checksum, through to the file.
    fn write(
        &mut self,
        what: impl FnOnce(&mut Checking<'_>) -> io::Result<()>,
    ) -> Result<(), Unusable> {
        let mut checking = Checking {
            to: &mut self.to,
            digest: CHECK.digest(),
        };
        let written = what(&mut checking).and_then(|()| checking.finish());
        written.map_err(at(&self.path))
    }
}

/// A writer that sums up what passes.
struct Checking<'a> {
    to: &'a mut BufWriter<fs::File>,
    digest: Digest<'static, u64, Table<16>>,
}

impl Checking<'_> {
    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.digest.update(bytes);
        self.to.write_all(bytes)
    }

    fn finish(self) -> io::Result<()> {
        self.to.write_all(&self.digest.finalize().to_le_bytes())?;
        self.to.flush()
    }
}

/// A reader that sums up what passes, and knows how much there is: no length in a damaged
/// file makes it ask for more.
struct Checked<R> {
    from: R,
    left: u64,
    digest: Digest<'static, u64, Table<16>>,
}

impl<R: Read> Checked<R> {
    fn new(from: R, left: u64) -> Self {
        let digest = CHECK.digest();
        Self { from, left, digest }
    }

    /// So many bytes; nothing if there are not so many.
    fn take(&mut self, bytes: u64) -> io::Result<Option<Vec<u8>>> {
        let Some(left) = self.left.checked_sub(bytes) else {
            return Ok(None);
        };
        let mut taken = vec![0; usize::try_from(bytes).map_err(io::Error::other)?];
        self.from.read_exact(&mut taken)?;
        self.left = left;
        self.digest.update(&taken);
        Ok(Some(taken))
    }

    fn number(&mut self) -> io::Result<Option<u64>> {
        let bytes = self.take(8)?;
        Ok(bytes.and_then(|bytes| Some(u64::from_le_bytes(bytes.try_into().ok()?))))
    }

    /// Whether the checksum that follows is that of what was taken since the last.
    fn right(&mut self) -> io::Result<bool> {
        let sum = std::mem::replace(&mut self.digest, CHECK.digest()).finalize();
        let right = self.number()? == Some(sum);
        self.digest = CHECK.digest();
        Ok(right)
    }
}

/// Bytes of a state in the file; its array may hold more.
fn width<P: Packed>() -> usize {
    P::Bytes::default().as_ref().len()
}

/// The text of a heading; nothing if it is none of ours.
fn heading<P: Packed>(from: &mut Checked<impl Read>) -> io::Result<Option<String>> {
    let marked = from.take(8)?.is_some_and(|mark| mark == MARK);
    if !marked {
        return Ok(None);
    }
    let length = from.number()?.unwrap_or(u64::MAX);
    let Some(text) = from.take(length)? else {
        return Ok(None);
    };
    let wide = from.number()? == Some(width::<P>() as u64);
    Ok((from.right()? && wide).then(|| String::from_utf8_lossy(&text).into_owned()))
}

/// The counters and the entries of a level.
type Section<P, T> = (Counters<T>, Vec<(P, Variants)>);

/// A section; nothing if what is left is none, or a damaged one.
fn section<P: Packed, T: Tally>(
    from: &mut Checked<impl Read>,
) -> io::Result<Option<Section<P, T>>> {
    let (Some(length), Some(count)) = (from.number()?, from.number()?) else {
        return Ok(None);
    };
    let Some(counters) = from.take(length)? else {
        return Ok(None);
    };
    let width = (width::<P>() + BITS) as u64;
    if count
        .checked_mul(width)
        .is_none_or(|bytes| bytes > from.left)
    {
        return Ok(None);
    }
    let mut entries = Vec::with_capacity(count as usize);
    while (entries.len() as u64) < count {
        let more = (count - entries.len() as u64).min(CHUNK as u64);
        let Some(bytes) = from.take(more * width)? else {
            return Ok(None);
        };
        entries.extend(bytes.chunks_exact(width as usize).map(entry));
    }
    if !from.right()? {
        return Ok(None);
    }
    Ok(postcard::from_bytes(&counters)
        .ok()
        .map(|counters| (counters, entries)))
}

/// An entry of its bytes.
fn entry<P: Packed>(bytes: &[u8]) -> (P, Variants) {
    let (state, variants) = bytes.split_at(width::<P>());
    let (mut packed, mut bits) = (P::Bytes::default(), [0; BITS]);
    packed.as_mut().copy_from_slice(state);
    bits.copy_from_slice(variants);
    let variants = Variants::from_bits(u64::from_le_bytes(bits));
    (P::from_bytes(&packed), variants)
}
