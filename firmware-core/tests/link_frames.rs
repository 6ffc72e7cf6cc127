//! Frames: what is written comes back, what is spoilt is told, garbage is survived.

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
use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::journal::Retained;
use mastwright_core::link::bound::{
    ANSWER_MAX, BATCH, FRAME_MAX, INPUTS_MAX, OUTPUTS_MAX, READY_MAX, SETTINGS_MAX,
};
use mastwright_core::link::frame::{MARK, VERSION};
use mastwright_core::link::{
    Answer, Batch, Decoder, Frame, Kind, Ready, Stance, Trouble, Woke, Writer, fingerprint,
};
use mastwright_core::outputs::{Denial, Event, MastDrive, Motor, Pace};
use mastwright_core::state::{Halt, State};
use mastwright_core::units::Permille;
use mastwright_core::{Faults, Outputs, Sequencer};
use proptest::prelude::*;
use words::Words;

/// A frame that has come in: its kind, number and inputs.
type Come = (Kind, u16, Vec<Inputs>);

/// What a decoder makes of `bytes`: frames, or trouble.
fn decoded(bytes: &[u8]) -> Vec<Result<Come, Trouble>> {
    let mut decoder = Decoder::new();
    bytes
        .iter()
        .filter_map(|byte| decoder.feed(*byte).map(|come| come.and_then(read)))
        .collect()
}

fn read(mut frame: Frame<'_>) -> Result<Come, Trouble> {
    let batch: Batch = frame.take()?;
    let inputs = (0..batch.count)
        .map(|_| frame.take())
        .collect::<Result<_, _>>()?;
    frame.end()?;
    Ok((frame.kind, frame.number, inputs))
}

fn written(number: u16, first: u32, inputs: &[Inputs]) -> Vec<u8> {
    let mut writer = Writer::new();
    writer.begin(Kind::Ticks, number);
    let count = u8::try_from(inputs.len()).unwrap();
    writer.put(&Batch { first, count }).unwrap();
    for inputs in inputs {
        writer.put(inputs).unwrap();
    }
    writer.finish().to_vec()
}

