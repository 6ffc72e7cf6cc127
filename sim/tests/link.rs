//! The controller elsewhere: lock step with a target in this process, and what is said
//! when the line spoils a frame.

use std::time::Duration;

use mastwright_core::Inputs;
use mastwright_core::link::{FRAME_MAX, Stance, Trouble};
use mastwright_core::outputs::Drives;
use mastwright_sim::link::faulty::{Faulty, Spoil, Way};
use mastwright_sim::link::inline::{BUILD, Inline};
use mastwright_sim::link::random::Random;
use mastwright_sim::link::trial::random_cuts;
use mastwright_sim::link::{Failure, Line, Mirror, What, lock_step, random_ticks, tell};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::SHIPPED;

fn scenario(text: &str) -> Scenario {
    Scenario::parse("shipped", text).expect("shipped scenarios are sound")
}

#[test]
fn every_shipped_scenario_runs_in_lock_step() {
    for shipped in SHIPPED {
        let scenario = scenario(shipped.text);
        let summary = lock_step(&scenario, scenario.seed, Inline::default())
            .unwrap_or_else(|failure| panic!("{}: {failure}", shipped.name));
        assert_eq!(summary.build, BUILD);
        assert!(summary.ticks > 0 && summary.ticks <= scenario.ticks);
        if shipped.name == "brown-out-mid-move" {
            assert!(summary.resets > 0, "power was cut");
            assert!(summary.ticks < scenario.ticks, "and took some ticks");
        }
    }
}

#[test]
fn a_host_that_runs_ahead_of_the_answers_compares_the_same_ticks_and_frames() {
    let demonstration = scenario(SHIPPED[0].text);
    let run = |line| lock_step(&demonstration, demonstration.seed, line).expect("all is alike");
    let one_by_one = run(Inline::default());
    for window in [2, 32, 10_000] {
        assert_eq!(run(Inline::default().with_window(window)), one_by_one);
    }
    let cuts = random_cuts(7, 10_000, 40);
    let ahead = Inline::default().with_window(32);
    let summary = random_ticks(7, 10_000, &cuts, ahead).expect("all is alike");
    assert_eq!((summary.ticks, summary.resets), (10_000, 40));
}

#[test]
fn random_ticks_with_power_cuts_run_in_lock_step() {
    for seed in 0..4 {
        let cuts = random_cuts(seed, 10_000, 40);
        let summary = random_ticks(seed, 10_000, &cuts, Inline::default())
            .unwrap_or_else(|failure| panic!("seed {seed}: {failure}"));
        assert_eq!((summary.ticks, summary.resets), (10_000, 40));
    }
}

#[test]
fn random_readings_are_stale_unsound_and_extreme_too_and_follow_from_the_seed() {
    let draw = |seed| {
        let mut random = Random::new(seed);
        (0..2000).map(|_| random.tick()).collect::<Vec<Inputs>>()
    };
    let drawn = draw(1);
    assert_eq!(drawn, draw(1));
    assert_ne!(drawn, draw(2));
    let voltages = || drawn.iter().map(|inputs| inputs.bus.voltage);
    assert!(voltages().any(|voltage| !voltage.is_valid()));
    assert!(voltages().any(|voltage| voltage.is_valid() && voltage.age().ticks() > 10));
    assert!(voltages().any(|voltage| voltage.raw().get() == i32::MAX));
    assert!(voltages().any(|voltage| voltage.raw().get() == i32::MIN));
}

/// A run of random ticks in which one frame is spoilt, with so many frames under way:
/// what the host says, at which tick and frame, and the line as it was left.
fn spoilt(way: Way, spoil: Spoil, seed: u64, window: usize) -> (u64, u16, What, Faulty<Inline>) {
    // Greeting, settings, reset: the target's own greeting comes back besides.
    let skipped = match way {
        Way::Out => 3,
        Way::Back => 4,
    };
    let target = Inline::default().with_window(window);
    let mut line = Faulty::new(target, way, spoil, seed, skipped, 20);
    let failure = random_ticks(seed, 400, &[], &mut line).expect_err("a frame was spoilt");
    let Failure::Link { tick, error } = failure else {
        panic!("{way:?} {spoil:?}: {failure}");
    };
    (tick, error.number, error.what, line)
}

