//! An emulated board: the emulator runs the image of the target, and its first serial
//! port is the line, or two files are in its place.
//!
//! The emulator is a program of its own, started here and ended with this line, or with
//! this process, however that ends. What the image logs comes out of its standard output
//! and is kept for whoever decodes it.

mod files;
mod guard;

use std::ffi::{OsStr, OsString};
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use files::Files;
use guard::Guarded;

use super::line::{Line, Via, received};

/// The emulator's command.
pub const COMMAND: &str = "qemu-system-arm";
/// The environment may name another file of the emulator.
const OTHER: &str = "MASTWRIGHT_EMULATOR";
/// Where the emulator opens its end of the line, in its folder.
const SOCKET: &str = "line";
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

/// Frames that may be under way at once. What the emulated port or the target has not
/// taken yet waits in a socket or a file of the host, which loses nothing.
pub const WINDOW: usize = 32;

/// How long a reply is waited for. How fast the emulator is depends on what else its host
/// does; whether it has ended is seen at once.
pub const PATIENCE: Duration = Duration::from_secs(120);

/// The emulator opens its end of the line, and the image says its first byte, within this
/// time.
const OPENS: Duration = Duration::from_secs(120);

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
    #[error("the image `{0}` says nothing: {1}")]
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
                "install it (Debian: `apt-get install qemu-system-arm`), or let `cargo run \
                 --release -p mastwright-tests --bin target -- prepare` unpack it and name it \
                 in the environment as MASTWRIGHT_EMULATOR, or use a board: `--on serial:PORT`"
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
    program: Guarded,
    line: Open,
    /// The first byte of the image's greeting, until it is taken.
    first: Option<u8>,
    log: Log,
    reader: Option<JoinHandle<()>>,
    /// Where the emulator runs; goes with the line.
    folder: tempfile::TempDir,
}

/// The line, open.
#[derive(Debug)]
enum Open {
    Port(UnixStream),
    Files(Files),
}

impl Emulator {
    /// Starts the emulator with this image: the one that the environment names, or the
    /// one that is installed.
    ///
    /// # Errors
    /// Image or emulator are not there, or it does not start.
    pub fn start(image: &Path, via: Via) -> Result<Self, Unavailable> {
        let command = std::env::var_os(OTHER).unwrap_or_else(|| COMMAND.into());
        let mut emulator = Self::start_by(&command, image, via, &[])?;
        emulator.await_greeting(image)?;
        Ok(emulator)
    }

    /// Starts the emulator by this command. `more` is handed on to it, such as a second
    /// serial port; paths in it are taken from [`Emulator::folder`] on.
    ///
    /// # Errors
    /// As [`Emulator::start`].
    pub fn start_by(
        command: &OsStr,
        image: &Path,
        via: Via,
        more: &[OsString],
    ) -> Result<Self, Unavailable> {
        let image = std::fs::File::open(image)
            .and_then(|_| std::path::absolute(image))
            .map_err(|error| Unavailable::Image(image.display().to_string(), error))?;
        let folder = tempfile::Builder::new()
            .prefix("mastwright-")
            .tempdir()
            .map_err(Unavailable::Start)?;
        let files = match via {
            Via::Port => None,
            Via::Files => Some(Files::make(folder.path()).map_err(Unavailable::Start)?),
        };
        let arguments = arguments(via, &image, more);
        let command = wherever(command).map_err(Unavailable::Start)?;
        let mut program = Guarded::start(command.as_os_str(), folder.path(), arguments)
            .map_err(Unavailable::Start)?;
        let line = match files {
            Some(files) => Open::Files(files),
            None => Open::Port(connect(&mut program, &folder.path().join(SOCKET))?),
        };
        let log = Log::default();
        let reader = program.stdout().map(|stdout| {
            let log = log.clone();
            std::thread::spawn(move || drain(stdout, &log))
        });
        Ok(Self {
            program,
            line,
            first: None,
            log,
            reader,
            folder,
        })
    }

