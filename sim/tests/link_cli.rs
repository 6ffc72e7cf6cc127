//! `mastwright run --on`: what it prints and how it ends.

#![cfg(unix)]

use std::io::{Read, Write};
use std::process::{Command, Output, Stdio};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use mastwright_core::link::{Responder, Served};
use mastwright_sim::memory::Memory;
use serialport::{SerialPort, TTYPort};

/// Longest wait for a process. Not a measure of speed: only that a test which would wait
/// for ever fails.
const PATIENCE: Duration = Duration::from_secs(60);

/// Held while a process starts, and while a terminal is open with its lock: a process
/// started meanwhile, by another test, would inherit the terminal and go on holding the lock.
static STARTING: Mutex<()> = Mutex::new(());

fn starting() -> MutexGuard<'static, ()> {
    STARTING.lock().unwrap_or_else(PoisonError::into_inner)
}

fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_mastwright"));
    command
        .args(["run", "emergency-stow", "--quiet"])
        .args(arguments)
        .env_remove("MASTWRIGHT_IMAGE")
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let child = {
        let _alone = starting();
        command.spawn().expect("the command starts")
    };
    let Output {
        status,
        stdout,
        stderr,
    } = child.wait_with_output().expect("it ends");
    let words = |bytes| String::from_utf8(bytes).expect("plain text");
    (status.code(), words(stdout), words(stderr))
}

/// Runs the command against a board behind a pair of pseudo-terminals. `spoil` sees
/// what the board says, by the number of its word, before it is sent.
fn run_against_a_board(
    spoil: impl FnMut(usize, &mut Vec<u8>) + Send + 'static,
) -> (Option<i32>, String, String) {
    run_with_a_board(&[], spoil)
}

/// Likewise, with more arguments.
fn run_with_a_board(
    more: &[&str],
    mut spoil: impl FnMut(usize, &mut Vec<u8>) + Send + 'static,
) -> (Option<i32>, String, String) {
    let alone = starting();
    let (mut board, mut port) = TTYPort::pair().expect("this system has pseudo-terminals");
    board.set_timeout(Duration::from_secs(30)).unwrap();
    port.set_exclusive(false).unwrap();
    let name = port.name().expect("a terminal has a name");
    // Held open without a lock, so that the board does not hear an end too soon.
    let held = std::fs::File::open(&name).expect("the terminal can be opened twice");
    drop(port);
    drop(alone);
    let served = std::thread::spawn(move || {
        let mut target = Responder::new(Memory::default(), "a board of this test");
        let mut some = [0; 256];
        let mut said = 0;
        while let Ok(count) = board.read(&mut some)
            && count > 0
        {
            for byte in &some[..count] {
                if let Served::Reply(reply) = target.feed(*byte) {
                    let mut reply = reply.to_vec();
                    spoil(said, &mut reply);
                    said += 1;
                    board.write_all(&reply).unwrap();
                }
            }
        }
    });
    let on = format!("serial:{name}");
    let came = run(&[&["--on", &on], more].concat());
    // The board hears that the line is closed.
    drop(held);
    served.join().unwrap();
    came
}

#[test]
fn a_board_that_answers_alike_ends_well() {
    let (code, out, err) = run_against_a_board(|_, _| {});
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(out.contains("Lock step with the board at "), "{out}");
    assert!(out.contains("  a board of this test; settings "), "{out}");
    assert!(
        out.contains("  EQUAL: outputs and state in each of "),
        "{out}"
    );
}

#[test]
fn a_flight_with_a_board_beside_it_is_recorded_with_where_it_flew() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("flight.mwt");
    let more = ["--record", path.to_str().expect("a plain path")];
    let (code, out, err) = run_with_a_board(&more, |_, _| {});
    assert_eq!(code, Some(0), "{out}{err}");
    assert!(out.contains("Recorded: "), "{out}");
    let trace = mastwright_sim::trace::Trace::open(&path).expect("a trace");
    assert_eq!(trace.damage(), []);
    let by = &trace.header().by;
    assert!(by.contains("in lock step with the board at "), "{by}");
}

