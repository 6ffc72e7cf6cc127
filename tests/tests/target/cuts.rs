//! Power cuts and resets at any moment.

use mastwright_core::journal::{Journal, NonVolatile, SLOT_BYTES, Slot, Stamp};
use mastwright_core::link::message::Memory as Content;
use mastwright_core::link::{Reset, Restart, Woke};
use mastwright_core::units::Ticks;
use mastwright_core::{Config, Inputs, Sequencer};
use mastwright_sim::faults::{Kind, Target};
use mastwright_sim::link::{Host, LinkError, Via};
use mastwright_sim::oracle::{Judgement, Outcome};
use mastwright_tests::draw::Draw;
use mastwright_tests::flown;
use mastwright_tests::mission::{Ending, Onset, Upset};
use mastwright_tests::pilot::{self, Plan};
use mastwright_tests::target::aloft;

use super::{emulator, ok, reached};

/// How often a board is reset in a row.
const RESETS: u32 = 30;

#[test]
#[ignore = "needs the emulator"]
fn a_board_reset_again_and_again_greets_and_answers_each_time_whichever_way_it_is_reached() {
    for via in [Via::Port, Via::Files] {
        let mut host = Host::new(reached(via));
        for starts in 1..=RESETS {
            let told = |error: LinkError| format!("{via:?}, start {starts}: {error}");
            let ready = ok(host.hello().map_err(told));
            assert_eq!((ready.woke, ready.tick), (Woke::Started, 0));
            ok(host.reset(&BLANK).map_err(told));
            for tick in 0..starts % 5 {
                ok(host.ticks(tick, &[Inputs::default()]).map_err(told));
            }
            ok(host.line_mut().cut_power());
        }
    }
}

/// The controller wakes anew, with nothing kept, and bears any silence.
const BLANK: Reset = Reset {
    memory: Content::Blank,
    restart: Restart::Controller,
    silence: Ticks::ZERO,
};

/// Flies `missions` with the target in command and its power cut at random ticks; the
/// requirements that were put to the test and held.
fn fly_through_resets(via: Via, missions: u32) -> Vec<&'static str> {
    let plan = Plan {
        upsets: (0, 0),
        ending: Ending::Recovery,
    };
    let mut emulator = reached(via);
    let mut woken = 0;
    let mut exercised = Vec::new();
    for seed in 1..=missions.into() {
        let mut mission = pilot::mission(seed, plan);
        let mut draw = Draw::new(seed);
        for kind in [Kind::Reset, Kind::Reset, Kind::BrownOut] {
            mission.upsets.push(Upset {
                onset: Onset::At(draw.below(mission.longest().max(1))),
                target: Target::Power,
                kind,
                strength: None,
                duration: (kind == Kind::BrownOut).then_some(30),
                cycle: None,
            });
        }
        let scenario = flown::scenario(&mission);
        let (back, flown, times) =
            ok(aloft::fly(emulator, &scenario).map_err(|why| format!("seed {seed}: {why}")));
        emulator = back;
        ok(flown.holds().map_err(|why| format!("seed {seed}: {why}")));
        ok(flown
            .recovered()
            .map_err(|why| format!("seed {seed}: {why}")));
        woken += times;
        let held = |line: &&Judgement| matches!(line.outcome, Outcome::Held { .. });
        let requirements = &flown.verdict.requirements;
        exercised.extend(requirements.iter().filter(held).map(|line| line.id));
    }
    println!("{via:?}: {missions} missions, {woken} starts");
    assert!(woken > 2 * missions, "{woken} starts");
    exercised
}

#[test]
#[ignore = "needs the emulator"]
fn a_target_reset_at_random_ticks_hurts_nothing_and_finds_a_way_out() {
    let exercised = fly_through_resets(Via::Files, 6);
    for id in ["SR-05", "SR-14"] {
        assert!(
            exercised.contains(&id),
            "{id} was not exercised: {exercised:?}"
        );
    }
}

#[test]
#[ignore = "needs the emulator"]
fn a_target_reset_at_random_ticks_does_so_over_its_serial_port_too() {
    fly_through_resets(Via::Port, 1);
}

/// Two slots in this process, and what they held after each write.
#[derive(Default)]
struct Kept {
    slots: [Option<[u8; SLOT_BYTES]>; 2],
}

impl NonVolatile for Kept {
    type Error = std::convert::Infallible;

    fn read(&mut self, slot: Slot, into: &mut [u8]) -> Result<(), Self::Error> {
        into.copy_from_slice(&self.slots[slot as usize].unwrap_or([0xFF; SLOT_BYTES]));
        Ok(())
    }

    fn write(&mut self, slot: Slot, bytes: &[u8]) -> Result<(), Self::Error> {
        self.slots[slot as usize] = bytes.try_into().ok();
        Ok(())
    }
}

/// What the record holds after each write, when nothing is ever read from any sensor.
fn records(ticks: u32) -> Vec<mastwright_core::journal::Retained> {
    let config = Config::default();
    let mut memory = Kept::default();
    let (mut journal, recovered) = Journal::recover(&mut memory);
    let mut sequencer = Sequencer::wake(recovered.retained.faults, &config);
    let mut records = vec![recovered.retained];
    for tick in 0..ticks {
        let outputs = sequencer.step(&Inputs::default(), &config);
        journal.note(Stamp::new(tick), &outputs);
        if journal.is_due() {
            journal.save(&mut memory).expect("it takes every byte");
            records.push(Journal::recover(&mut memory).1.retained);
        }
    }
    records
}

#[test]
#[ignore = "needs the emulator"]
fn a_record_torn_at_any_byte_is_never_misread_on_the_target() {
    const TICKS: u32 = 400;
    let records = records(TICKS);
    assert!(
        records.len() > 3,
        "too few records are written: {records:?}"
    );
    let mut host = Host::new(emulator());
    for byte in 0..SLOT_BYTES {
        // Every byte of a record, each time of another of the first three.
        let write = byte % 3;
        ok(host.hello());
        ok(host.reset(&BLANK));
        let cut = u16::try_from(write * SLOT_BYTES + byte).expect("a few hundred");
        let [low, high] = cut.to_le_bytes();
        ok(host.line_mut().order(&[b'C', low, high]));
        let cut_off = (0..TICKS).any(|tick| host.ticks(tick, &[Inputs::default()]).is_err());
        assert!(cut_off, "byte {byte} of write {write} was never written");
        let ready = ok(host.hello());
        assert_eq!(ready.woke, Woke::Started);
        let old = records[write];
        let new = records[write + 1];
        // Only where the checksum's last bytes happen to lie there already may the new
        // record be whole.
        let may_be_new = byte + 4 >= SLOT_BYTES && ready.retained == new;
        assert!(
            ready.retained == old || may_be_new,
            "cut at byte {byte} of write {write}: {:?}, not {old:?}",
            ready.retained
        );
    }
}