    /// Waits until the image says its first byte, which is kept. Loading takes as long as
    /// it takes on a busy host; the protocol's times begin after it.
    ///
    /// # Errors
    /// It says nothing.
    pub fn await_greeting(&mut self, image: &Path) -> Result<(), Unavailable> {
        let mut first = [0];
        let why = match self.receive(&mut first, OPENS) {
            Ok(1) => {
                self.first = Some(first[0]);
                return Ok(());
            }
            Ok(_) => io::ErrorKind::TimedOut.into(),
            Err(error) => error,
        };
        still_there(&mut self.program)?;
        Err(Unavailable::Mute(image.display().to_string(), why))
    }

    /// Where the emulator runs.
    #[must_use]
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// What the image logs. It is whole once the emulator is gone.
    #[must_use]
    pub fn log(&self) -> Log {
        self.log.clone()
    }
}

/// What the emulator is started with.
fn arguments(via: Via, image: &Path, more: &[OsString]) -> Vec<OsString> {
    let board = ["-M", BOARD, "-display", "none", "-monitor", "none"];
    let clock = ["-icount", CLOCK];
    let log = ["-semihosting-config", "enable=on,target=native"];
    let mut arguments: Vec<OsString> = [&board[..], &clock, &log]
        .concat()
        .into_iter()
        .map(OsString::from)
        .collect();
    match via {
        Via::Port => {
            let port = format!("socket,id=line,path={SOCKET},server=on,wait=on,mux=on");
            arguments.extend(["-chardev".into(), port.into()]);
            arguments.extend(["-serial", "chardev:line"].map(OsString::from));
            arguments.extend(NO_ESCAPE.map(OsString::from));
        }
        Via::Files => arguments.extend(["-serial", "null"].map(OsString::from)),
    }
    arguments.extend_from_slice(more);
    arguments.extend(["-kernel".into(), image.into()]);
    arguments
}

/// The command, from wherever it is started.
fn wherever(command: &OsStr) -> io::Result<PathBuf> {
    let path = Path::new(command);
    if path.components().count() > 1 {
        std::path::absolute(path)
    } else {
        Ok(path.to_owned())
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
        self.program.end();
        if let Some(reader) = self.reader.take() {
            // It has nothing to tell; its end is that of the emulator's output.
            let _ = reader.join();
        }
    }
}

impl Line for Emulator {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        match &mut self.line {
            Open::Port(stream) => stream.write_all(bytes),
            Open::Files(files) => files.send(bytes),
        }
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        if let Some(first) = self.first.take() {
            into[0] = first;
            return Ok(1);
        }
        match &mut self.line {
            Open::Port(stream) => {
                stream.set_read_timeout(Some(wait))?;
                received(|| stream.read(into))
            }
            Open::Files(files) => files.receive(into, wait, || match self.program.ended()? {
                None => Ok(()),
                Some(_) => Err(io::Error::new(
                    io::ErrorKind::UnexpectedEof,
                    "the emulator has ended",
                )),
            }),
        }
    }

    fn window(&self) -> usize {
        WINDOW
    }

    fn patience(&self) -> Duration {
        PATIENCE
    }
}

/// The line, as soon as the emulator has opened its end.
fn connect(program: &mut Guarded, socket: &Path) -> Result<UnixStream, Unavailable> {
    let start = Instant::now();
    while start.elapsed() < OPENS {
        if let Ok(stream) = UnixStream::connect(socket) {
            return Ok(stream);
        }
        still_there(program)?;
        std::thread::sleep(Duration::from_millis(20));
    }
    Err(Unavailable::Closed)
}

/// Why the emulator has ended, if it has.
fn still_there(program: &mut Guarded) -> Result<(), Unavailable> {
    let Some(status) = program.ended().map_err(Unavailable::Start)? else {
        return Ok(());
    };
    if Guarded::was_missing(status) {
        return Err(Unavailable::Emulator);
    }
    let mut said = String::new();
    if let Some(mut stderr) = program.stderr() {
        // What it said is told as far as it can be read.
        let _ = stderr.read_to_string(&mut said);
    }
    Err(Unavailable::Ended(said.trim().to_owned()))
}

fn drain(mut from: impl Read, into: &Log) {
    let mut some = [0; 4096];
    while let Ok(count) = from.read(&mut some)
        && count > 0
    {
        into.extend(&some[..count]);
    }
}
