//! An emulated board: the emulator runs the image of the target, and its first serial
//! port is the line.
//!
//! The emulator is a program of its own, started here and ended with this line. What
//! the image logs comes out of its standard output and is kept for whoever decodes it.

use std::ffi::{OsStr, OsString};
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::line::{Line, received};

/// The emulator's command.
pub const COMMAND: &str = "qemu-system-arm";
/// The environment may name another file of the emulator.
const OTHER: &str = "MASTWRIGHT_EMULATOR";
/// The emulated board, with a Cortex-M4F.
pub const BOARD: &str = "mps2-an386";

/// The emulated clock follows the instructions executed, and real time only while the
/// processor sleeps: a busy host must not look like a program that stalls.
///
/// An instruction takes 2^7 ns. The board's timer counts 40 ns, so that it tells one
/// instruction from two, and the image can count them; and the longest step still ends
/// well within its tick of 10 ms, which is 78,125 instructions. Every flight has this
/// clock, whoever starts it: then what a test has shown holds for the command too.
pub const CLOCK: &str = "shift=7";

/// The multiplexer of the emulator keeps some bytes for a serial port that takes them one
/// by one: else each would cost a turn of the emulator's main loop, six times as much.
/// Its escape character would be taken from the line; there is none of this number.
const NO_ESCAPE: [&str; 2] = ["-echr", "256"];

/// The emulator opens its end of the line, and the image says its first byte, within this
/// time.
const OPENS: Duration = Duration::from_secs(20);

/// Why there is no emulated board.
#[derive(Debug, thiserror::Error)]
pub enum Unavailable {
    /// The image is not there.
    #[error("the image `{0}` of the target cannot be read: {1}")]
    Image(String, io::Error),
    /// The emulator is not installed.
    #[error("`{COMMAND}` is not installed")]
    Emulator,
    /// The emulator cannot be started.
    #[error("`{COMMAND}` cannot be started: {0}")]
    Start(io::Error),
    /// The emulator ended at once.
    #[error("`{COMMAND}` ended at once: {0}")]
    Ended(String),
    /// The emulator does not open its end of the line.
    #[error("`{COMMAND}` did not open its serial port in {} s", OPENS.as_secs())]
    Closed,
    /// The image says nothing.
    #[error("the image `{0}` says nothing on its serial port: {1}")]
    Mute(String, io::Error),
}

impl Unavailable {
    /// What to do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::Image(..) | Self::Mute(..) => {
                "build the image of the target with `cargo run --release -p mastwright-tests \
                 --bin target -- prepare`, and name its file with `--image FILE` or in the \
                 environment as MASTWRIGHT_IMAGE"
            }
            Self::Emulator => {
                "install it (Debian: `apt-get install qemu-system-arm`), or use a board: \
                 `--on serial:PORT`"
            }
            Self::Start(_) | Self::Ended(_) | Self::Closed => {
                "try the emulator by hand, as docs/link-protocol.md shows"
            }
        }
    }
}

/// An emulated board.
#[derive(Debug)]
pub struct Emulator {
    child: Child,
    stream: UnixStream,
    /// The first byte of the image's greeting, until it is taken.
    first: Option<u8>,
    log: Log,
    reader: Option<JoinHandle<()>>,
    /// Where the socket lies; goes with the line.
    _folder: tempfile::TempDir,
}

impl Emulator {
    /// Starts the emulator with this image: the one that the environment names, or the
    /// one that is installed.
    ///
    /// # Errors
    /// Image or emulator are not there, or it does not start.
    pub fn start(image: &Path) -> Result<Self, Unavailable> {
        let command = std::env::var_os(OTHER).unwrap_or_else(|| COMMAND.into());
        let mut emulator = Self::start_by(&command, image, &[])?;
        emulator.await_greeting(image)?;
        Ok(emulator)
    }

