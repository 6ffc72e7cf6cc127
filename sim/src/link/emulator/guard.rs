//! Starts a program that ends with this process, however this process ends.
//!
//! A shell stands between the two. It reads from a pipe whose other end only this process
//! holds: when that closes, because the program is no longer wanted or because this
//! process was killed, the shell kills the program and removes its folder.

use std::ffi::OsStr;
use std::io;
use std::path::Path;
use std::process::{Child, ChildStderr, ChildStdin, ChildStdout, Command, ExitStatus, Stdio};

/// The folder is the first argument, the program and its own the others.
const SHELL: &str = r#"
folder=$1
shift
exec 3<&0
"$@" </dev/null 3<&- &
program=$!
{ read -r nothing; kill -KILL "$program"; } <&3 3<&- >/dev/null 2>&1 &
guard=$!
exec 3<&-
wait "$program"
status=$?
kill "$guard" 2>/dev/null
rm -rf "$folder"
exit "$status"
"#;

/// A shell's word for a program that is not there.
const NOT_FOUND: i32 = 127;

/// A program that ends with this.
#[derive(Debug)]
pub(super) struct Guarded {
    shell: Child,
    /// Nothing is ever written: it closes.
    pipe: Option<ChildStdin>,
}

impl Guarded {
    /// Starts `program` in `folder`, which is its own.
    ///
    /// # Errors
    /// There is no shell.
    pub(super) fn start(
        program: &OsStr,
        folder: &Path,
        arguments: impl IntoIterator<Item = impl AsRef<OsStr>>,
    ) -> io::Result<Self> {
        let mut shell = Command::new("sh")
            .args(["-c", SHELL, "guard"])
            .arg(folder)
            .arg(program)
            .args(arguments)
            .current_dir(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()?;
        let pipe = shell.stdin.take();
        Ok(Self { shell, pipe })
    }

    /// What the program prints; given once.
    pub(super) const fn stdout(&mut self) -> Option<ChildStdout> {
        self.shell.stdout.take()
    }

    /// What it complains of; given once.
    pub(super) const fn stderr(&mut self) -> Option<ChildStderr> {
        self.shell.stderr.take()
    }

    /// How it has ended, if it has.
    ///
    /// # Errors
    /// The system does not tell.
    pub(super) fn ended(&mut self) -> io::Result<Option<ExitStatus>> {
        self.shell.try_wait()
    }

    /// Ends it, unless it has ended.
    pub(super) fn end(&mut self) {
        drop(self.pipe.take());
        // Its status is of no interest: it was ended.
        let _ = self.shell.wait();
    }

    /// Whether a program that ended so was never there.
    #[must_use]
    pub(super) fn was_missing(status: ExitStatus) -> bool {
        status.code() == Some(NOT_FOUND)
    }
}

impl Drop for Guarded {
    fn drop(&mut self) {
        self.end();
    }
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use super::*;

    #[test]
    fn a_program_that_would_run_for_ever_ends_with_its_guard_and_takes_its_folder_along() {
        let folder = tempfile::tempdir().expect("a folder for temporary files");
        let mut guarded = Guarded::start(
            "sh".as_ref(),
            folder.path(),
            ["-c", "echo up; exec sleep 1000"],
        )
        .expect("there is a shell");
        let mut stdout = guarded.stdout().expect("it is given once");
        let mut up = [0; 3];
        stdout.read_exact(&mut up).expect("it prints");
        assert_eq!(&up, b"up\n");
        assert!(guarded.ended().expect("it is told").is_none());
        drop(guarded);
        // Its end is that of all who could still write.
        let mut rest = Vec::new();
        stdout.read_to_end(&mut rest).expect("it can be read");
        assert_eq!(rest, b"");
        assert!(!folder.path().exists());
    }

    #[test]
    fn the_status_of_a_program_that_ends_by_itself_is_told() {
        for (program, code) in [
            ("true", Some(0)),
            ("false", Some(1)),
            ("no-such-program", Some(127)),
        ] {
            let folder = tempfile::tempdir().expect("a folder for temporary files");
            let mut guarded =
                Guarded::start(program.as_ref(), folder.path(), [""; 0]).expect("there is a shell");
            let status = loop {
                if let Some(status) = guarded.ended().expect("it is told") {
                    break status;
                }
                std::thread::sleep(std::time::Duration::from_millis(5));
            };
            assert_eq!(status.code(), code, "{program}");
            assert_eq!(Guarded::was_missing(status), code == Some(127), "{program}");
        }
    }
}
