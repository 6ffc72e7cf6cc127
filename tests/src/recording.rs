//! Flights recorded for tests.

use std::path::Path;

use mastwright_sim::flight::Flight;
use mastwright_sim::frame::Frame;
use mastwright_sim::join::take_off;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
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

/// A flight of some blocks: 16 s in which the brown-out scenario loses its supply.
///
/// # Panics
/// As [`record`].
#[must_use]
pub fn short() -> (Vec<Frame>, Vec<u8>) {
    let shipped = Shipped::named("brown-out-mid-move").expect("a shipped scenario");
    let scenario = Scenario::parse(&shipped.file(), shipped.text);
    record(&scenario.expect("shipped scenarios parse"), 1600)
}

/// Wants of two frames all the same that is kept.
///
/// # Panics
/// When it is not so: that is what a test wants.
pub fn assert_same(read: &Frame, flown: &Frame) {
    let tick = flown.tick;
    assert_eq!(read.tick, tick);
    assert_eq!(read.powered, flown.powered, "tick {tick}");
    assert_eq!(read.heat_warning, flown.heat_warning, "tick {tick}");
    assert_eq!(read.inputs, flown.inputs, "tick {tick}");
    assert_eq!(read.outputs, flown.outputs, "tick {tick}");
    let (mut hands, mut truth) = (read.controls, read.truth);
    assert!((hands.throttle - flown.controls.throttle).abs() <= 0.5e-6);
    hands.throttle = flown.controls.throttle;
    assert_eq!(hands, flown.controls, "tick {tick}");
    let near = |kept: &mut f64, flown: f64, step: f64| {
        assert!(
            (*kept - flown).abs() <= 0.501 * step,
            "tick {tick}: {kept} {flown}"
        );
        *kept = flown;
    };
    let of = &flown.truth;
    near(&mut truth.mast.position, of.mast.position, 1e-6);
    near(&mut truth.mast.speed, of.mast.speed, 1e-6);
    near(&mut truth.mast.drive_current, of.mast.drive_current, 1e-3);
    near(&mut truth.doors, of.doors, 1e-6);
    near(&mut truth.door_speed, of.door_speed, 1e-6);
    near(&mut truth.door_current, of.door_current, 1e-3);
    near(&mut truth.propeller.angle, of.propeller.angle, 1e-5);
    near(&mut truth.propeller.speed, of.propeller.speed, 1e-4);
    near(
        &mut truth.propeller.motor_torque,
        of.propeller.motor_torque,
        1e-3,
    );
    near(&mut truth.propeller.thrust, of.propeller.thrust, 1e-2);
    near(&mut truth.bus.voltage, of.bus.voltage, 1e-3);
    near(&mut truth.bus.current, of.bus.current, 1e-3);
    near(&mut truth.bus.source, of.bus.source, 1e-3);
    near(&mut truth.bus.inrush, of.bus.inrush, 1e-3);
    near(&mut truth.bus.insulation, of.bus.insulation, 1.0);
    near(&mut truth.auxiliary, of.auxiliary, 1e-3);
    near(&mut truth.motor_temperature, of.motor_temperature, 1e-4);
    near(
        &mut truth.controller_temperature,
        of.controller_temperature,
        1e-4,
    );
    near(&mut truth.aircraft.airspeed, of.aircraft.airspeed, 1e-4);
    near(&mut truth.aircraft.height, of.aircraft.height, 1e-3);
    near(&mut truth.aircraft.climb, of.aircraft.climb, 1e-4);
    for (kept, flown) in truth.bay_heat.iter_mut().zip(of.bay_heat) {
        near(kept, flown, 1e-3);
    }
    for (kept, flown) in truth.packs.iter_mut().zip(of.packs) {
        near(&mut kept.voltage, flown.voltage, 1e-3);
        near(&mut kept.current, flown.current, 1e-3);
        near(&mut kept.charge, flown.charge, 1e-7);
        near(&mut kept.temperature, flown.temperature, 1e-4);
    }
    assert_eq!(truth, *of, "tick {tick}: no field is left out");
}

/// Wants every tick that the trace says it has as flown.
///
/// # Panics
/// When it is not so: that is what a test wants.
pub fn assert_reads(trace: &Trace, frames: &[Frame]) {
    let mut read = 0;
    for (tick, flown) in trace.ticks().zip(frames) {
        assert_same(&tick.expect("before the break").frame, flown);
        read += 1;
    }
    assert_eq!(read, trace.len());
}