#[test]
fn each_spoilt_frame_is_told_for_what_it_is_and_leaves_the_target_fail_safe() {
    for way in [Way::Out, Way::Back] {
        for spoil in Spoil::ALL {
            for (seed, window) in (0..8).flat_map(|seed| [(seed, 1), (seed, 8)]) {
                let (tick, number, what, mut line) = spoilt(way, spoil, seed, window);
                let case = format!("{way:?} {spoil:?} seed {seed} window {window}: {what:?}");
                let told = if window == 1 {
                    is_told
                } else {
                    is_told_of_a_run_ahead
                };
                assert!(told(way, spoil, &what), "{case}");
                // Three requests come before the first batch of eight.
                let batch = tick / 8;
                assert_eq!(tick % 8, 0, "{case}");
                assert!((4..=24).contains(&number), "{case} in frame {number}");
                assert_eq!(u64::from(number), batch + 4, "{case} in frame {number}");

                // A host that has seen trouble falls silent.
                line.inner_mut().pass(Duration::from_secs(4));
                let target = line.inner().target();
                assert!(matches!(target.stance(), Stance::Held(_)), "{case}");
                assert_eq!(target.drives(), Drives::default(), "{case}");
            }
        }
    }
}

/// Whether `what` is what must be said of such a frame.
fn is_told(way: Way, spoil: Spoil, what: &What) -> bool {
    let seen = if let What::Refused(refused) = what {
        Some(refused.trouble)
    } else {
        None
    };
    match (way, spoil) {
        (Way::Out, Spoil::Drop) => matches!(what, What::RequestLost),
        (Way::Out, Spoil::Tear | Spoil::TearOpen) => seen == Some(Trouble::Torn),
        (Way::Out, Spoil::Flip) => {
            matches!(seen, Some(Trouble::Damaged | Trouble::Torn))
        }
        (Way::Out, Spoil::Repeat) => seen == Some(Trouble::Repeated),
        (Way::Out, Spoil::Delay) => matches!(what, What::Late) || seen == Some(Trouble::Silence),
        (Way::Out, Spoil::Foreign) => seen == Some(Trouble::Foreign),
        (Way::Back, Spoil::Drop) => matches!(what, What::ReplyLost),
        (Way::Back, Spoil::Tear | Spoil::TearOpen) => {
            matches!(what, What::Garbled(Trouble::Torn))
        }
        (Way::Back, Spoil::Flip) => {
            matches!(what, What::Garbled(Trouble::Damaged | Trouble::Torn))
        }
        (Way::Back, Spoil::Repeat) => matches!(what, What::Repeated),
        (Way::Back, Spoil::Delay) => matches!(what, What::Late),
        (Way::Back, Spoil::Foreign) => matches!(what, What::Garbled(Trouble::Foreign)),
    }
}

/// The same when later frames are under way: they come in place of one that is missing.
fn is_told_of_a_run_ahead(way: Way, spoil: Spoil, what: &What) -> bool {
    let seen = if let What::Refused(refused) = what {
        Some(refused.trouble)
    } else {
        None
    };
    match (way, spoil) {
        (Way::Out, Spoil::Drop | Spoil::Delay) => matches!(seen, Some(Trouble::Lost(1))),
        (Way::Back, Spoil::Delay) => matches!(what, What::ReplyLost),
        (
            _,
            Spoil::Drop
            | Spoil::Tear
            | Spoil::TearOpen
            | Spoil::Flip
            | Spoil::Repeat
            | Spoil::Foreign,
        ) => is_told(way, spoil, what),
    }
}

/// A target that answers wrongly: it is told other readings than the host's.
struct Misled(Inline, u32);