    /// Starts the emulator by this command. `more` is handed on to it, such as a second
    /// serial port.
    ///
    /// # Errors
    /// As [`Emulator::start`].
    pub fn start_by(command: &OsStr, image: &Path, more: &[OsString]) -> Result<Self, Unavailable> {
        std::fs::File::open(image)
            .map_err(|error| Unavailable::Image(image.display().to_string(), error))?;
        let folder = tempfile::Builder::new()
            .prefix("mastwright-")
            .tempdir()
            .map_err(Unavailable::Start)?;
        let socket = folder.path().join("line");
        let mut child = Command::new(command)
            .args(["-M", BOARD, "-display", "none", "-monitor", "none"])
            .args(["-icount", CLOCK])
            .args(["-semihosting-config", "enable=on,target=native"])
            .arg("-chardev")
            .arg(format!(
                "socket,id=line,path={},server=on,wait=on,mux=on",
                socket.display()
            ))
            .args(["-serial", "chardev:line"])
            .args(NO_ESCAPE)
            .args(more)
            .arg("-kernel")
            .arg(image)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|error| {
                if error.kind() == io::ErrorKind::NotFound {
                    Unavailable::Emulator
                } else {
                    Unavailable::Start(error)
                }
            })?;
        let stream = match connect(&mut child, &socket) {
            Ok(stream) => stream,
            Err(unavailable) => {
                end(&mut child);
                return Err(unavailable);
            }
        };
        let log = Log::default();
        let reader = child.stdout.take().map(|stdout| {
            let log = log.clone();
            std::thread::spawn(move || drain(stdout, &log))
        });
        Ok(Self {
            child,
            stream,
            first: None,
            log,
            reader,
            _folder: folder,
        })
    }

    /// Waits until the image says its first byte, which is kept. Loading takes as long as
    /// it takes on a busy host; the protocol's times begin after it.
    ///
    /// # Errors
    /// It says nothing.
    pub fn await_greeting(&mut self, image: &Path) -> Result<(), Unavailable> {
        let mute = |error| Unavailable::Mute(image.display().to_string(), error);
        let mut first = [0];
        match self.receive(&mut first, OPENS).map_err(mute)? {
            0 => Err(mute(io::ErrorKind::TimedOut.into())),
            _ => {
                self.first = Some(first[0]);
                Ok(())
            }
        }
    }

    /// What the image logs. It is whole once the emulator is gone.
    #[must_use]
    pub fn log(&self) -> Log {
        self.log.clone()
    }
}

/// What an image has logged so far, as it came.
#[derive(Clone, Debug, Default)]
pub struct Log(Arc<Mutex<Vec<u8>>>);

impl Log {
    /// All of it.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn extend(&self, bytes: &[u8]) {
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .extend(bytes);
    }
}

impl Drop for Emulator {
    fn drop(&mut self) {
        end(&mut self.child);
        if let Some(reader) = self.reader.take() {
            // It has nothing to tell; its end is that of the emulator's output.
            let _ = reader.join();
        }
    }
}

impl Line for Emulator {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        if let Some(first) = self.first.take() {
            into[0] = first;
            return Ok(1);
        }
        self.stream.set_read_timeout(Some(wait))?;
        received(|| self.stream.read(into))
    }
}

/// The line, as soon as the emulator has opened its end.
fn connect(child: &mut Child, socket: &Path) -> Result<UnixStream, Unavailable> {
    let start = Instant::now();
    while start.elapsed() < OPENS {
        if let Ok(stream) = UnixStream::connect(socket) {
            return Ok(stream);
        }
        if child.try_wait().map_err(Unavailable::Start)?.is_some() {
            let mut said = String::new();
            if let Some(stderr) = &mut child.stderr {
                // What it said is told as far as it can be read.
                let _ = stderr.read_to_string(&mut said);
            }
            return Err(Unavailable::Ended(said.trim().to_owned()));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    Err(Unavailable::Closed)
}

fn drain(mut from: impl Read, into: &Log) {
    let mut some = [0; 4096];
    while let Ok(count) = from.read(&mut some)
        && count > 0
    {
        into.extend(&some[..count]);
    }
}

/// Ends the emulator; it may have ended by itself.
fn end(child: &mut Child) {
    let _ = child.kill();
    let _ = child.wait();
}
