//! Measures the controller's step: instructions, and the depth of its stack.
//!
//! Under the emulator's instruction counter, by which one instruction takes 128 ns, the
//! timer advances 3.2 counts in each. These are instructions, not cycles: an emulator
//! knows nothing of wait states, branches and the bus.

use core::cell::UnsafeCell;
use core::sync::atomic::{AtomicU32, Ordering};

use cortex_m::register::msp;

use crate::clock::Moment;
use crate::watchdog;

/// Steps of so many instructions or more are counted together.
pub const MOST: usize = 32_768;
/// How far below itself a step's stack is watched, bytes.
pub const WATCHED: usize = 2560;

/// What is written where no stack has been.
const PAINT: u32 = 0xCCCC_CCCC;

struct Counts(UnsafeCell<[u32; MOST]>);

// SAFETY: reached from the main program only, never from an interrupt.
unsafe impl Sync for Counts {}

/// How many steps took how many instructions.
static COUNTS: Counts = Counts(UnsafeCell::new([0; MOST]));
static DEEPEST: AtomicU32 = AtomicU32::new(0);
static TICKS: AtomicU32 = AtomicU32::new(0);
static SAMPLED: AtomicU32 = AtomicU32::new(0);

/// Does `step`, and counts what it took.
pub fn around<T>(step: impl FnOnce() -> T) -> T {
    let (done, taken, depth) = watched(step);
    let instructions = (taken * 5 + 8) / 16;
    let place = (instructions as usize).min(MOST - 1);
    // SAFETY: the main program alone, and no other reference is alive.
    let counts = unsafe { &mut *COUNTS.0.get() };
    counts[place] += 1;
    DEEPEST.fetch_max(depth, Ordering::Relaxed);
    TICKS.fetch_add(1, Ordering::Relaxed);
    done
}

/// Does `step` on a painted stack: what it gives, counts of the timer, bytes of stack.
#[inline(never)]
fn watched<T>(step: impl FnOnce() -> T) -> (T, u32, u32) {
    let top = msp::read() as usize;
    let bottom = top - WATCHED;
    let words = || (bottom..top).step_by(4);
    for word in words() {
        // SAFETY: below the stack pointer and above the stack's end, where nothing is
        // kept; this loop calls nothing.
        unsafe { core::ptr::with_exposed_provenance_mut::<u32>(word).write_volatile(PAINT) };
    }
    let begun = Moment::now();
    let done = apart(step);
    let taken = begun.elapsed();
    let untouched = words().find(|&word| {
        // SAFETY: as above.
        let now = unsafe { core::ptr::with_exposed_provenance::<u32>(word).read_volatile() };
        now != PAINT
    });
    let depth = top - untouched.unwrap_or(top);
    (done, taken, depth as u32)
}

/// Does `step` in a frame of its own, so that all of its stack lies below the caller's.
#[inline(never)]
fn apart<T>(step: impl FnOnce() -> T) -> T {
    step()
}

/// Notes that the board's sampling came to the very readings of the link.
pub fn sampled_alike() {
    SAMPLED.fetch_add(1, Ordering::Relaxed);
}

/// Tells all figures, and counts anew. Each is four bytes, low first: ticks, ticks whose
/// readings were sampled alike, deepest stack of a step and of all (bytes), counts of the
/// timer from the latest feed to the watchdog's bark (zero if it never barked), how many
/// pairs follow, and the pairs: instructions, and the steps that took so many.
pub fn tell(mut send: impl FnMut(&[u8])) {
    // SAFETY: as in `around`.
    let counts = unsafe { &mut *COUNTS.0.get() };
    watchdog::feed();
    // A passage through the counts takes about as long as the watchdog waits.
    let fed = |(place, _): &(usize, _)| {
        if place % 1024 == 0 {
            watchdog::feed_if_hungry();
        }
    };
    let all = || counts.iter().enumerate().inspect(fed);
    let pairs = || all().filter(|(_, count)| **count > 0);
    let head = [
        TICKS.swap(0, Ordering::Relaxed),
        SAMPLED.swap(0, Ordering::Relaxed),
        DEEPEST.swap(0, Ordering::Relaxed),
        deepest_of_all(),
        crate::crash::barked_after(),
        pairs().count() as u32,
    ];
    for figure in head {
        send(&figure.to_le_bytes());
    }
    for (instructions, count) in pairs() {
        send(&(instructions as u32).to_le_bytes());
        send(&count.to_le_bytes());
    }
    watchdog::feed();
    counts.fill(0);
    watchdog::feed();
}

/// How deep the stack has been since the start, by the paint of the start-up.
fn deepest_of_all() -> u32 {
    unsafe extern "C" {
        static mut _stack_start: u32;
        static mut _stack_end: u32;
    }
    let top = (&raw const _stack_start).addr();
    let bottom = (&raw const _stack_end).addr();
    let touched = (bottom..top).step_by(4).find(|&word| {
        // SAFETY: within the stack; volatile, since the stack is in use.
        let now = unsafe { core::ptr::with_exposed_provenance::<u32>(word).read_volatile() };
        now != PAINT
    });
    (top - touched.unwrap_or(top)) as u32
}
