//! Where the socket is, and that it is the owner's alone.
//!
//! The folder is its owner's alone (0700), and so is the socket (0600). Nobody else can
//! connect, and what somebody else has laid there is refused, never removed.

use std::fs::{self, DirBuilder, Metadata, Permissions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::{DirBuilderExt, FileTypeExt, MetadataExt, PermissionsExt};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};

/// Bits of a mode that say what others than the owner may do.
const OTHERS: u32 = 0o077;

/// Why there is no connection, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct Refused {
    /// Why.
    pub why: String,
    /// What to do.
    pub remedy: String,
}

fn refused(why: String, remedy: impl Into<String>) -> Refused {
    Refused {
        why,
        remedy: remedy.into(),
    }
}

/// `mastwright/trainer.sock` in the folder that the system gives its user for such things
/// (`XDG_RUNTIME_DIR`; XDG Base Directory Specification, from memory).
///
/// # Errors
/// When the system gives none.
pub fn default_path() -> Result<PathBuf, Refused> {
    let folder = std::env::var_os("XDG_RUNTIME_DIR").filter(|folder| !folder.is_empty());
    folder
        .map(|folder| Path::new(&folder).join("mastwright").join("trainer.sock"))
        .ok_or_else(|| {
            refused(
                "this system names no folder for sockets (XDG_RUNTIME_DIR is not set)".to_owned(),
                "give the same `--socket PATH` in both terminals, in a folder of your own",
            )
        })
}

/// A socket that listens, and is removed when dropped.
#[derive(Debug)]
pub(super) struct Place {
    path: PathBuf,
    /// Device and number of the file: what was laid there since is not ours to remove.
    file: (u64, u64),
}

impl Place {
    /// Makes the folder if need be, and listens.
    pub(super) fn open(path: &Path) -> Result<(Self, UnixListener), Refused> {
        let folder = folder(path);
        if !folder.exists() {
            let made = DirBuilder::new().recursive(true).mode(0o700).create(folder);
            made.map_err(|error| cannot("make the folder", folder, &error))?;
        }
        check_folder(folder)?;
        remove_stale(path)?;
        let listener = UnixListener::bind(path).map_err(|error| cannot("make", path, &error))?;
        let failed = |error: io::Error| cannot("make", path, &error);
        // Nobody can have connected before: the folder lets nobody else in.
        fs::set_permissions(path, Permissions::from_mode(0o600)).map_err(failed)?;
        listener.set_nonblocking(true).map_err(failed)?;
        let found = fs::symlink_metadata(path).map_err(failed)?;
        let place = Self {
            path: path.to_owned(),
            file: (found.dev(), found.ino()),
        };
        Ok((place, listener))
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let found = fs::symlink_metadata(&self.path);
        if found.is_ok_and(|found| (found.dev(), found.ino()) == self.file) {
            // One that stays is found stale by the next session.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// Connects to a session that listens.
pub(super) fn connect(path: &Path) -> Result<UnixStream, Refused> {
    let start = "start the trainee's session first: `mastwright cockpit SCENARIO --trainee`, \
         with the same `--socket` if one is given";
    let Some(found) = look(path)? else {
        let why = format!("no trainee's session listens at `{}`", path.display());
        return Err(refused(why, start));
    };
    check_folder(folder(path))?;
    check_socket(path, &found)?;
    UnixStream::connect(path).map_err(|error| {
        if error.kind() == ErrorKind::ConnectionRefused {
            let why = format!("the session that listened at `{}` is gone", path.display());
            refused(why, start)
        } else {
            cannot("connect to", path, &error)
        }
    })
}

fn folder(path: &Path) -> &Path {
    let parent = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    parent.unwrap_or(Path::new("."))
}

fn cannot(what: &str, path: &Path, error: &io::Error) -> Refused {
    refused(
        format!("cannot {what} `{}`: {error}", path.display()),
        "give `--socket PATH`, shorter than a hundred bytes, in a folder of your own",
    )
}

fn look(path: &Path) -> Result<Option<Metadata>, Refused> {
    match fs::symlink_metadata(path) {
        Ok(found) => Ok(Some(found)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(cannot("look at", path, &error)),
    }
}

fn is_own(found: &Metadata) -> bool {
    found.uid() == rustix::process::geteuid().as_raw()
}

fn check_folder(folder: &Path) -> Result<(), Refused> {
    let failed = |error: io::Error| cannot("look at", folder, &error);
    let found = fs::metadata(folder).map_err(failed)?;
    let name = folder.display();
    if !found.is_dir() {
        let why = format!("`{name}` is no folder");
        return Err(refused(why, "give another `--socket PATH`"));
    }
    if !is_own(&found) {
        let why = format!("the folder `{name}` is another user's");
        return Err(refused(why, "give `--socket PATH` in a folder of your own"));
    }
    if found.mode() & OTHERS != 0 {
        return Err(refused(
            format!(
                "the folder `{name}` is open to others (mode {:04o})",
                found.mode() & 0o7777
            ),
            format!("close it with `chmod 700 {name}`, or give `--socket PATH` in another"),
        ));
    }
    Ok(())
}

fn check_socket(path: &Path, found: &Metadata) -> Result<(), Refused> {
    let name = path.display();
    let another = "give another `--socket PATH`";
    if !found.file_type().is_socket() {
        return Err(refused(format!("`{name}` is no socket"), another));
    }
    if !is_own(found) {
        return Err(refused(
            format!("the socket `{name}` is another user's"),
            another,
        ));
    }
    if found.mode() & OTHERS != 0 {
        return Err(refused(
            format!("the socket `{name}` is open to others"),
            format!("it is not one that this program made: {another}"),
        ));
    }
    Ok(())
}

/// Removes a socket of ours at which nobody listens any more.
fn remove_stale(path: &Path) -> Result<(), Refused> {
    let Some(found) = look(path)? else {
        return Ok(());
    };
    check_socket(path, &found)?;
    match UnixStream::connect(path) {
        Ok(_) => Err(refused(
            format!("a session listens at `{}` already", path.display()),
            "end it, or give another `--socket PATH`",
        )),
        Err(error) if error.kind() == ErrorKind::ConnectionRefused => {
            fs::remove_file(path).map_err(|error| cannot("remove", path, &error))
        }
        Err(error) => Err(cannot("connect to", path, &error)),
    }
}
