//! `mastwright run --on`: the same flight, with a target in lock step.

use std::io::Write;
use std::path::PathBuf;
use std::str::FromStr;

use miette::{IntoDiagnostic, miette};

use super::{Run, load, replay, run_scenario};
use crate::cli::record;
use crate::cli::{BROKEN, GOOD};
use crate::flight::{Begun, Flight, Verdict};
use crate::frame::{Frame, TICK, told_seconds};
use crate::link::serial::{SPEED, Serial};
use crate::link::{Failure, Line, Mirror, Summary, Via, log, tell};
use crate::report::paint::Paint;
use crate::report::timeline::{Entry, Kind};
use crate::report::{self, text};
use crate::trace::Header;

/// The image's file, unless it is given.
const IMAGE: &str = "MASTWRIGHT_IMAGE";

/// Where the controller runs besides here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum On {
    /// On the emulated board, reached this way.
    Emulator(Via),
    /// On a board behind this serial port, at this speed.
    Serial(String, u32),
}

impl FromStr for On {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "emulator" => return Ok(Self::Emulator(Via::Port)),
            "emulator:files" => return Ok(Self::Emulator(Via::Files)),
            _ => {}
        }
        let port = text
            .strip_prefix("serial:")
            .filter(|port| !port.is_empty())
            .ok_or("give `emulator`, `emulator:files`, `serial:PORT` or `serial:PORT@SPEED`")?;
        match port.rsplit_once('@') {
            None => Ok(Self::Serial(port.to_owned(), SPEED)),
            Some((port, speed)) => match speed.parse() {
                Ok(speed) if speed > 0 && !port.is_empty() => {
                    Ok(Self::Serial(port.to_owned(), speed))
                }
                Ok(_) | Err(_) => Err(format!(
                    "the speed `{speed}` of the serial port is no number of bits per second"
                )),
            },
        }
    }
}

impl std::fmt::Display for On {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Emulator(Via::Port) => f.write_str("the emulated board"),
            Self::Emulator(Via::Files) => f.write_str("the emulated board, through files"),
            Self::Serial(port, speed) => write!(f, "the board at {port}, {speed} bit/s"),
        }
    }
}

/// Runs the command with a target on `on`; the exit code.
///
/// # Errors
/// When the scenario or the target cannot be used, or `out` not be written.
pub(super) fn run(command: &Run, on: &On, out: &mut dyn Write) -> miette::Result<u8> {
    let scenario = load(&command.scenario)?;
    let seed = command.seed.unwrap_or(scenario.seed);
    let (line, log) = open(on, command.image.as_ref())?;
    let mirror = Mirror::begin(line, &scenario.config).map_err(|failure| {
        miette!(
            help = "check that the target runs, that it is of this build, and that nothing \
                    else uses its line",
            "no target answers on {on}: {failure}"
        )
    })?;
    let flight = record::begin(
        crate::join::take_off(&scenario, seed),
        command.record.as_deref(),
        || {
            let by = format!("the controller of the program, in lock step with {on}");
            Header::new(&scenario, seed, &by)
        },
    )?;
    let mut flight = Mirrored {
        flight,
        mirror: Ok(mirror),
        wakings: Vec::new(),
        awake: false,
    };
    let paint = Paint::of_stdout();
    let Some(logged) = log else {
        let flown = run_scenario(command, &scenario, seed, &mut flight, paint, out)?;
        let Mirrored { flight, mirror, .. } = flight;
        record::keep_journal(&flight, command.journal_out.as_deref())?;
        record::end(flight, true, out)?;
        let compared = mirror.and_then(Mirror::finish);
        let compared = conclude(out, on, &compared, command.full_inputs).into_diagnostic()?;
        return Ok(flown.max(compared));
    };
    text::heading(out, &scenario, seed, paint).into_diagnostic()?;
    let replay = replay(&command.scenario, seed);
    let mut report = report::fly(&scenario, seed, &replay, &mut flight, |_| {});
    let Mirrored {
        mut flight,
        mirror,
        wakings,
        ..
    } = flight;
    // The emulator is gone after this, and its log whole.
    let compared = mirror.and_then(Mirror::finish);
    let said = logged.lines();
    if let Ok(said) = &said {
        let said = log::in_flight(said.clone(), &wakings);
        for line in &said {
            flight.remark(line.tick, format!("target: {}", told(line)));
        }
        weave(&mut report.timeline, said);
    }
    if !command.quiet {
        let mut entries = report.timeline.iter();
        let told = entries.try_for_each(|entry| text::entry(out, entry, paint));
        told.into_diagnostic()?;
    }
    text::conclusion(out, &report, paint).into_diagnostic()?;
    record::keep_journal(&flight, command.journal_out.as_deref())?;
    record::end(flight, true, out)?;
    let compared = conclude(out, on, &compared, command.full_inputs).into_diagnostic()?;
    said.into_diagnostic()?;
    Ok(if report.good { GOOD } else { BROKEN }.max(compared))
}

