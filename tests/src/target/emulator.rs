//! The emulated board, running an image: its lines, its pins, its log.
//!
//! Three channels lead in. The link is that of a real board. Over the second serial line
//! go the orders of a trial (`tests/target/src/trial.rs`). Over the third the emulator
//! itself is asked: for the levels of the pins while the processor stands still, and for a
//! power cut at any moment.

use std::ffi::OsString;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::time::{Duration, Instant};

use mastwright_sim::link::emulator::{Emulator as Board, Log};
use mastwright_sim::link::{Line, Via};
use serde_json::{Value, json};

use super::counts::Counts;
use super::tools::{Problem, Tools};

/// How long the emulator may take for anything: what else its host does is no verdict
/// about the target.
const WAIT: Duration = Duration::from_secs(120);

/// Address of the register with the levels of all pins: `tests/target/src/pins.rs`.
const LEVELS: u32 = 0x4002_F004;
/// Address of the register with the motor's strength.
const STRENGTH: u32 = 0x4002_801C;

/// The emulated board.
#[derive(Debug)]
pub struct Emulator {
    board: Board,
    trial: UnixStream,
    control: BufReader<UnixStream>,
    /// Power cuts that are done.
    cuts: u32,
}

/// What stands at the pins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pins {
    /// One bit for each output; zero is fail-safe.
    pub levels: u32,
    /// The motor's strength in thousandths.
    pub strength: u32,
}

impl Pins {
    /// Every output fail-safe.
    pub const FAIL_SAFE: Self = Self {
        levels: 0,
        strength: 0,
    };
}

impl Emulator {
    /// Starts `image`, and reaches it this way.
    ///
    /// # Errors
    /// The emulator does not start, or cannot be reached.
    pub fn start(tools: &Tools, image: &Path, via: Via) -> Result<Self, Problem> {
        let more: [OsString; 6] = [
            "-chardev".into(),
            "socket,id=trial,path=trial,server=on,wait=on".into(),
            "-serial".into(),
            "chardev:trial".into(),
            "-qmp".into(),
            "unix:control,server=on,wait=on".into(),
        ];
        let board = Board::start_by(tools.emulator.as_os_str(), image, via, &more)
            .map_err(|unavailable| unavailable.to_string())?;
        let [trial, control] = ["trial", "control"].map(|name| board.folder().join(name));
        let mut emulator = Self {
            board,
            trial: reach(&trial)?,
            control: BufReader::new(reach(&control)?),
            cuts: 0,
        };
        emulator.answer()?;
        emulator.ask(&json!({ "execute": "qmp_capabilities" }))?;
        emulator
            .board
            .await_greeting(image)
            .map_err(|unavailable| unavailable.to_string())?;
        Ok(emulator)
    }

    /// Gives the order of a trial, and waits until it is taken.
    ///
    /// # Errors
    /// It is not taken.
    pub fn order(&mut self, order: &[u8]) -> Result<(), Problem> {
        let mut echo = [0];
        self.trial
            .write_all(order)
            .and_then(|()| self.trial.read_exact(&mut echo))
            .map_err(|error| format!("the order {order:?} was not taken: {error}"))?;
        if order.first() == echo.first() {
            Ok(())
        } else {
            Err(format!("the order {order:?} was answered by {echo:?}"))
        }
    }

    /// The target's figures since they were last asked for.
    ///
    /// # Errors
    /// It does not tell them.
    pub fn counts(&mut self) -> Result<Counts, Problem> {
        self.order(b"F")?;
        Counts::read(&mut self.trial).map_err(|error| format!("no figures: {error}"))
    }

    /// What stands at the pins now, whatever the processor does.
    ///
    /// # Errors
    /// The emulator does not answer.
    pub fn pins(&mut self) -> Result<Pins, Problem> {
        Ok(Pins {
            levels: self.register(LEVELS)?,
            strength: self.register(STRENGTH)?,
        })
    }

    /// Waits until `wanted` holds of the pins.
    ///
    /// # Errors
    /// It does not come to hold.
    pub fn await_pins(&mut self, wanted: impl Fn(Pins) -> bool) -> Result<Pins, Problem> {
        let begun = Instant::now();
        loop {
            let pins = self.pins()?;
            if wanted(pins) {
                return Ok(pins);
            }
            if begun.elapsed() > WAIT {
                return Err(format!("the pins stay as they are: {pins:?}"));
            }
        }
    }

    /// Cuts the power, at whatever the processor is doing, and gives it back.
    ///
    /// # Errors
    /// The emulator does not answer.
    pub fn cut_power(&mut self) -> Result<(), Problem> {
        let before = self.cuts;
        self.ask(&json!({ "execute": "system_reset" }))?;
        // It is done a moment before or after it is answered, and told as an event.
        while self.cuts == before {
            self.answer()?;
        }
        Ok(())
    }

    /// What the target has logged so far.
    #[must_use]
    pub fn log(&self) -> Log {
        self.board.log()
    }

    fn register(&mut self, address: u32) -> Result<u32, Problem> {
        let command = format!("xp /1wx {address:#x}");
        let answer = self.ask(&json!({
            "execute": "human-monitor-command",
            "arguments": { "command-line": command },
        }))?;
        let shown = answer.as_str().unwrap_or_default();
        let value = shown.trim().rsplit("0x").next();
        value
            .and_then(|value| u32::from_str_radix(value, 16).ok())
            .ok_or_else(|| format!("{command}: {shown}"))
    }

    fn ask(&mut self, question: &Value) -> Result<Value, Problem> {
        writeln!(self.control.get_mut(), "{question}")
            .map_err(|error| format!("the emulator is gone: {error}"))?;
        loop {
            let mut answer = self.answer()?;
            if let Some(value) = answer.get_mut("return") {
                return Ok(value.take());
            }
            if let Some(error) = answer.get("error") {
                return Err(format!("{question}: {error}"));
            }
            // Anything else tells of an event.
        }
    }

    fn answer(&mut self) -> Result<Value, Problem> {
        let mut line = String::new();
        self.control
            .read_line(&mut line)
            .map_err(|error| format!("the emulator does not answer: {error}"))?;
        let told: Value =
            serde_json::from_str(&line).map_err(|error| format!("{line}: {error}"))?;
        // Resets that the target itself asks for have other reasons.
        if told.pointer("/data/reason") == Some(&json!("host-qmp-system-reset")) {
            self.cuts += 1;
        }
        Ok(told)
    }
}

/// Connects to a socket that the emulator is about to open.
fn reach(path: &Path) -> Result<UnixStream, Problem> {
    let begun = Instant::now();
    loop {
        match UnixStream::connect(path) {
            Ok(stream) => {
                let set = stream.set_read_timeout(Some(WAIT));
                return set
                    .map(|()| stream)
                    .map_err(|error| format!("{}: {error}", path.display()));
            }
            Err(error) if begun.elapsed() > WAIT => {
                return Err(format!(
                    "the emulator does not open {}: {error}",
                    path.display()
                ));
            }
            Err(_) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
}

/// The link.
impl Line for Emulator {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.board.send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> io::Result<usize> {
        self.board.receive(into, wait)
    }

    fn window(&self) -> usize {
        self.board.window()
    }

    fn patience(&self) -> Duration {
        self.board.patience()
    }
}
