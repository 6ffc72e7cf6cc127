//! A contactor or relay: contacts that follow their coil after a delay.
//!
//! Source: 15 to 30 ms are common for contactors of this size (common practice, no
//! source); 20 ms chosen.

/// Ticks of 10 ms from coil to contacts, either way.
const DELAY: u8 = 2;

/// Contacts and their coil.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Contactor {
    closed: bool,
    moving: u8,
}

impl Contactor {
    /// Contacts as they start.
    #[must_use]
    pub const fn new(closed: bool) -> Self {
        Self { closed, moving: 0 }
    }

    /// One tick with the coil as given; welded contacts stay together once they touch.
    pub const fn step(&mut self, coil: bool, welded: bool) {
        if coil == self.closed || (welded && self.closed) {
            self.moving = 0;
            return;
        }
        self.moving += 1;
        if self.moving >= DELAY {
            self.closed = coil;
            self.moving = 0;
        }
    }

    /// The contacts touch.
    #[must_use]
    pub const fn closed(self) -> bool {
        self.closed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contacts_follow_the_coil_after_20_ms() {
        let mut contactor = Contactor::default();
        contactor.step(true, false);
        assert!(!contactor.closed());
        contactor.step(true, false);
        assert!(contactor.closed());
        contactor.step(false, false);
        contactor.step(false, false);
        assert!(!contactor.closed());
    }

    #[test]
    fn welded_contacts_close_but_never_open() {
        let mut contactor = Contactor::default();
        for _ in 0..3 {
            contactor.step(true, true);
        }
        for _ in 0..100 {
            contactor.step(false, true);
        }
        assert!(contactor.closed());
    }
}
