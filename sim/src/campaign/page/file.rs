//! Writing the page: whole or not at all, and never over something else.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// How a page begins; only a file that begins so is replaced.
pub(super) const BEGINNING: &str = "<!doctype html>\n<!-- mastwright matrix: page -->\n";

/// Why a page is not made.
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
    /// Something other than a page is there already.
    #[error("{path} is there already and is no page of `mastwright matrix`: give another name", path = .0.display())]
    Other(PathBuf),
    /// A cell of the table is not one this build knows.
    #[error("{0}; the table may be of another build: fly it again with this one")]
    Cell(String),
    /// The template could not be filled.
    #[error("the page cannot be made: {0}")]
    Template(#[from] askama::Error),
}

impl Refused {
    pub(super) fn io(path: &Path) -> impl FnOnce(io::Error) -> Self {
        |error| Self::Io {
            path: path.to_owned(),
            error,
        }
    }
}

/// Refuses a path that holds something other than a page, or lies in no directory.
pub(super) fn check(path: &Path) -> Result<(), Refused> {
    let there = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return fs::metadata(directory(path))
                .map(|_| ())
                .map_err(Refused::io(directory(path)));
        }
        Err(error) => return Err(Refused::io(path)(error)),
    };
    let mut beginning = Vec::new();
    there
        .take(BEGINNING.len() as u64)
        .read_to_end(&mut beginning)
        .map_err(Refused::io(path))?;
    if beginning == BEGINNING.as_bytes() {
        Ok(())
    } else {
        Err(Refused::Other(path.to_owned()))
    }
}

/// Writes `html` beside `path`, then puts it in its place in one step.
pub(super) fn write(path: &Path, html: &str) -> Result<(), Refused> {
    check(path)?;
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    let part = path.with_file_name(name);
    let written = File::create(&part).and_then(|mut file| {
        file.write_all(html.as_bytes())?;
        file.sync_all()
    });
    let placed = written.and_then(|()| fs::rename(&part, path));
    placed.map_err(|error| {
        // What is half written is of no use to anyone.
        let _ = fs::remove_file(&part);
        Refused::io(path)(error)
    })
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

    #[test]
    fn a_page_replaces_a_page_and_nothing_else() {
        let directory =
            std::env::temp_dir().join(format!("mastwright-page-{}", std::process::id()));
        fs::create_dir_all(&directory).expect("a directory");
        let path = directory.join("page.html");
        let first = format!("{BEGINNING}one");
        write(&path, &first).expect("a new file");
        write(&path, &format!("{BEGINNING}two")).expect("over a page");
        let other = directory.join("table.csv");
        fs::write(&other, "cell,mission").expect("written");
        let refused = write(&other, &first).unwrap_err().to_string();
        assert!(refused.contains("is no page"), "{refused}");
        assert_eq!(fs::read_to_string(&other).expect("kept"), "cell,mission");
        assert!(check(&directory.join("none/page.html")).is_err());
        let left = fs::read_dir(&directory).expect("a directory").count();
        assert_eq!(left, 2, "nothing half written stays");
        fs::remove_dir_all(&directory).expect("removed");
    }
}