fn some_inputs() -> impl Strategy<Value = Vec<Inputs>> {
    prop::collection::vec(prop::collection::vec(any::<u32>(), 47), 0..=BATCH).prop_map(|ticks| {
        ticks
            .iter()
            .map(|words| Words(words.iter()).inputs())
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_comes_back(
        number in any::<u16>(), first in any::<u32>(), inputs in some_inputs(),
    ) {
        let line = written(number, first, &inputs);
        prop_assert!(line.len() <= FRAME_MAX);
        prop_assert_eq!(decoded(&line), vec![Ok((Kind::Ticks, number, inputs))]);
    }

    #[test]
    fn a_spoilt_byte_is_told_or_harmless(
        number in any::<u16>(), inputs in some_inputs(), place in any::<prop::sample::Index>(), change in 1..=u8::MAX,
    ) {
        let mut line = written(number, 7, &inputs);
        let place = place.index(line.len());
        line[place] ^= change;
        for come in decoded(&line).into_iter().flatten() {
            prop_assert_eq!(come, (Kind::Ticks, number, inputs.clone()), "byte {}", place);
        }
    }

    #[test]
    fn a_frame_cut_short_anywhere_is_told_and_the_next_one_heard(
        number in any::<u16>(), inputs in some_inputs(), cut in any::<prop::sample::Index>(),
    ) {
        let line = written(number, 7, &inputs);
        let mut torn = line[..cut.index(line.len() - 2) + 1].to_vec();
        let begun = torn.len() > 1;
        torn.extend_from_slice(&line);
        let come = decoded(&torn);
        prop_assert_eq!(come.len(), 1 + usize::from(begun));
        prop_assert_eq!(come.last(), Some(&Ok((Kind::Ticks, number, inputs))));
        if begun {
            prop_assert!(matches!(come[0], Err(Trouble::Torn | Trouble::Foreign)), "{:?}", come[0]);
        }
    }

    #[test]
    fn any_garbage_between_frames_is_survived(
        before in prop::collection::vec(any::<u8>(), 0..3 * FRAME_MAX),
        between in prop::collection::vec(any::<u8>(), 0..300),
        inputs in some_inputs(),
    ) {
        let mut line = before;
        line.extend(written(1, 0, &inputs));
        line.extend(between);
        line.extend(written(2, 8, &inputs));
        let whole: Vec<_> = decoded(&line).into_iter().flatten().collect();
        prop_assert_eq!(whole, vec![(Kind::Ticks, 1, inputs.clone()), (Kind::Ticks, 2, inputs)]);
    }
}

#[test]
fn every_single_spoilt_byte_of_one_frame_is_told() {
    let line = written(0x1234, 7, &[Inputs::default(), Inputs::default()]);
    for place in 1..line.len() - 1 {
        for change in 1..=u8::MAX {
            let mut spoilt = line.clone();
            spoilt[place] ^= change;
            let come = decoded(&spoilt);
            assert!(!come.is_empty(), "byte {place} by {change:#04x}");
            assert!(
                come.iter().all(Result::is_err),
                "byte {place} by {change:#04x}: {come:?}"
            );
        }
    }
}

#[test]
fn each_trouble_has_its_word() {
    let line = written(1, 0, &[Inputs::default(); BATCH]);
    let end = line.len() - 1;
    let torn = [&line[..end / 2], &[0]].concat();
    assert_eq!(decoded(&torn), [Err(Trouble::Torn)]);
    let mut damaged = line.clone();
    damaged[end / 2] ^= 0x10;
    assert_eq!(decoded(&damaged), [Err(Trouble::Damaged)]);
    assert_eq!(decoded(b"hello\r\n\0"), [Err(Trouble::Foreign)]);
    let endless = [&[1; FRAME_MAX + 1][..], &[0]].concat();
    assert_eq!(decoded(&endless), [Err(Trouble::TooLong)]);
}

/// The content of a frame with a checksum of its own, COBS-encoded for the line.
fn sealed(content: &[u8]) -> Vec<u8> {
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(content);
    let content = [content, &sum.to_le_bytes()].concat();
    let mut line = vec![0; cobs::max_encoding_length(content.len())];
    let used = cobs::try_encode(&content, &mut line).unwrap();
    line.truncate(used);
    line.push(0);
    line
}

#[test]
fn another_version_another_kind_and_another_length_are_refused_by_name() {
    let [m0, m1] = MARK;
    for (content, trouble) in [
        ([m0, m1, VERSION + 1, 4, 0, 0, 0, 0], Trouble::Version(2)),
        ([m0, m1, VERSION, 0x7f, 0, 0, 0, 0], Trouble::Content),
        ([m0, m1, VERSION, 4, 0, 0, 1, 0], Trouble::Content),
        ([b'm', m1, VERSION, 4, 0, 0, 0, 0], Trouble::Foreign),
    ] {
        assert_eq!(decoded(&sealed(&content)), [Err(trouble)], "{content:?}");
    }
}

#[test]
fn every_kind_has_a_byte_of_its_own_that_is_not_zero() {
    for kind in Kind::ALL {
        assert_ne!(kind.code(), 0);
        assert_eq!(Kind::from_code(kind.code()), Some(kind));
    }
}

/// Inputs whose every number takes the longest form.
fn longest_inputs() -> Inputs {
    Words([1; 47].iter()).inputs()
}

fn length<T: serde::Serialize>(value: &T) -> usize {
    postcard::to_slice(value, &mut [0; FRAME_MAX])
        .unwrap()
        .len()
}

#[test]
fn the_bounds_are_the_lengths_of_the_longest() {
    assert_eq!(length(&longest_inputs()), INPUTS_MAX);

    let mut outputs = Outputs::default();
    outputs.drives.motor = Motor::Hold(Permille::MAX);
    outputs.drives.mast = MastDrive::Extend(Pace::Full);
    let state = State::Halted(Halt::NotParked);
    outputs.indications.state = state;
    outputs.indications.faults = Faults::all();
    outputs.indications.sounding = Faults::all();
    outputs.proven = enumset::EnumSet::all();
    for _ in 0..outputs.denials.capacity() {
        outputs
            .denials
            .push(Denial {
                permission: Permission::Propel,
                reasons: enumset::EnumSet::<Reason>::all(),
            })
            .unwrap();
    }
    for _ in 0..outputs.events.capacity() {
        outputs
            .events
            .push(Event::Went {
                from: state,
                to: state,
            })
            .unwrap();
    }
    // Bounds count whole numbers; sets have fewer members than their number has bits.
    let longest = length(&outputs);
    assert!(
        longest <= OUTPUTS_MAX && longest + 16 >= OUTPUTS_MAX,
        "{longest} of {OUTPUTS_MAX}"
    );
    let answer = Answer {
        outputs,
        state: u32::MAX,
    };
    assert!(length(&answer) <= ANSWER_MAX);

    assert!(length(&Settings::default()) <= SETTINGS_MAX);
    let ready = Ready {
        build: "b".repeat(48).as_str().try_into().unwrap(),
        settings: u32::MAX,
        woke: Woke::Asked,
        stance: Stance::Held(Trouble::Lost(u16::MAX)),
        served: u16::MAX,
        tick: u32::MAX,
        retained: Retained {
            faults: Faults::all(),
            state,
        },
        state: u32::MAX,
    };
    assert!(length(&ready) <= READY_MAX);
}

/// Source: CRC catalogue, CRC-32/ISO-HDLC, check value; computed.
#[test]
fn a_fingerprint_is_the_checksum_of_the_postcard_bytes() {
    let nine = [b'1', b'2', b'3', b'4', b'5', b'6', b'7', b'8', b'9'];
    assert_eq!(fingerprint(&nine), 0xCBF4_3926);
    let sequencer = Sequencer::default();
    let mut bytes = [0; 512];
    let bytes = postcard::to_slice(&sequencer, &mut bytes).unwrap();
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(bytes);
    assert_eq!(fingerprint(&sequencer), sum);
}