/// What the target said, with how much it matters if that is worth a word.
fn told(line: &log::Line) -> String {
    if line.level == "info" {
        line.words.clone()
    } else {
        format!("{}: {}", line.level, line.words)
    }
}

/// Puts what the target said among what happened here, behind what happened in the same
/// tick.
fn weave(timeline: &mut Vec<Entry>, said: Vec<log::Line>) {
    timeline.extend(said.into_iter().map(|line| Entry {
        time: told_seconds(line.tick),
        phase: "",
        kind: Kind::Target,
        text: told(&line),
    }));
    timeline.sort_by(|one, other| one.time.total_cmp(&other.time));
    let mut phase = "";
    for entry in timeline {
        if entry.kind == Kind::Target {
            entry.phase = phase;
        }
        phase = entry.phase;
    }
}

/// What the target logs, and the image that has the words.
struct Logged {
    image: PathBuf,
    #[cfg(unix)]
    log: crate::link::emulator::Log,
}

impl Logged {
    #[cfg(unix)]
    fn lines(&self) -> Result<Vec<log::Line>, log::Unreadable> {
        log::decode(&self.image, &self.log.bytes())
    }

    #[cfg(not(unix))]
    fn lines(&self) -> Result<Vec<log::Line>, log::Unreadable> {
        log::decode(&self.image, &[])
    }
}

/// The line to the target, and its log where there is one.
fn open(on: &On, image: Option<&PathBuf>) -> miette::Result<(Box<dyn Line>, Option<Logged>)> {
    match on {
        On::Serial(port, speed) => match Serial::open(port, *speed) {
            Ok(serial) => Ok((Box::new(serial), None)),
            Err(error) => Err(miette!(
                help = "give the port as your system calls it, for example \
                        `serial:/dev/ttyACM0`; you may need the right to use it",
                "the serial port `{port}` cannot be used: {error}"
            )),
        },
        On::Emulator(via) => {
            let image = image
                .cloned()
                .or_else(|| std::env::var_os(IMAGE).map(PathBuf::from))
                .ok_or_else(|| {
                    miette!(
                        help = format!(
                            "build the image of the target with `cargo run --release -p \
                             mastwright-tests --bin target -- prepare`, and name its file with \
                             `--image FILE` or in the environment as {IMAGE}"
                        ),
                        "the emulator needs an image of the target"
                    )
                })?;
            emulator(image, *via)
        }
    }
}

#[cfg(unix)]
fn emulator(image: PathBuf, via: Via) -> miette::Result<(Box<dyn Line>, Option<Logged>)> {
    match crate::link::emulator::Emulator::start(&image, via) {
        Ok(emulator) => {
            let log = emulator.log();
            Ok((Box::new(emulator), Some(Logged { image, log })))
        }
        Err(unavailable) => Err(miette!(help = unavailable.remedy(), "{unavailable}")),
    }
}

#[cfg(not(unix))]
fn emulator(_: PathBuf, _: Via) -> miette::Result<(Box<dyn Line>, Option<Logged>)> {
    Err(miette!(
        help = "use a board: `--on serial:PORT`",
        "the emulated board is driven over a Unix socket, which this system does not have"
    ))
}

