//! The target's side of the link: it answers as the controller does, and holds
//! fail-safe outputs when the line cannot be trusted.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::expect_used,
    clippy::panic,
    reason = "a test may fail loudly"
)]

mod words;

use mastwright_core::config::Settings;
use mastwright_core::inputs::Inputs;
use mastwright_core::journal::{NonVolatile, SLOT_BYTES, Slot};
use mastwright_core::link::{
    Answer, Batch, Decoder, Kind, Memory, Ready, Refused, Reset, Responder, Restart, Served,
    Stance, Trouble, Woke, Writer, fingerprint,
};
use mastwright_core::outputs::Drives;
use mastwright_core::signal::Signal;
use mastwright_core::units::{DeciCelsius, Millis, Ticks};
use mastwright_core::{Config, Fault, Faults, Sequencer};
use proptest::prelude::*;
use words::Words;

struct Slots([[u8; SLOT_BYTES]; 2]);

impl NonVolatile for Slots {
    type Error = core::convert::Infallible;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Self::Error> {
        into.copy_from_slice(&self.0[usize::from(slot == Slot::B)]);
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Self::Error> {
        self.0[usize::from(slot == Slot::B)].copy_from_slice(bytes);
        Ok(())
    }
}

/// A host and a target with nothing between them.
struct Bench {
    target: Responder<Slots>,
    writer: Writer,
}

/// A reply, its body read as `T`.
#[derive(Debug, PartialEq)]
struct Reply<T>(Kind, u16, T);

impl Bench {
    fn new() -> Self {
        Self {
            target: Responder::new(Slots([[0xff; SLOT_BYTES]; 2]), "test"),
            writer: Writer::new(),
        }
    }

    /// Greeted with number 0, and reset with number 1: the run begins at number 2.
    fn running(silence: u16) -> Self {
        let mut bench = Self::new();
        bench.greet(0);
        bench.reset(1, Memory::Blank, silence);
        bench
    }

    fn frame(&mut self, kind: Kind, number: u16, put: impl FnOnce(&mut Writer)) -> Vec<u8> {
        self.writer.begin(kind, number);
        put(&mut self.writer);
        self.writer.finish().to_vec()
    }

    fn ticks(&mut self, number: u16, first: u32, inputs: &[Inputs]) -> Vec<u8> {
        self.frame(Kind::Ticks, number, |writer| {
            let count = u8::try_from(inputs.len()).unwrap();
            writer.put(&Batch { first, count }).unwrap();
            for inputs in inputs {
                writer.put(inputs).unwrap();
            }
        })
    }

    /// Sends bytes; the replies, in the order they came.
    fn send(&mut self, bytes: &[u8]) -> Vec<Vec<u8>> {
        bytes
            .iter()
            .filter_map(|byte| match self.target.feed(*byte) {
                Served::Nothing => None,
                Served::Reply(reply) => Some(reply.to_vec()),
                Served::Restart => panic!("not asked for"),
            })
            .collect()
    }

    fn ask<T: serde::de::DeserializeOwned>(&mut self, bytes: &[u8]) -> Reply<T> {
        let replies = self.send(bytes);
        assert_eq!(replies.len(), 1, "{replies:?}");
        read(&replies[0])
    }

    fn greet(&mut self, number: u16) -> Ready {
        let hello = self.frame(Kind::Hello, number, |_| {});
        let Reply(kind, echoed, ready) = self.ask(&hello);
        assert_eq!((kind, echoed), (Kind::Ready, number));
        ready
    }

    fn reset(&mut self, number: u16, memory: Memory, silence: u16) -> Ready {
        let reset = Reset {
            memory,
            restart: Restart::Controller,
            silence: Ticks::new(silence),
        };
        let line = self.frame(Kind::Reset, number, |writer| writer.put(&reset).unwrap());
        let Reply(kind, _, ready) = self.ask(&line);
        assert_eq!(kind, Kind::Ready);
        ready
    }

    /// One tick after which outputs are not all fail-safe: the fans rest.
    fn drive(&mut self, number: u16, first: u32) {
        let line = self.ticks(number, first, &[cool()]);
        let replies = self.send(&line);
        assert_eq!(replies.len(), 1);
        assert_eq!(answers(&replies[0]).len(), 1);
        assert_ne!(self.target.drives(), Drives::default());
    }

    fn assert_held(&self, trouble: Trouble) {
        assert_eq!(self.target.stance(), Stance::Held(trouble));
        assert_eq!(self.target.drives(), Drives::default());
    }
}

fn read<T: serde::de::DeserializeOwned>(line: &[u8]) -> Reply<T> {
    let mut decoder = Decoder::new();
    for byte in line {
        if let Some(come) = decoder.feed(*byte) {
            let mut frame = come.unwrap();
            let body = frame.take().unwrap();
            frame.end().unwrap();
            return Reply(frame.kind, frame.number, body);
        }
    }
    panic!("no frame in {line:?}")
}

fn answers(line: &[u8]) -> Vec<Answer> {
    let mut decoder = Decoder::new();
    for byte in line {
        if let Some(come) = decoder.feed(*byte) {
            let mut frame = come.unwrap();
            assert_eq!(frame.kind, Kind::Answers);
            let batch: Batch = frame.take().unwrap();
            return (0..batch.count).map(|_| frame.take().unwrap()).collect();
        }
    }
    panic!("no frame in {line:?}")
}

fn cool() -> Inputs {
    let mut inputs = Inputs::default();
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(200));
    inputs
}

