//! The table of records in a file: written in order, continued after an interruption,
//! joined from shards.
//!
//! Line 1 is a comment that says which plan the table is of; line 2 names the columns;
//! one line for each cell follows, in the order of the plan. Only whole batches of whole
//! lines are appended, so whatever ends the process, the file holds a good beginning.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, BufWriter, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

use super::record::Record;

const MARK: &str = "# mastwright matrix: ";

/// One of several parts of a plan: every `of`-th cell from number `part` on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which part, from 1.
    pub part: usize,
    /// Of how many.
    pub of: usize,
}

impl Shard {
    /// The whole plan.
    pub const WHOLE: Self = Self { part: 1, of: 1 };

    /// How many of `cells` belong to it.
    #[must_use]
    pub const fn len(self, cells: usize) -> usize {
        (cells + self.of - self.part) / self.of
    }

    /// The plan's number of cell number `index` of the shard.
    #[must_use]
    pub const fn cell(self, index: usize) -> usize {
        index * self.of + self.part - 1
    }
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let shard = text.split_once('/').and_then(|(part, of)| {
            Some(Self {
                part: part.parse().ok()?,
                of: of.parse().ok()?,
            })
        });
        shard
            .filter(|shard| shard.part >= 1 && shard.part <= shard.of)
            .ok_or_else(|| "give K/N, such as 1/8: part K of N, K from 1 to N".to_owned())
    }
}

/// Why a table cannot be used.
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
    /// It is of another plan, seed or build.
    #[error("{path} is of another plan or build\n  it says  {found}\n  needed   {needed}", path = .path.display())]
    Other {
        /// Which file.
        path: PathBuf,
        /// What it says of itself.
        found: String,
        /// What it should say.
        needed: String,
    },
    /// A line of it is no record.
    #[error("{path}, line {line}: {why}", path = .path.display())]
    Line {
        /// Which file.
        path: PathBuf,
        /// Which line, from 1.
        line: u64,
        /// What is wrong.
        why: String,
    },
    /// The shards do not make a whole.
    #[error("{0}")]
    Shards(String),
}

/// A table being written.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    file: File,
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> Unusable {
    |error| Unusable::Io {
        path: path.to_owned(),
        error,
    }
}

fn first_line(heading: &str, shard: Shard) -> String {
    format!("{MARK}shard={}/{} {heading}", shard.part, shard.of)
}

/// The names of the columns, in order.
#[must_use]
pub fn columns() -> String {
    let names = fields(&Record::example());
    let names: Vec<String> = names.into_iter().map(|(name, _)| name).collect();
    names.join(",")
}

/// The columns of a record: name and text.
#[must_use]
pub fn fields(record: &Record) -> Vec<(String, String)> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let written = writer.serialize(record);
    debug_assert!(written.is_ok(), "a record is flat, and memory takes it");
    let bytes = writer.into_inner().unwrap_or_default();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(&bytes[..]);
    let mut rows = reader.records().flatten();
    let (names, texts) = (
        rows.next().unwrap_or_default(),
        rows.next().unwrap_or_default(),
    );
    let owned = |(name, text): (&str, &str)| (name.to_owned(), text.to_owned());
    names.iter().zip(texts.iter()).map(owned).collect()
}

impl Store {
    /// A new table.
    ///
    /// # Errors
    /// When it is there already, or cannot be written.
    pub fn create(path: &Path, heading: &str, shard: Shard) -> Result<Self, Unusable> {
        let file = OpenOptions::new().write(true).create_new(true).open(path);
        let mut file = file.map_err(|error| {
            if error.kind() == io::ErrorKind::AlreadyExists {
                Unusable::Exists(path.to_owned())
            } else {
                at(path)(error)
            }
        })?;
        let top = format!("{}\n{}\n", first_line(heading, shard), columns());
        file.write_all(top.as_bytes()).map_err(at(path))?;
        Ok(Self {
            path: path.to_owned(),
            file,
        })
    }

    /// Continues a table: drops a line that is not whole, shows every whole record to
    /// `see`, and says how many there are.
    ///
    /// # Errors
    /// When it is of another plan or build, damaged, or cannot be read or written.
    pub fn resume(
        path: &Path,
        heading: &str,
        shard: Shard,
        see: impl FnMut(Record),
    ) -> Result<(Self, usize), Unusable> {
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .open(path)
            .map_err(at(path))?;
        let whole = whole_lines(&file).map_err(at(path))?;
        file.set_len(whole).map_err(at(path))?;
        file.seek(SeekFrom::Start(0)).map_err(at(path))?;
        let (found, done) = read(path, BufReader::new(&file), see)?;
        let needed = first_line(heading, shard);
        if found != needed {
            return Err(Unusable::Other {
                path: path.to_owned(),
                found,
                needed,
            });
        }
        file.seek(SeekFrom::End(0)).map_err(at(path))?;
        let path = path.to_owned();
        Ok((Self { path, file }, done))
    }

    /// Appends records, whole lines in one write.
    ///
    /// # Errors
    /// When they cannot be written.
    pub fn append(&mut self, records: &[Record]) -> Result<(), Unusable> {
        let lines = lines(records);
        self.file.write_all(&lines).map_err(at(&self.path))
    }
}

fn lines(records: &[Record]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(Vec::new());
    for record in records {
        let written = writer.serialize(record);
        debug_assert!(written.is_ok(), "a record is flat, and memory takes it");
    }
    writer.into_inner().unwrap_or_default()
}

/// Bytes up to the end of the last whole line.
fn whole_lines(file: &File) -> io::Result<u64> {
    let mut reader = BufReader::new(file);
    let (mut whole, mut line) = (0, Vec::new());
    loop {
        line.clear();
        let read = reader.read_until(b'\n', &mut line)? as u64;
        if line.last() != Some(&b'\n') {
            return Ok(whole);
        }
        whole += read;
    }
}

