//! Time on the target: a timer that runs down from the top, 25 million a second.

use mastwright_core::board::Deadline;

use crate::register::Register;

/// Counts in a second: the clock of core and timers.
pub const HERTZ: u32 = 25_000_000;
/// Counts in a tick of 10 ms.
pub const TICK: u32 = HERTZ / 100;

// SAFETY: the registers of the board's first timer.
const CONTROL: Register = unsafe { Register::at(0x4000_0000) };
// SAFETY: as above.
const VALUE: Register = unsafe { Register::at(0x4000_0004) };
// SAFETY: as above.
const RELOAD: Register = unsafe { Register::at(0x4000_0008) };

/// A moment, in counts; wraps after 171 s.
#[derive(Clone, Copy, Debug)]
pub struct Moment(u32);

/// Starts the timer.
pub fn start() {
    RELOAD.write(u32::MAX);
    VALUE.write(u32::MAX);
    CONTROL.write(1);
}

impl Moment {
    /// This moment.
    #[must_use]
    pub fn now() -> Self {
        Self(!VALUE.read())
    }

    /// The moment of this count.
    #[must_use]
    pub const fn at(count: u32) -> Self {
        Self(count)
    }

    /// Its count.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Counts since.
    #[must_use]
    pub fn elapsed(self) -> u32 {
        Self::now().0.wrapping_sub(self.0)
    }
}

/// The end of the tick that began at this moment.
#[derive(Clone, Copy, Debug)]
pub struct EndOfTick(pub Moment);

impl Deadline for EndOfTick {
    fn missed(&mut self) -> bool {
        self.0.elapsed() > TICK
    }
}