#[test]
fn it_tells_who_it_is_unasked_and_when_asked() {
    let mut bench = Bench::new();
    let Reply(kind, number, ready) = read::<Ready>(bench.target.greet());
    assert_eq!((kind, number), (Kind::Ready, 0));
    assert_eq!(ready.build, "test");
    assert_eq!(ready.woke, Woke::Started);
    assert_eq!(ready.settings, fingerprint(&Settings::default()));
    let waking = Sequencer::wake(Faults::empty(), &Config::default());
    assert_eq!(ready.state, fingerprint(&waking));
    assert_eq!(bench.greet(0xfffe), ready);
}

#[test]
fn numbers_go_on_across_their_wrap() {
    let mut bench = Bench::new();
    bench.greet(u16::MAX - 1);
    bench.reset(u16::MAX, Memory::Blank, 0);
    bench.drive(0, 0);
    bench.drive(1, 1);
}

#[test]
fn ticks_before_a_greeting_or_a_reset_are_refused() {
    let mut bench = Bench::new();
    let line = bench.ticks(1, 0, &[cool()]);
    let Reply(kind, _, refused) = bench.ask::<Refused>(&line);
    assert_eq!((kind, refused.trouble), (Kind::Refused, Trouble::Unmet));
    bench.greet(0);
    let refused = bench.ask::<Refused>(&line).2;
    assert_eq!(refused.trouble, Trouble::Unready);
    assert_eq!(bench.target.drives(), Drives::default());
}

#[test]
fn each_trouble_of_the_line_is_told_and_holds_fail_safe_outputs() {
    type Spoil = fn(&mut Bench) -> Vec<u8>;
    let cases: [(Trouble, Spoil); 8] = [
        (Trouble::Torn, |bench| {
            let line = bench.ticks(3, 1, &[cool()]);
            [&line[..line.len() / 2], &[0]].concat()
        }),
        (Trouble::Damaged, |bench| {
            let mut line = bench.ticks(3, 1, &[cool()]);
            let end = line.len() - 2;
            line[end] ^= 1;
            line
        }),
        (Trouble::Foreign, |_| b"login:\0".to_vec()),
        (Trouble::Lost(1), |bench| bench.ticks(4, 1, &[cool()])),
        (Trouble::Repeated, |bench| bench.ticks(2, 0, &[cool()])),
        (Trouble::Late, |bench| bench.ticks(1, 1, &[cool()])),
        (Trouble::Tick, |bench| bench.ticks(3, 2, &[cool()])),
        (Trouble::Content, |bench| {
            bench.frame(Kind::Ticks, 3, |writer| {
                writer.put(&Batch { first: 1, count: 2 }).unwrap();
                writer.put(&cool()).unwrap();
            })
        }),
    ];
    for (trouble, spoil) in cases {
        let mut bench = Bench::running(0);
        bench.drive(2, 0);
        let line = spoil(&mut bench);
        let Reply(kind, _, refused) = bench.ask::<Refused>(&line);
        assert_eq!(kind, Kind::Refused);
        assert_eq!(refused, Refused { trouble, tick: 1 });
        bench.assert_held(trouble);
    }
}

#[test]
fn a_hold_is_left_by_a_reset_and_by_nothing_else() {
    let mut bench = Bench::running(0);
    bench.drive(2, 0);
    bench.send(b"noise\0");
    bench.assert_held(Trouble::Foreign);
    let good = bench.ticks(3, 1, &[cool()]);
    let refused = bench.ask::<Refused>(&good).2;
    assert_eq!(refused.trouble, Trouble::Foreign);
    assert_eq!(bench.greet(10).stance, Stance::Held(Trouble::Foreign));
    bench.assert_held(Trouble::Foreign);
    // More noise changes nothing and is not answered.
    assert!(bench.send(b"noise\0more\0").is_empty());

    assert_eq!(bench.reset(11, Memory::Kept, 0).stance, Stance::Running);
    assert_eq!(bench.target.drives(), Drives::default());
    bench.drive(12, 0);
}

#[test]
fn silence_holds_after_the_agreed_time_and_not_before() {
    let mut bench = Bench::running(5);
    bench.drive(2, 0);
    for _ in 0..5 {
        bench.target.tick();
    }
    assert_ne!(bench.target.drives(), Drives::default());
    bench.target.tick();
    bench.assert_held(Trouble::Silence);
    let line = bench.ticks(3, 1, &[cool()]);
    assert_eq!(bench.ask::<Refused>(&line).2.trouble, Trouble::Silence);
}