/// Reads a table: its first line, and how many records it has.
fn read(
    path: &Path,
    mut reader: impl BufRead,
    mut see: impl FnMut(Record),
) -> Result<(String, usize), Unusable> {
    let mut first = String::new();
    reader.read_line(&mut first).map_err(at(path))?;
    let first = first.trim_end_matches('\n').to_owned();
    if !first.starts_with(MARK) {
        return Err(Unusable::Line {
            path: path.to_owned(),
            line: 1,
            why: "this is no table of `mastwright matrix --out`".to_owned(),
        });
    }
    let mut records = 0;
    for record in csv::Reader::from_reader(reader).deserialize() {
        see(record.map_err(|error| Unusable::Line {
            path: path.to_owned(),
            line: error.position().map_or(0, csv::Position::line) + 1,
            why: error.to_string(),
        })?);
        records += 1;
    }
    Ok((first, records))
}

/// Reads a whole table, or a shard of one, and shows every record to `see`; how many.
///
/// # Errors
/// When it cannot be read or a line of it is damaged.
pub fn read_table(path: &Path, see: impl FnMut(Record)) -> Result<usize, Unusable> {
    let file = File::open(path).map_err(at(path))?;
    read(path, BufReader::new(file), see).map(|(_, records)| records)
}

/// Joins the shards of one plan, in any order, into the table an unsplit run writes;
/// shows every record to `see`.
///
/// # Errors
/// When the shards are not all parts of one plan, each once and complete.
pub fn merge(
    shards: &[PathBuf],
    out: Option<&Path>,
    mut see: impl FnMut(Record),
) -> Result<(), Unusable> {
    let mut parts: Vec<Part> = shards
        .iter()
        .map(|path| Part::open(path))
        .collect::<Result<_, _>>()?;
    parts.sort_by_key(|part| part.shard.part);
    let heading = one_whole(&parts)?;
    let mut to: Box<dyn Write> = match out {
        None => Box::new(io::sink()),
        Some(path) => {
            let store = Store::create(path, &heading, Shard::WHOLE)?;
            Box::new(BufWriter::new(store.file))
        }
    };
    let target = out.unwrap_or_else(|| Path::new("output"));
    let (count, mut joined) = (parts.len(), 0);
    while let Some(line) = parts[joined % count].next_line()? {
        see(record_of(&line, &parts[joined % count])?);
        to.write_all(line.as_bytes()).map_err(at(target))?;
        joined += 1;
    }
    to.flush().map_err(at(target))?;
    let cells = cells_of(&heading);
    if Some(joined) != cells {
        let path = parts[joined % count].path.display();
        return Err(Unusable::Shards(format!(
            "{path} ends early: {joined} of {} cells could be joined; finish it with --resume",
            cells.unwrap_or_default()
        )));
    }
    Ok(())
}

/// A shard being read.
struct Part {
    path: PathBuf,
    shard: Shard,
    heading: String,
    reader: BufReader<File>,
    line: u64,
}

impl Part {
    fn open(path: &Path) -> Result<Self, Unusable> {
        let mut reader = BufReader::new(File::open(path).map_err(at(path))?);
        let mut first = String::new();
        reader.read_line(&mut first).map_err(at(path))?;
        let told = first.trim_end().strip_prefix(MARK).and_then(|rest| {
            let (shard, heading) = rest.strip_prefix("shard=")?.split_once(' ')?;
            Some((shard.parse().ok()?, heading.to_owned()))
        });
        let (shard, heading) = told.ok_or_else(|| Unusable::Line {
            path: path.to_owned(),
            line: 1,
            why: "this is no table of `mastwright matrix --out`".to_owned(),
        })?;
        let mut names = String::new();
        reader.read_line(&mut names).map_err(at(path))?;
        Ok(Self {
            path: path.to_owned(),
            shard,
            heading,
            reader,
            line: 2,
        })
    }

    fn next_line(&mut self) -> Result<Option<String>, Unusable> {
        let mut line = String::new();
        self.reader.read_line(&mut line).map_err(at(&self.path))?;
        self.line += 1;
        Ok(line.ends_with('\n').then_some(line))
    }
}

fn record_of(line: &str, part: &Part) -> Result<Record, Unusable> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(line.as_bytes());
    let damaged = |why: String| Unusable::Line {
        path: part.path.clone(),
        line: part.line,
        why,
    };
    match reader.deserialize().next() {
        Some(record) => record.map_err(|error: csv::Error| damaged(error.to_string())),
        None => Err(damaged("an empty line".to_owned())),
    }
}

/// The one plan that all parts are of, each once.
fn one_whole(parts: &[Part]) -> Result<String, Unusable> {
    let Some(first) = parts.first() else {
        return Err(Unusable::Shards("give the files of all shards".to_owned()));
    };
    for (number, part) in (1..).zip(parts) {
        if part.heading != first.heading || part.shard.of != first.shard.of {
            return Err(Unusable::Other {
                path: part.path.clone(),
                found: part.heading.clone(),
                needed: first.heading.clone(),
            });
        }
        if part.shard.part != number {
            let of = first.shard.of;
            return Err(Unusable::Shards(format!(
                "shard {number}/{of} is missing, or another is given twice"
            )));
        }
    }
    if parts.len() != first.shard.of {
        let (given, of) = (parts.len(), first.shard.of);
        return Err(Unusable::Shards(format!(
            "{given} shards of {of} are given"
        )));
    }
    Ok(first.heading.clone())
}

fn cells_of(heading: &str) -> Option<usize> {
    let after = heading.split_once("cells=")?.1;
    after.split(' ').next()?.parse().ok()
}
