//! Crashes: every output drops first, then the host is told, then the processor starts
//! anew, after which nothing moves before a fresh intention (SR-05).

use core::fmt::{self, Write};
use core::panic::PanicInfo;
use core::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use cortex_m_rt::ExceptionFrame;
use mastwright_core::link::message::Text;
use mastwright_core::link::{Crash, CrashReport, Kind, Writer};

use crate::line::Line;
use crate::{pins, watchdog};

static CRASHING: AtomicBool = AtomicBool::new(false);

/// Counts of the timer from the latest feed to the watchdog's bark; outlives a reset.
#[unsafe(link_section = ".uninit.barked")]
static BARKED: AtomicU32 = AtomicU32::new(0);

/// Counts of the timer from the latest feed to the watchdog's bark; zero if it never
/// barked since the emulator started.
#[must_use]
pub fn barked_after() -> u32 {
    BARKED.load(Ordering::Relaxed)
}

/// The program gave up by itself.
pub fn panicked(info: &PanicInfo<'_>) -> ! {
    pins::drop_all();
    let place = info.location().map_or(0, core::panic::Location::line);
    report(Crash::Panic, place, &info.message());
    if first() {
        defmt::error!("panic in line {}, outputs dropped", place);
    }
    crate::restart()
}

/// The processor refused to go on.
pub fn hard_fault(frame: &ExceptionFrame) -> ! {
    pins::drop_all();
    report(
        Crash::HardFault,
        frame.pc(),
        &"the processor refused to go on",
    );
    if first() {
        defmt::error!("hard fault at {:#010x}, outputs dropped", frame.pc());
    }
    crate::restart()
}

/// The watchdog barked. What is told goes over the link alone: the log may have been
/// interrupted within a word.
pub fn watchdog_barked() -> ! {
    pins::drop_all();
    let unfed = watchdog::unfed();
    BARKED.store(unfed, Ordering::Relaxed);
    let microseconds = unfed / 25;
    report(
        Crash::Watchdog,
        0,
        &format_args!("unfed for {microseconds} us, outputs dropped"),
    );
    // Unfed as long again, the watchdog resets the processor.
    loop {
        cortex_m::asm::nop();
    }
}

/// True for the first crash: one within a crash must not tell its way into the next.
fn first() -> bool {
    !CRASHING.swap(true, Ordering::Relaxed)
}

fn report(crash: Crash, place: u32, words: &dyn fmt::Display) {
    let mut text = Short(Text::new());
    // What has no room is left out.
    let _ = write!(text, "{words}");
    let report = CrashReport {
        crash,
        place,
        text: text.0,
    };
    let mut writer = Writer::new();
    writer.begin(Kind::Crashed, 0);
    if writer.put(&report).is_ok() {
        Line::find().write_while(writer.finish(), || {});
    }
}

/// A text that takes what it has room for.
struct Short(Text);

impl Write for Short {
    fn write_str(&mut self, words: &str) -> fmt::Result {
        words
            .chars()
            .try_for_each(|letter| self.0.push(letter))
            .map_err(|_| fmt::Error)
    }
}
