//! The protocol's page shows what the code sends.

use mastwright_core::journal::{Retained, SLOT_BYTES};
use mastwright_core::link::bound::{
    ANSWER_MAX, BATCH, BODY_MAX, CONTENT_MAX, FRAME_MAX, INPUTS_MAX,
};
use mastwright_core::link::{
    Answer, Batch, Kind, Memory, Ready, Refused, Reset, Restart, Stance, Trouble, VERSION, Woke,
    Writer, fingerprint,
};
use mastwright_core::units::Ticks;
use mastwright_core::{Config, Faults, Inputs, Sequencer};
use mastwright_sim::link::line::WAIT;
use mastwright_sim::link::mirror::silence;

fn page() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/link-protocol.md");
    std::fs::read_to_string(path).expect("the page is there")
}

/// A frame as the page shows it: 16 bytes in a line.
fn shown(name: &str, kind: Kind, number: u16, put: impl FnOnce(&mut Writer)) -> String {
    let mut writer = Writer::new();
    writer.begin(kind, number);
    put(&mut writer);
    let lines: Vec<String> = writer
        .finish()
        .chunks(16)
        .map(|bytes| {
            let words: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
            words.join(" ")
        })
        .collect();
    format!("{name}\n{}\n", lines.join("\n"))
}

fn exchange() -> String {
    let config = Config::default();
    let mut sequencer = Sequencer::wake(Faults::empty(), &config);
    let reset = Reset {
        memory: Memory::Blank,
        restart: Restart::Controller,
        silence: silence(WAIT),
    };
    let ready = Ready {
        build: "a board".try_into().expect("short enough"),
        settings: fingerprint(&config.settings()),
        woke: Woke::Asked,
        stance: Stance::Running,
        served: 2,
        tick: 0,
        retained: Retained::default(),
        state: fingerprint(&sequencer),
    };
    let batch = Batch { first: 0, count: 1 };
    let outputs = sequencer.step(&Inputs::default(), &config);
    let state = fingerprint(&sequencer);
    let refused = Refused {
        trouble: Trouble::Lost(1),
        tick: 1,
    };
    [
        shown("host: Hello, number 1", Kind::Hello, 1, |_| {}),
        shown("host: Reset, number 2", Kind::Reset, 2, |writer| {
            writer.put(&reset).unwrap();
        }),
        shown("target: Ready, number 2", Kind::Ready, 2, |writer| {
            writer.put(&ready).unwrap();
        }),
        shown(
            "host: Ticks, number 3, one tick in which nothing was ever read",
            Kind::Ticks,
            3,
            |writer| {
                writer.put(&batch).unwrap();
                writer.put(&Inputs::default()).unwrap();
            },
        ),
        shown("target: Answers, number 3", Kind::Answers, 3, |writer| {
            writer.put(&batch).unwrap();
            writer.put(&Answer { outputs, state }).unwrap();
        }),
        shown(
            "target: Refused, number 5, as frame 4 never came",
            Kind::Refused,
            5,
            |writer| {
                writer.put(&refused).unwrap();
            },
        ),
    ]
    .join("\n")
}

#[test]
fn the_example_is_what_goes_over_the_line() {
    let exchange = exchange();
    let page = page();
    assert!(
        page.contains(&format!("```text\n{exchange}```\n")),
        "docs/link-protocol.md must show:\n\n{exchange}"
    );
}

#[test]
fn every_kind_and_every_limit_stands_in_the_page() {
    let page = page();
    for kind in Kind::ALL {
        let row = format!("| `{kind:?}` | 0x{:02x} |", kind.code());
        assert!(page.contains(&row), "{row}");
    }
    for row in [
        format!("| version | {VERSION} |"),
        format!("| ticks in one frame | {BATCH} |"),
        format!("| bytes of one tick's readings | {INPUTS_MAX} |"),
        format!("| bytes of one answer | {ANSWER_MAX} |"),
        format!("| bytes of a body | {BODY_MAX} |"),
        format!("| bytes of a content | {CONTENT_MAX} |"),
        format!("| bytes of a frame on the line | {FRAME_MAX} |"),
        format!("| bytes of a `Record` body | {} |", 2 * SLOT_BYTES),
        format!("| the host waits | {} s |", WAIT.as_secs()),
        format!(
            "| the target bears silence | {} s |",
            silence(WAIT).get() / 100
        ),
    ] {
        assert!(page.contains(&row), "{row}");
    }
}

#[test]
fn the_target_holds_before_the_host_gives_up() {
    let ticks = silence(WAIT);
    let time = std::time::Duration::from_millis(10 * u64::from(ticks.get()));
    assert!(ticks > Ticks::ZERO && time < WAIT);
}

#[cfg(unix)]
#[test]
fn what_the_emulator_may_do_beyond_a_board_stands_in_the_page() {
    use mastwright_sim::link::emulator::{PATIENCE, WINDOW};

    let page = page();
    for row in [
        format!("| frames under way, on the emulator | {WINDOW} |"),
        format!(
            "| the host waits, on the emulator | {} s |",
            PATIENCE.as_secs()
        ),
        format!(
            "| the target bears silence, on the emulator | {} s |",
            silence(PATIENCE).get() / 100
        ),
    ] {
        assert!(page.contains(&row), "{row}");
    }
}