#[test]
fn a_whole_frame_ends_silence_and_bytes_alone_do_not() {
    let mut bench = Bench::running(5);
    bench.drive(2, 0);
    for tick in 0..4 {
        for _ in 0..5 {
            bench.target.tick();
        }
        bench.drive(3 + tick, 1 + u32::from(tick));
    }
    for _ in 0..6 {
        bench.send(&[1]);
        bench.target.tick();
    }
    bench.assert_held(Trouble::Torn);
}

#[test]
fn it_does_not_answer_its_own_voice() {
    let mut bench = Bench::running(0);
    bench.drive(2, 0);
    let echo = bench.target.greet().to_vec();
    assert!(bench.send(&echo).is_empty());
    bench.assert_held(Trouble::Content);
}

#[test]
fn other_limits_are_taken_whole_or_refused() {
    let mut bench = Bench::new();
    bench.greet(0);
    let settings = Settings {
        wake_time: Millis::new(900),
        ..Settings::default()
    };
    let line = bench.frame(Kind::Settings, 1, |writer| writer.put(&settings).unwrap());
    let ready = bench.ask::<Ready>(&line).2;
    assert_eq!(ready.settings, fingerprint(&settings));
    let waking = Sequencer::wake(Faults::empty(), &Config::new(settings).unwrap());
    assert_eq!(ready.state, fingerprint(&waking));

    let mut outside = settings;
    outside.wake_time = Millis::new(1);
    let line = bench.frame(Kind::Settings, 2, |writer| writer.put(&outside).unwrap());
    assert_eq!(bench.ask::<Refused>(&line).2.trouble, Trouble::Settings);
    assert_eq!(bench.greet(3).settings, fingerprint(&settings));
}

#[test]
fn what_was_latched_outlives_a_power_cut_unless_memory_is_blanked() {
    let mut bench = Bench::running(0);
    let mut missed = cool();
    missed.missed_deadline = true;
    let line = bench.ticks(2, 0, &[missed]);
    bench.send(&line);
    let ready = bench.reset(3, Memory::Kept, 0);
    assert!(ready.retained.faults.contains(Fault::DeadlineMissed));
    let waking = Sequencer::wake(ready.retained.faults, &Config::default());
    assert_eq!(ready.state, fingerprint(&waking));
    let ready = bench.reset(4, Memory::Blank, 0);
    assert!(ready.retained.faults.is_empty());
}

#[test]
fn a_restart_of_the_processor_is_left_to_the_board() {
    let mut bench = Bench::running(0);
    let reset = Reset {
        memory: Memory::Kept,
        restart: Restart::Processor,
        silence: Ticks::ZERO,
    };
    let line = bench.frame(Kind::Reset, 2, |writer| writer.put(&reset).unwrap());
    let (last, before) = line.split_last().unwrap();
    assert!(bench.send(before).is_empty());
    assert_eq!(bench.target.feed(*last), Served::Restart);
}

#[test]
fn the_record_read_is_what_memory_holds() {
    let mut bench = Bench::running(0);
    bench.drive(2, 0);
    let line = bench.frame(Kind::ReadRecord, 3, |_| {});
    let replies = bench.send(&line);
    let mut decoder = Decoder::new();
    let record = replies[0].iter().find_map(|byte| {
        let mut frame = decoder.feed(*byte)?.unwrap();
        assert_eq!(frame.kind, Kind::Record);
        let slots: [[u8; SLOT_BYTES]; 2] =
            [frame.take_bytes().unwrap(), frame.take_bytes().unwrap()];
        frame.end().unwrap();
        Some(slots)
    });
    assert_eq!(record, Some(bench.target.into_memory().0));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn it_answers_as_the_controller_does(
        ticks in prop::collection::vec(prop::collection::vec(any::<u32>(), 47), 1..64),
    ) {
        let mut bench = Bench::running(0);
        let config = Config::default();
        let mut sequencer = Sequencer::wake(Faults::empty(), &config);
        let inputs: Vec<_> = ticks.iter().map(|words| Words(words.iter()).inputs()).collect();
        let mut first = 0;
        for (number, batch) in (2_u16..).zip(inputs.chunks(8)) {
            let line = bench.ticks(number, first, batch);
            let replies = bench.send(&line);
            prop_assert_eq!(replies.len(), 1);
            for (inputs, answer) in batch.iter().zip(answers(&replies[0])) {
                let outputs = sequencer.step(inputs, &config);
                prop_assert_eq!(bench.target.stance(), Stance::Running);
                prop_assert_eq!(answer, Answer { outputs, state: fingerprint(&sequencer) });
                first += 1;
            }
        }
    }

    #[test]
    fn any_garbage_leaves_it_running_or_held_and_it_can_be_reset(
        garbage in prop::collection::vec(any::<u8>(), 0..4000),
    ) {
        let mut bench = Bench::running(0);
        bench.drive(2, 0);
        for byte in garbage.iter().chain(&[0]) {
            if let Served::Reply(_) = bench.target.feed(*byte) {
                prop_assert_eq!(bench.target.drives(), Drives::default());
            }
        }
        bench.greet(100);
        bench.reset(101, Memory::Blank, 0);
        bench.drive(102, 0);
    }
}