/// A flight of which every tick goes to a target too. The flight goes on to its end
/// when the target cannot be compared any more. A recording is not ended with it: what the
/// target said is still to be noted.
struct Mirrored<F> {
    flight: F,
    mirror: Result<Mirror<Box<dyn Line>>, Failure>,
    /// Ticks that were the target's first after it woke.
    wakings: Vec<u64>,
    awake: bool,
}

impl<F: Flight> Flight for Mirrored<F> {
    fn step(&mut self) {
        self.flight.step();
        let frame = self.flight.frame();
        if frame.powered && !self.awake {
            self.wakings.push(frame.tick);
        }
        self.awake = frame.powered;
        if let Ok(mirror) = &mut self.mirror
            && let Err(failure) = mirror.tick(frame.tick, frame.powered, &frame.inputs)
        {
            self.mirror = Err(failure);
        }
    }

    fn frame(&self) -> &Frame {
        self.flight.frame()
    }

    fn begun(&self) -> Begun {
        self.flight.begun()
    }

    fn verdict(&self) -> Verdict {
        self.flight.verdict()
    }
}

/// Tells what came of the comparison; the exit code.
fn conclude(
    out: &mut dyn Write,
    on: &On,
    compared: &Result<Summary, Failure>,
    full: bool,
) -> std::io::Result<u8> {
    writeln!(out, "\nLock step with {on}")?;
    match compared {
        Ok(summary) => {
            writeln!(
                out,
                "  {}; settings {:08x}",
                summary.build, summary.settings
            )?;
            writeln!(
                out,
                "  EQUAL: outputs and state in each of {} ticks ({} frames, {} power cuts), \
                 and the record kept",
                summary.ticks, summary.frames, summary.resets
            )?;
            Ok(GOOD)
        }
        Err(Failure::Differs(difference)) => {
            writeln!(out, "  DIFFERENT: the target answered otherwise")?;
            tell::difference(out, difference, full)?;
            Ok(BROKEN)
        }
        Err(failure @ (Failure::WokeOtherwise { .. } | Failure::Record { .. })) => {
            writeln!(out, "  DIFFERENT: {failure}")?;
            Ok(BROKEN)
        }
        Err(Failure::Link { tick, error }) => {
            #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
            let seconds = *tick as f64 * TICK;
            writeln!(
                out,
                "  BROKEN OFF: tick {tick} ({seconds:.2} s), {error}\n  Ticks before it were \
                 equal. Nothing was sent again: run it once more, and if it comes again look \
                 at the line."
            )?;
            Ok(BROKEN)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_the_controller_runs_is_read_or_refused_with_a_remedy() {
        assert_eq!("emulator".parse(), Ok(On::Emulator(Via::Port)));
        assert_eq!("emulator:files".parse(), Ok(On::Emulator(Via::Files)));
        assert_eq!(
            "serial:/dev/ttyACM0".parse(),
            Ok(On::Serial("/dev/ttyACM0".to_owned(), SPEED))
        );
        assert_eq!(
            "serial:COM3@9600".parse(),
            Ok(On::Serial("COM3".to_owned(), 9600))
        );
        for wrong in [
            "",
            "emulator:",
            "serial:",
            "serial:@9600",
            "serial:COM3@fast",
            "COM3",
        ] {
            assert!(wrong.parse::<On>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_the_target_says_stands_behind_what_happened_in_the_same_tick() {
        let entry = |time, phase, text: &str| Entry {
            time,
            phase,
            kind: Kind::Phase,
            text: text.to_owned(),
        };
        let mut timeline = vec![entry(0.0, "a", "one"), entry(0.5, "b", "two")];
        let said = |tick, level: &str, words: &str| log::Line {
            tick,
            level: level.to_owned(),
            words: words.to_owned(),
        };
        weave(
            &mut timeline,
            vec![
                said(0, "info", "x"),
                said(30, "warn", "y"),
                said(50, "info", "z"),
            ],
        );
        let told: Vec<_> = timeline
            .iter()
            .map(|entry| (entry.phase, &*entry.text))
            .collect();
        let expected = [
            ("a", "one"),
            ("a", "x"),
            ("a", "warn: y"),
            ("b", "two"),
            ("b", "z"),
        ];
        assert_eq!(told, expected);
    }
}