impl Line for Misled {
    fn send(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        let mut decoder = mastwright_core::link::Decoder::new();
        let mut writer = mastwright_core::link::Writer::new();
        for byte in bytes {
            let Some(Ok(mut frame)) = decoder.feed(*byte) else {
                continue;
            };
            if frame.kind != mastwright_core::link::Kind::Ticks {
                continue;
            }
            let batch: mastwright_core::link::Batch = frame.take().unwrap();
            writer.begin(frame.kind, frame.number);
            writer.put(&batch).unwrap();
            for tick in (batch.first..).take(usize::from(batch.count)) {
                let mut inputs: Inputs = frame.take().unwrap();
                inputs.missed_deadline |= tick == self.1;
                writer.put(&inputs).unwrap();
            }
            return self.0.send(writer.finish());
        }
        self.0.send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> std::io::Result<usize> {
        self.0.receive(into, wait)
    }

    fn window(&self) -> usize {
        self.0.window()
    }
}

#[test]
fn the_first_difference_is_shown_with_tick_readings_and_both_answers() {
    let demonstration = scenario(
        SHIPPED
            .iter()
            .find(|shipped| shipped.name == "emergency-stow")
            .unwrap()
            .text,
    );
    let difference = |window| {
        let line = Misled(Inline::default().with_window(window), 1234);
        match lock_step(&demonstration, demonstration.seed, line).unwrap_err() {
            Failure::Differs(difference) => difference,
            other @ (Failure::WokeOtherwise { .. }
            | Failure::Record { .. }
            | Failure::Link { .. }) => panic!("{other}"),
        }
    };
    // It is the same however far the host has run ahead meanwhile.
    assert_eq!(difference(32), difference(1));
    let difference = difference(1);
    assert_eq!(difference.tick, 1234);
    assert!(difference.before.is_some());
    let mut told = Vec::new();
    tell::difference(&mut told, &difference, false).unwrap();
    let told = String::from_utf8(told).unwrap();
    assert!(
        told.starts_with("First difference: tick 1234 (12.34 s), frame 158\n"),
        "{told}"
    );
    assert!(told.contains("latched DeadlineMissed"), "{told}");
    assert!(
        told.contains("not DeadlineMissed         DeadlineMissed"),
        "{told}"
    );
    assert!(told.contains("state of controller"), "{told}");
    assert!(!told.contains("(equal)"), "{told}");
    let brief = told.lines().count();
    let mut full = Vec::new();
    tell::difference(&mut full, &difference, true).unwrap();
    let full = String::from_utf8(full).unwrap();
    assert!(full.contains("every reading: 40 of 40"), "{full}");
    let voltage = full
        .lines()
        .find(|line| line.contains("inputs.bus.voltage_V"));
    assert!(voltage.expect("a reading").contains(" V"), "{full}");
    let wide = |line: &&str| line.chars().count() > 80;
    assert_eq!(told.lines().chain(full.lines()).find(wide), None);
    assert!(full.lines().count() > brief);
}

/// A line on which nobody is.
#[derive(Debug)]
struct Nobody;

impl Line for Nobody {
    fn send(&mut self, _: &[u8]) -> std::io::Result<()> {
        Ok(())
    }

    fn receive(&mut self, _: &mut [u8], _: Duration) -> std::io::Result<usize> {
        Ok(0)
    }
}

/// A line that talks without end and says nothing.
#[derive(Debug)]
struct Babble;

impl Line for Babble {
    fn send(&mut self, _: &[u8]) -> std::io::Result<()> {
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> std::io::Result<usize> {
        into.fill(b'x');
        Ok(into.len().min(FRAME_MAX))
    }
}

#[test]
fn a_line_without_a_target_is_told_and_never_waited_on_for_ever() {
    let config = mastwright_core::Config::default();
    for failure in [
        Mirror::begin(Nobody, &config).unwrap_err(),
        Mirror::begin(Babble, &config).unwrap_err(),
    ] {
        let Failure::Link { error, .. } = failure else {
            panic!("{failure}");
        };
        assert!(matches!(error.what, What::Silent), "{error}");
    }
}

/// A board on the other end of a pair of pseudo-terminals.
#[cfg(unix)]
#[test]
fn a_board_behind_a_serial_port_runs_in_lock_step() {
    use std::io::{Read, Write};

    use mastwright_core::link::{Responder, Served};
    use mastwright_sim::link::serial::Serial;
    use mastwright_sim::memory::Memory;
    use serialport::{SerialPort, TTYPort};

    let (mut board, host) = TTYPort::pair().expect("this system has pseudo-terminals");
    board.set_timeout(Duration::from_secs(60)).unwrap();
    let served = std::thread::spawn(move || {
        let mut target = Responder::new(Memory::default(), "a thread behind a terminal");
        board.write_all(target.greet()).unwrap();
        let mut some = [0; 256];
        // The host closing its end, or silence, ends the board.
        while let Ok(count) = board.read(&mut some)
            && count > 0
        {
            for byte in &some[..count] {
                if let Served::Reply(reply) = target.feed(*byte) {
                    board.write_all(reply).unwrap();
                }
            }
        }
    });
    let summary = random_ticks(9, 400, &[100, 300], Serial::with(Box::new(host)));
    let summary = summary.unwrap_or_else(|failure| panic!("{failure}"));
    assert_eq!((summary.ticks, summary.resets), (400, 2));
    assert_eq!(summary.build, "a thread behind a terminal");
    served.join().unwrap();
}
