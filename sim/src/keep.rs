//! Keeping a file: whole or not at all, and never over something else.
//!
//! A kind of file is known by its *beginning*, or by what else it says of itself. Only
//! such a file is replaced, and the new one is written beside the old one and put in its
//! place in one step.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Why a file is not kept.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// A file cannot be read or written.
    #[error("{path}: {error}", path = .path.display())]
    Io {
        /// Which file.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
    /// Something of another kind is there already.
    #[error("{path} is there already and is no {kind}: give another name", path = .path.display())]
    Other {
        /// Where.
        path: PathBuf,
        /// What should have been there, or nothing.
        kind: &'static str,
    },
}

impl Refused {
    /// A failure at `path`.
    pub(crate) fn io(path: &Path) -> impl FnOnce(io::Error) -> Self {
        |error| Self::Io {
            path: path.to_owned(),
            error,
        }
    }
}

/// A kind of file.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// What it is, for messages.
    pub name: &'static str,
    /// How every file of this kind begins.
    pub beginning: &'static str,
}

impl Kind {
    /// Refuses a path that holds something of another kind, or lies in no directory.
    ///
    /// # Errors
    /// As said.
    pub fn check(self, path: &Path) -> Result<(), Refused> {
        check(self.name, |file| self.is(file), path)
    }

    fn is(self, file: &mut File) -> io::Result<bool> {
        begins(file, self.beginning.as_bytes())
    }

    /// Writes `text`, which begins as the kind does, beside `path`, then puts it in its
    /// place in one step.
    ///
    /// # Errors
    /// When `path` holds something of another kind, or cannot be written.
    pub fn write(self, path: &Path, text: &str) -> Result<(), Refused> {
        debug_assert!(text.starts_with(self.beginning), "it can be replaced later");
        let is = |file: &mut File| self.is(file);
        fill(self.name, is, path, |file| {
            file.write_all(text.as_bytes()).map_err(Refused::io(path))
        })
    }
}

/// True when `file` begins so.
///
/// # Errors
/// When it cannot be read.
pub fn begins(file: &mut File, beginning: &[u8]) -> io::Result<bool> {
    let mut found = Vec::new();
    file.take(beginning.len() as u64).read_to_end(&mut found)?;
    Ok(found == beginning)
}

/// Refuses a path that holds something for which `is` does not hold, or lies in no
/// directory; `kind` is what should be there.
///
/// # Errors
/// As said.
pub fn check(
    kind: &'static str,
    is: impl FnOnce(&mut File) -> io::Result<bool>,
    path: &Path,
) -> Result<(), Refused> {
    let mut there = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return fs::metadata(directory(path))
                .map(|_| ())
                .map_err(Refused::io(directory(path)));
        }
        Err(error) => return Err(Refused::io(path)(error)),
    };
    if is(&mut there).map_err(Refused::io(path))? {
        Ok(())
    } else {
        Err(Refused::Other {
            path: path.to_owned(),
            kind,
        })
    }
}

/// Lets `fill` write a file for which `is` will hold, beside `path`, then puts it in its
/// place in one step; `kind` is what the file is.
///
/// # Errors
/// When `path` holds something of another kind or cannot be written, or `fill` fails.
pub fn fill<T, E: From<Refused>>(
    kind: &'static str,
    is: impl FnOnce(&mut File) -> io::Result<bool>,
    path: &Path,
    fill: impl FnOnce(&mut File) -> Result<T, E>,
) -> Result<T, E> {
    check(kind, is, path)?;
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    let part = path.with_file_name(name);
    let written = File::create(&part)
        .map_err(|error| E::from(Refused::io(&part)(error)))
        .and_then(|mut file| {
            let filled = fill(&mut file)?;
            file.sync_all()
                .and_then(|()| fs::rename(&part, path))
                .map_err(Refused::io(path))?;
            Ok(filled)
        });
    if written.is_err() {
        // What is half written is of no use to anyone.
        let _ = fs::remove_file(&part);
    }
    written
}

fn directory(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if parent != Path::new("") => parent,
        Some(_) | None => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Kind = Kind {
        name: "page of a test",
        beginning: "<!-- a test -->\n",
    };

    #[test]
    fn a_file_replaces_one_of_its_kind_and_nothing_else() {
        let directory =
            std::env::temp_dir().join(format!("mastwright-keep-{}", std::process::id()));
        fs::create_dir_all(&directory).expect("a directory");
        let path = directory.join("page.html");
        let page = |text: &str| format!("{}{text}", PAGE.beginning);
        PAGE.write(&path, &page("one")).expect("a new file");
        PAGE.write(&path, &page("two")).expect("over its kind");
        assert_eq!(fs::read_to_string(&path).expect("kept"), page("two"));
        let other = directory.join("table.csv");
        fs::write(&other, "cell,mission").expect("written");
        let refused = PAGE.write(&other, &page("one")).unwrap_err().to_string();
        assert!(refused.contains("is no page of a test"), "{refused}");
        assert_eq!(fs::read_to_string(&other).expect("kept"), "cell,mission");
        assert!(PAGE.check(&directory.join("none/page.html")).is_err());
        let left = fs::read_dir(&directory).expect("a directory").count();
        assert_eq!(left, 2, "nothing half written stays");
        fs::remove_dir_all(&directory).expect("removed");
    }
}
