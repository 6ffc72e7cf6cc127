//! Flights recorded for tests.

use std::path::Path;

use mastwright_sim::flight::Flight;
use mastwright_sim::frame::Frame;
use mastwright_sim::join::take_off;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::trace::{Header, Recorded, Trace};

/// Flies `scenario` for so many ticks and records it; the frames as they were flown, and
/// the file's bytes.
///
/// # Panics
/// When the file cannot be written: a test has no use for less.
#[must_use]
pub fn record(scenario: &Scenario, ticks: u64) -> (Vec<Frame>, Vec<u8>) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("flight.mwt");
    let frames = record_at(&path, scenario, ticks);
    (frames, std::fs::read(&path).expect("it was kept"))
}

/// Likewise, into the file at `path`.
///
/// # Panics
/// As [`record`].
pub fn record_at(path: &Path, scenario: &Scenario, ticks: u64) -> Vec<Frame> {
    let header = Header::new(scenario, scenario.seed, "a test");
    let flight = take_off(scenario, scenario.seed);
    let mut flight = Recorded::new(flight, path, &header).expect("a new file");
    let frames = (0..ticks)
        .map(|_| {
            flight.step();
            flight.frame().clone()
        })
        .collect();
    flight.finish().expect("kept");
    frames
}

/// The trace of these bytes.
///
/// # Panics
/// When it is none.
#[must_use]
pub fn trace(bytes: &[u8]) -> Trace {
    Trace::from_bytes("flight.mwt", bytes.to_vec()).expect("a trace")
}

/// Where each block begins behind the first line, and where the last one ends: told by
/// the lengths in their heads (`docs/trace-format.md`).
///
/// # Panics
/// When the bytes are no whole trace.
#[must_use]
pub fn borders(bytes: &[u8]) -> Vec<usize> {
    let line = bytes.iter().position(|byte| *byte == b'\n');
    let mut at = line.expect("a first line") + 1;
    let mut borders = vec![at];
    while at < bytes.len() {
        assert_eq!(&bytes[at..at + 4], b"MWTB", "a block begins at {at}");
        let length = bytes[at + 16..at + 20].try_into().expect("four bytes");
        at += 24 + u32::from_le_bytes(length) as usize;
        borders.push(at);
    }
    borders
}

/// The same trace with another header: what a build with other settings, columns or
/// names would have written.
///
/// # Panics
/// When the bytes are no whole trace.
#[must_use]
pub fn with_header(bytes: &[u8], change: impl FnOnce(&mut serde_json::Value)) -> Vec<u8> {
    let borders = borders(bytes);
    let (start, end) = (borders[0], borders[1]);
    let mut header = serde_json::from_slice(&bytes[start + 24..end]).expect("a header");
    change(&mut header);
    let payload = serde_json::to_vec(&header).expect("JSON");
    let mut head = bytes[start..start + 16].to_vec();
    let length = u32::try_from(payload.len()).expect("short");
    head.extend_from_slice(&length.to_le_bytes());
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
    let mut digest = sum.digest();
    digest.update(&head);
    digest.update(&payload);
    let sum = digest.finalize().to_le_bytes();
    [&bytes[..start], &head, &sum, &payload, &bytes[end..]].concat()
}