#[test]
fn a_reply_that_is_damaged_on_the_way_is_told_with_tick_and_frame() {
    let (code, out, err) = run_against_a_board(|said, reply| {
        // After greeting, settings and reset, the eleventh batch: ticks 80 to 87.
        if said == 13 {
            reply[20] ^= 0x40;
        }
    });
    assert_eq!(code, Some(1), "{out}{err}");
    assert!(
        out.contains("  BROKEN OFF: tick 80 (0.80 s), frame 14: "),
        "{out}"
    );
    assert!(out.contains("damaged: the checksum does not fit"), "{out}");
}

#[test]
fn what_cannot_be_reached_is_refused_with_a_remedy() {
    for (arguments, why, remedy) in [
        (
            &["--on", "serial:/dev/no-such-port"][..],
            "the serial port `/dev/no-such-port` cannot be used",
            "give the port as your system calls it",
        ),
        (
            &["--on", "emulator"],
            "the emulator needs an image of the target",
            "--bin target -- prepare",
        ),
        (
            &["--on", "emulator", "--image", "no-such-image"],
            "the image `no-such-image` of the target cannot be read",
            "--bin target -- prepare",
        ),
        (
            &["--on", "somewhere"],
            "give `emulator`, `emulator:files`, `serial:PORT` or",
            "--help",
        ),
        (&["--full-inputs"], "--on", "--help"),
    ] {
        let (code, out, err) = run(arguments);
        let said: String = err.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = said.replace("│ ", "");
        assert_eq!(code, Some(2), "{arguments:?}: {out}{err}");
        assert!(said.contains(why), "{arguments:?}: {err}");
        assert!(said.contains(remedy), "{arguments:?}: {err}");
    }
}

/// The command, with an emulator in `folder` that writes down its number and waits for ever.
fn with_an_emulator_that_waits(folder: &std::path::Path) -> Command {
    use std::os::unix::fs::PermissionsExt;

    let [program, number] = ["emulator", "number"].map(|name| folder.join(name));
    let script = format!(
        "#!/bin/sh\necho $$ > '{}'\nexec sleep 1000\n",
        number.display()
    );
    std::fs::write(&program, script).unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_mastwright"));
    command
        .args(["run", "emergency-stow", "--on", "emulator"])
        .arg("--image")
        .arg(&program)
        .env("MASTWRIGHT_EMULATOR", &program)
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null());
    command
}

/// The number that the emulator in `folder` writes down.
fn number_of_the_emulator(folder: &std::path::Path) -> i32 {
    let start = Instant::now();
    loop {
        let said = std::fs::read_to_string(folder.join("number")).unwrap_or_default();
        if let Ok(number) = said.trim().parse() {
            return number;
        }
        assert!(start.elapsed() < PATIENCE, "the emulator is not started");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Whether this process was started with `signal` ignored, and so those that it starts.
fn is_ignored(signal: rustix::process::Signal) -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok());
    mask.is_some_and(|mask| mask >> (signal.as_raw() - 1) & 1 == 1)
}

#[test]
fn the_emulator_ends_with_the_command_however_that_is_ended() {
    use rustix::process::{Pid, Signal, kill_process, test_kill_process};

    for signal in [Signal::TERM, Signal::INT, Signal::HUP, Signal::KILL] {
        if is_ignored(signal) {
            continue;
        }
        let folder = tempfile::tempdir().unwrap();
        let mut command = {
            let _alone = starting();
            with_an_emulator_that_waits(folder.path()).spawn().unwrap()
        };
        let number = number_of_the_emulator(folder.path());
        let emulator = Pid::from_raw(number).expect("a number of a process");
        test_kill_process(emulator).expect("it runs");
        kill_process(Pid::from_child(&command), signal).unwrap();
        command.wait().unwrap();
        let start = Instant::now();
        while test_kill_process(emulator).is_ok() {
            assert!(start.elapsed() < PATIENCE, "{signal:?}: it lives on");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}
